"""Limits as read: their numbers, what they are of, members, and what one aeroplane has."""

from __future__ import annotations

from pathlib import Path

import pytest

import tellback as tb
from tellback.book.effectivity import aeroplanes, for_aeroplane
from tellback.book.gaps import gaps
from tellback.book.laid_out import Within, laid_out
from tellback.book.limits import bound_text
from tellback.book.model import Book, Limit
from tellback.book.rereading import rereading, with_passages
from tellback.book.schema import json_schema
from tellback.book.sentences import sentences
from tellback.book.tidy import tidied, write
from tellback.diagnostics import Place, render
from tests.small_books import FLEET, book_of, read_text, write_book

CHAPTER = """\
controls:
  flap lever: {positions: [UP, 10]}
readings:
  airspeed: {unit: kt, range: 0 to 400}
  <side> oil pressure: {for each: "side in [left, right]", unit: psi, range: 0 to 100}
  spare oil pressure: {unit: psi, range: 0 to 100, applies to: T2}
"""
NUMBERS = """\
title: Speeds
source: AFM 02 rev 1
limits:
  flaps <flap>:
    for each: flap in [10]
    of: airspeed
    at most: 185 kt
    when: flap lever at <flap>
    from memory: yes
    source: p.1
    why:
      - {manufacturer: the flaps shake above it, source: data 27 p.9}
  oil pressure:
    of: [left oil pressure, right oil pressure, spare oil pressure]
    at least: 170 kPa
    source: p.2
    applies to: T2
  crosswind:
    - {at most: 30 kt, case: dry runway, note: Gusts are counted., applies to: T1}
    - {at most: 17 m/s, case: dry runway, source: p.3, applies to: T2}
  bus voltage: {between: 112 and 118 V, source: p.4}
  tyre pressure: {between: 2 bar and 190 psi, source: p.4}
  seats: {at most: "1,092", unit: none, source: p.5}
  weight: {at most: "44,250 kg", source: p.5}
  fuel temperature: {at least: -37 C, source: p.6}
  cabin warning: {at: "10,000 ft", source: p.7}
"""


@pytest.fixture(scope="module")
def book() -> Book:
    return book_of(CHAPTER, FLEET, numbers=NUMBERS)


def named(book: Book, name: str) -> Limit:
    return next(limit for limit in book.limits if limit.name == name)


def test_a_limit_has_all_that_is_stated_of_it(book: Book) -> None:
    limit = named(book, "flaps 10")
    assert (limit.title, limit.of, limit.low, limit.high) == ("Speeds", ("airspeed",), None, 185)
    assert limit.when is not None
    assert limit.when.text == "flap lever at 10"
    assert limit.from_memory
    assert limit.source == limit.when.source == "AFM 02 rev 1, p.1"
    assert [why.kind for why in limit.whys] == ["manufacturer"]
    assert limit.place == Place("numbers/test.yaml", 4, 3)
    assert not named(book, "bus voltage").from_memory


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("flaps 10", "at most 185 kt"),
        ("bus voltage", "between 112 and 118 V"),
        ("seats", "at most 1092"),
        ("weight", "at most 44,250 kg"),
        ("fuel temperature", "at least -37 C"),
        ("cabin warning", "at 10,000 ft"),
    ],
)
def test_what_is_allowed_is_said_with_its_unit(book: Book, name: str, text: str) -> None:
    assert bound_text(named(book, name)) == text


def test_a_number_is_kept_in_the_unit_of_its_reading(book: Book) -> None:
    limit = named(book, "oil pressure")
    assert limit.unit == "psi"
    # 1 psi = 6.894757 kPa: NIST SP 811 (2008), appendix B.8
    assert limit.low == pytest.approx(170 / 6.894757, rel=1e-6)


def test_two_numbers_are_kept_in_the_unit_of_the_second(book: Book) -> None:
    limit = named(book, "tyre pressure")
    # 1 bar = 14.50377 psi, from 1 psi = 0.06894757 bar: NIST SP 811 (2008), appendix B.8
    assert (limit.unit, limit.high) == ("psi", 190)
    assert limit.low == pytest.approx(2 / 0.06894757, rel=1e-6)


def test_a_number_beyond_the_range_of_its_reading_is_told() -> None:
    far = NUMBERS.replace("185 kt", "450 kt")
    _, found = read_text(CHAPTER, FLEET, numbers=far)
    (one,) = found
    assert (one.kind, str(one.place)) == ("finding", "numbers/test.yaml:7:14")
    assert one.message == "`airspeed` never comes to 450 kt: its range is 0 to 400 kt"


