"""One book, many aeroplanes: what applies to which, and what is missing where."""

from __future__ import annotations

import pytest

from tellback.book.conditions import NEVER, Any, State
from tellback.book.effectivity import UnknownAeroplane, aeroplanes, for_aeroplane
from tellback.book.gaps import gaps
from tellback.book.model import Book, Control, Means, Supply, Unit
from tests.small_books import book_of

TYPE = """\
type: T
variants:
  T1: {serials: 1-10}
  T2: {serials: 11-20, 30}
options:
  third pump: {serials: 5-12}
service bulletins:
  SB 1: 8-9
starting states:
  gate: {switch: AUTO}
"""
BOOK = """\
controls:
  switch:
    - {positions: [OFF, ON], applies to: T1}
    - {positions: [OFF, ON, AUTO], applies to: T2}
units:
  pump 1: {runs when: switch at ON}
  pump 2:
    runs when:
      - {when: switch at ON, applies to: T1}
      - {when: switch at AUTO, applies to: [T2 and not SB 1]}
  pump 3: {applies to: third pump}
supplies:
  system: {fed by: [pump 1, pump 3]}
means:
  some: {when: any pump running}
  all: {when: every pump running}
  third: {when: pump 3 running or switch at AUTO}
groups:
  pumps: [pump 1, pump 2, pump 3]
"""
CLAIMS = """\
- claim: always (not pump 3 running or system live)
- claim: if every pump running then system live
"""


@pytest.fixture(scope="module")
def book() -> Book:
    return book_of(BOOK, TYPE, CLAIMS)


def test_one_aeroplane_for_each_combination(book: Book) -> None:
    assert aeroplanes(book) == ("T1", "T1 serial 5", "T1 serial 8", "T2", "T2 serial 11")


def test_a_statement_for_serials_makes_an_aeroplane_of_its_own() -> None:
    book = book_of(
        "means:\n  m:\n    - {when: always, applies to: serials 3-4}\n", TYPE.split("opt")[0]
    )
    assert aeroplanes(book) == ("T1", "T1 serial 3", "T2")


def test_where_all_have_an_option_the_plain_name_has_it() -> None:
    book = book_of(
        "means: {m: {when: always}}\n", "type: T\nvariants: {A: 1-5}\noptions: {o: 1-9}\n"
    )
    assert aeroplanes(book) == ("A",)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("", "T1"),
        ("t2", "T2"),
        ("T1 serial 6", "T1 serial 6"),
        ("serial 30", "T2 serial 30"),
        ("12", "T2 serial 12"),
    ],
)
def test_asked_by_name_or_serial(book: Book, asked: str, found: str) -> None:
    assert for_aeroplane(book, asked).aeroplane == found


@pytest.mark.parametrize("asked", ["T3", "T1 serial 11", "25", "serial x", "9" * 30])
def test_an_unknown_aeroplane_is_told_with_those_there_are(book: Book, asked: str) -> None:
    with pytest.raises(UnknownAeroplane, match="T1, T1 serial 5, T1 serial 8, T2, T2 serial 11"):
        for_aeroplane(book, asked)


def test_alternatives_of_a_thing_and_of_a_statement(book: Book) -> None:
    one, two = for_aeroplane(book, "T1"), for_aeroplane(book, "T2")
    for part, last in ((one, "ON"), (two, "AUTO")):
        switch, pump = part.thing("switch"), part.thing("pump 2")
        assert isinstance(switch, Control)
        assert isinstance(pump, Unit)
        assert switch.positions[-1] == last
        assert [way.condition for way in pump.ways] == [State("switch", f"at {last}")]


def test_a_group_is_what_the_aeroplane_has(book: Book) -> None:
    plain, more = for_aeroplane(book, "T1"), for_aeroplane(book, "T1 serial 5")
    assert plain.groups == {"pumps": ("pump 1", "pump 2")}
    for part, count in ((plain, 2), (more, 3)):
        some = part.thing("some")
        assert isinstance(some, Means)
        parts = tuple(State(f"pump {n + 1}", "running") for n in range(count))
        assert some.ways[0].condition == Any(parts)


def test_what_is_not_there_is_in_no_state(book: Book) -> None:
    plain = for_aeroplane(book, "T1")
    third, system = plain.thing("third"), plain.thing("system")
    assert isinstance(third, Means)
    assert isinstance(system, Supply)
    assert third.ways[0].condition == Any((NEVER, NEVER))
    assert [feed.source for feed in system.feeds] == ["pump 1"]
    assert plain.starts[0].settings == ()
    assert [claim.text[:2] for claim in plain.claims] == ["if"]
    with pytest.raises(KeyError):
        plain.thing("pump 3")


def test_gaps_are_told_once_with_their_aeroplanes(book: Book) -> None:
    told = [(d.place.line, d.code, d.message) for d in gaps(book) if "24" in d.place.file]
    assert told == [
        (15, "absent-thing", "`system` speaks of `pump 3`, which is not there on T1 and T2"),
        (19, "absent-thing", "`third` speaks of `pump 3`, which is not there on T1 and T2"),
    ]


def test_no_alternative_and_two() -> None:
    book = book_of(
        "means:\n  m:\n    when:\n      - {when: always, applies to: T1}\n"
        "      - {when: never, applies to: serials 1-3}\n"
        "  n:\n    - {when: always}\n    - {when: never, applies to: T2}\n",
        TYPE.split("opt")[0],
    )
    assert [(d.place.line, d.code, d.message) for d in gaps(book)] == [
        (6, "no-alternative", "`m`: `when` has no alternative that applies on T2"),
        (7, "two-alternatives", "`m`: `when` has more than one alternative that applies on "
                                "T1 serial 1"),
        (8, "two-alternatives", "`n` has two alternatives that apply on T2"),
    ]  # fmt: skip


def test_the_book_of_one_aeroplane_is_its_own(book: Book) -> None:
    one = for_aeroplane(book, "T2")
    assert for_aeroplane(one, "T2") is one
    assert for_aeroplane(one) is one