def test_what_one_aeroplane_has(book: Book) -> None:
    one, two = for_aeroplane(book, "T1"), for_aeroplane(book, "T2")
    assert [bound_text(named(part, "crosswind")) for part in (one, two)] == [
        "at most 30 kt",
        "at most 17 m/s",
    ]
    assert "oil pressure" not in [limit.name for limit in one.limits]
    assert len(named(two, "oil pressure").of) == 3
    assert gaps(book) == ()


def test_a_reading_that_an_aeroplane_has_not_is_a_gap() -> None:
    everywhere = NUMBERS.replace("    applies to: T2\n", "")
    book = book_of(CHAPTER, FLEET, numbers=everywhere)
    (gap,) = gaps(book)
    assert gap.message == "`oil pressure` speaks of `spare oil pressure`, which is not there on T1"
    assert len(named(for_aeroplane(book, "T1"), "oil pressure").of) == 2


def test_two_alternatives_that_apply_are_a_gap() -> None:
    both = NUMBERS.replace("Gusts are counted., applies to: T1", "Gusts are counted.")
    (gap,) = gaps(book_of(CHAPTER, FLEET, numbers=both))
    assert gap.message == "`crosswind` has two alternatives that apply on T2"


def test_a_condition_about_what_an_aeroplane_has_not_is_a_gap() -> None:
    text = NUMBERS.replace("at most: 185 kt\n    when: flap lever at <flap>", "at most: 185 kt\n"
                           "    when: spare oil pressure below 10 psi")  # fmt: skip
    (gap,) = gaps(book_of(CHAPTER, FLEET, numbers=text))
    assert gap.message == "`flaps 10` speaks of `spare oil pressure`, which is not there on T1"


def test_serial_numbers_of_a_limit_make_an_aeroplane_of_their_own() -> None:
    text = NUMBERS.replace("source: p.4}", "source: p.4, applies to: serials 15-20}", 1)
    assert "T2 serial 15" in aeroplanes(book_of(CHAPTER, FLEET, numbers=text))


def test_a_limit_without_a_source_is_told(book: Book) -> None:
    (told,) = [d for d in tb.check(book, "T1") if d.code == "no-source" and "limit" in d.message]
    assert told.message == "no source is given for the limit `crosswind`"
    assert (told.place.file, told.place.line) == ("numbers/test.yaml", 18)


def test_what_a_limit_speaks_of_is_mentioned(book: Book) -> None:
    idle = "is declared, but nothing in the book speaks of it"
    bare = [d.message for d in tb.check(book_of(CHAPTER, FLEET), "T1") if idle in d.message]
    assert len(bare) == 4
    told = [d.message for d in tb.check(book, "T2") if idle in d.message]
    assert told == []


def test_tidying_keeps_what_it_says_and_puts_keys_in_order(tmp_path: Path) -> None:
    odd = NUMBERS.replace("  seats: {at most", "  # all of them\n  seats: {source: p.9, at most")
    odd = odd.replace("unit: none, source: p.5", "unit: none")
    folder = write_book(tmp_path, CHAPTER, FLEET, numbers=odd)
    write(folder, tidied(folder))
    tidy = (folder / "numbers" / "test.yaml").read_text(encoding="utf-8")
    assert '  # all of them\n  seats: {unit: none, at most: "1,092", source: p.9}\n' in tidy
    assert laid_out(tidy, Within("numbers file")) == tidy


def test_sentences_tell_every_limit(book: Book) -> None:
    told = sentences(book)
    start = told.index("LIMITS: SPEEDS")
    assert told[start + 1] == (
        "Flaps 10: the airspeed is at most 185 kt when the flap lever is at 10, from memory "
        "[AFM 02 rev 1, p.1]. Why (manufacturer): the flaps shake above it "
        "[data 27 p.9]."
    )
    assert told[start + 3] == (
        "Crosswind: at most 30 kt (dry runway), on T1 only. Note: Gusts are counted."
    )
    assert len(told) == start + 11


def test_a_revision_lists_the_limits_that_cite_a_page(book: Book) -> None:
    found = rereading(book, with_passages((), ["p.1"]))
    assert [citing.what for citing in found.citing["p.1"]] == ["limit: flaps 10"]


def test_the_schema_has_the_shape_of_a_limit() -> None:
    schema = json_schema()
    limits = schema["$defs"]["numbers-file"]["properties"]["limits"]
    assert {"$ref": "#/$defs/limit"} in limits["additionalProperties"]["anyOf"]
    assert schema["$defs"]["limit"]["additionalProperties"] is False


def test_a_book_without_the_folder_has_no_limits() -> None:
    assert book_of(CHAPTER, FLEET).limits == ()


def test_all_faults_of_a_file_come_in_one_go() -> None:
    bad = NUMBERS.replace("185 kt", "185 V").replace("118 V", "118").replace("p.7}", "p.7, x: y}")
    _, found = read_text(CHAPTER, FLEET, numbers=bad)
    assert len({d.message for d in found}) == 3, [render(d) for d in found]
