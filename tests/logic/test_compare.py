"""Planted differences are found, each with its verdict, and nothing else."""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tellback as tb
from tellback.book.model import Book
from tellback.logic.answers.compare import STATED, Case, Comparison, NothingToCompare
from tellback.logic.differences.judging import DIFFERS, NOWHERE, OPEN, WORDING
from tests.small_books import DEFAULT, book_of

BASE = """
controls:
  pump switch: {positions: [OFF, AUTO, ON], normally: AUTO}
  gear lever:
    positions: [UP, DOWN]
    normally: UP
    cannot go to UP when: on ground
    drops to DOWN when: main pump running and speed below 80 kt
readings:
  speed: {unit: kt, range: 0 to 400, normally: 250}
  pressure:
    unit: psi
    range: 0 to 3500
    follows: [{reads: 3000, when: main circuit live}, {reads: 100}]
  quantity:
    unit: kg
    range: 0 to 900
    starts at: 800
    moves: [{to: 0, rate: 2, when: main pump running and on ground}]
situations:
  on ground: {normally: no}
means:
  low speed: {when: speed below 80 kt or quantity below 100 kg}
units:
  main pump: {kind: pump, fails: [stops]}
  spare pump:
    kind: pump
    needs: [main bus]
    fails: [stops]
    runs when any of:
      selected: {when: pump switch at ON, source: p.3}
      stand-by:
        when: pump switch at AUTO and not on ground and main circuit otherwise lost for 3 s
        source: p.4
  generator: {kind: generator, shed when: on ground and pressure below 1000 psi}
supplies:
  main circuit: {kind: circuit, fed by: [main pump, spare pump], source: p.1}
  main bus: {kind: bus, fed by: [generator]}
surfaces:
  flaps:
    points: [UP, DOWN]
    drives:
      normal: {to: gear lever, when: speed below 200 kt, needs: [main circuit], takes: 20 s}
latches:
  ground latch: {set when: on ground, cleared when: speed above 100 kt}
indications:
  PUMP LOW:
    kind: light
    level: caution
    needs: [main bus]
    shown when:
      when: not main pump running and low speed
      why: [{computed: it saves a life, source: D 1}]
    inhibited when: on ground and ground latch set
"""

Row = tuple[str, str, str, str]


def rows(comparison: Comparison) -> set[Row]:
    return {(c.item, c.what, c.key, c.verdict) for c in comparison.changes}


def cases(comparison: Comparison) -> list[Case]:
    return [change.case for change in comparison.changes if change.case is not None]


def case_of(comparison: Comparison, item: str) -> Case:
    (case,) = (c.case for c in comparison.changes if c.item == item and c.case is not None)
    return case


def changed(*replacements: tuple[str, str], text: str = BASE) -> str:
    for old, new in replacements:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def compared(*replacements: tuple[str, str]) -> Comparison:
    return tb.compare(book_of(BASE), book_of(changed(*replacements)))


BEHAVIOUR: list[tuple[str, str, Row]] = [
    ("when: pump switch at ON", "when: pump switch not at OFF",
     ("spare pump", "statement", "runs when", DIFFERS)),
    ("lost for 3 s", "lost for 5 s", ("spare pump", "limit", "runs when", DIFFERS)),
    ("needs: [main bus]\n    fails", "needs: [main bus, low speed]\n    fails",
     ("spare pump", "statement added", "needs", DIFFERS)),
    ("pressure below 1000", "pressure below 2000", ("generator", "limit", "shed when", NOWHERE)),
    ("on ground and pressure below", "pressure below",
     ("generator", "statement", "shed when", DIFFERS)),
    ("fed by: [main pump, spare pump]", "fed by: [spare pump, main pump]",
     ("main circuit", "order", "fed by", DIFFERS)),
    ("fed by: [main pump, spare pump]", "fed by: [main pump]",
     ("main circuit", "statement removed", "fed by", DIFFERS)),
    ("cannot go to UP when: on ground", "cannot go to UP when: on ground and low speed",
     ("gear lever", "statement", "cannot go to UP when", DIFFERS)),
    ("running and speed below 80 kt", "running and speed below 90 kt",
     ("gear lever", "limit", "drops to DOWN when", DIFFERS)),
    ("reads: 3000", "reads: 2900", ("pressure", "limit", "follows", DIFFERS)),
    ("rate: 2", "rate: 3", ("quantity", "limit", "moves", DIFFERS)),
    ("speed below 80 kt or", "speed below 70 kt or", ("low speed", "limit", "when", DIFFERS)),
    ("takes: 20 s", "takes: 25 s", ("flaps", "limit", "drives", DIFFERS)),
    ("when: speed below 200 kt, ", "", ("flaps", "statement", "drives", DIFFERS)),
    ("set when: on ground", "set when: on ground and low speed",
     ("ground latch", "statement", "set when", DIFFERS)),
    ("cleared when: speed above 100 kt", "cleared when: speed above 100 kt, set wins: yes",
     ("ground latch", "set wins", "set wins", DIFFERS)),
    ("inhibited when: on ground and", "inhibited when: low speed and",
     ("PUMP LOW", "statement", "inhibited when", DIFFERS)),
    ("    inhibited when: on ground and ground latch set\n", "",
     ("PUMP LOW", "statement removed", "inhibited when", DIFFERS)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "row"), BEHAVIOUR, ids=[f"{r[2][0]}, {r[1]}" for r in BEHAVIOUR]
)
def test_a_planted_difference_is_found_and_nothing_else(old: str, new: str, row: Row) -> None:
    comparison = compared((old, new))
    assert rows(comparison) == {row}
    assert len(cases(comparison)) == (row[3] == DIFFERS)
    assert all(case.a_does != case.b_does for case in cases(comparison))


WORDINGS: list[tuple[str, str, Row]] = [
    ("pump switch at AUTO and not on ground and", "not on ground and pump switch at AUTO and",
     ("spare pump", "statement", "runs when", WORDING)),
    ("main circuit otherwise lost for 3 s", "not (not (main circuit otherwise lost)) for 3 s",
     ("spare pump", "statement", "runs when", WORDING)),
    ("selected: {", "by hand: {", ("spare pump", "statement", "runs when", WORDING)),
    ("speed below 80 kt or quantity below 100 kg",
     "not (speed at least 80 kt and quantity at least 100 kg)",
     ("low speed", "statement", "when", WORDING)),
    ("on ground and ground latch set", "ground latch set and on ground",
     ("PUMP LOW", "statement", "inhibited when", WORDING)),
    ("not main pump running and low speed", "not (main pump running or not low speed)",
     ("PUMP LOW", "statement", "shown when", WORDING)),
    ("needs: [main bus]\n    shown", "needs: [main bus powered]\n    shown",
     ("PUMP LOW", "meaning", "needs", WORDING)),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "row"), WORDINGS, ids=[w[1] for w in WORDINGS])
def test_a_difference_of_wording_is_proved_to_be_that(old: str, new: str, row: Row) -> None:
    assert {(r[0], r[3]) for r in rows(compared((old, new)))} == {(row[0], WORDING)}


DECLARED: list[tuple[str, str, Row]] = [
    ("positions: [OFF, AUTO, ON]", "positions: [OFF, AUTO, ON, TEST]",
     ("pump switch", "positions", "positions", STATED)),
    ("normally: AUTO", "normally: OFF", ("pump switch", "normally", "normally", STATED)),
    ("range: 0 to 400", "range: 0 to 450", ("speed", "range", "range", STATED)),
    ("on ground: {normally: no}", "on ground: {normally: yes}",
     ("on ground", "normally", "normally", STATED)),
    ("level: caution", "level: warning", ("PUMP LOW", "level", "level", STATED)),
    ("source: p.3", "source: p.5", ("spare pump", "source", "source", STATED)),
    ("it saves a life", "it saves two", ("PUMP LOW", "why", "why", STATED)),
    ("main pump: {kind: pump, fails: [stops]}",
     "main pump: {kind: pump, fails: [stops, keeps running]}",
     ("main pump", "fails", "fails", STATED)),
    ("kind: generator,", "kind: generator, note: heavy,", ("generator", "note", "note", STATED)),
    ("means:\n", "means:\n  high speed: {when: speed above 300 kt}\n",
     ("high speed", "added", "", STATED)),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "row"), DECLARED, ids=[d[2][1] + d[2][0] for d in DECLARED])
def test_what_is_declared_otherwise_is_told(old: str, new: str, row: Row) -> None:
    assert rows(compared((old, new))) == {row}


def test_the_other_way_round_added_is_removed() -> None:
    more = changed(("means:\n", "means:\n  high speed: {when: speed above 300 kt}\n"))
    comparison = tb.compare(book_of(more), book_of(BASE))
    assert rows(comparison) == {("high speed", "removed", "", STATED)}


def test_several_planted_differences_are_all_found() -> None:
    comparison = compared(
        ("when: pump switch at ON", "when: pump switch at ON and low speed"),
        ("lost for 3 s", "lost for 4 s"),
        ("takes: 20 s", "takes: 25 s"),
        ("level: caution", "level: warning"),
    )
    assert rows(comparison) == {
        ("spare pump", "statement", "runs when", DIFFERS),
        ("spare pump", "limit", "runs when", DIFFERS),
        ("flaps", "limit", "drives", DIFFERS),
        ("PUMP LOW", "level", "level", STATED),
    }


def test_two_changed_rows_have_each_a_state_of_its_own() -> None:
    comparison = compared(("{reads: 3000, when: main circuit live}, {reads: 100}",
                           "{reads: 2900, when: main circuit live}, {reads: 150}"))  # fmt: skip
    first, second = cases(comparison)
    assert (first.a_does, first.b_does) == ("it reads 3000 psi", "it reads 2900 psi")
    assert (second.a_does, second.b_does) == ("it reads 100 psi", "it reads 150 psi")


def test_what_only_follows_from_a_difference_is_not_told_again() -> None:
    """`PUMP LOW` behaves otherwise too, but through `low speed` alone."""
    comparison = compared(("speed below 80 kt or", "speed below 70 kt or"))
    assert [d.item for d in comparison.differences] == ["low speed"]


def test_a_condition_moved_from_one_way_to_another_is_proved_equal() -> None:
    a = "controls: {sw: {positions: [A, B]}}\nsituations: {x: {}}\n" \
        "means:\n  m: {when any of: {one: sw at A and x, two: sw at B}}\n"  # fmt: skip
    b = a.replace("sw at A and x, two: sw at B", "x, two: sw at B")
    assert rows(tb.compare(book_of(a), book_of(b))) == {("m", "statement", "when", WORDING)}


def test_a_smallest_state_departs_by_no_more_than_it_must() -> None:
    comparison = compared(("when: pump switch at ON", "when: pump switch not at OFF"))
    (case,) = cases(comparison)
    assert (case.start, case.departures) == ("normal", ())
    assert (case.a_does, case.b_does) == ("it is not called to run", "it is called to run")


def test_a_limit_is_shown_between_its_two_numbers() -> None:
    (case,) = cases(compared(("running and speed below 80", "running and speed below 90")))
    assert "speed at least 80 kt and below 90 kt" in case.departures


def test_a_longer_delay_is_shown_between_its_two_times() -> None:
    (case,) = cases(compared(("lost for 3 s", "lost for 5 s")))
    assert "main circuit otherwise lost for 3 s but not yet for 5 s" in case.departures
    assert (case.a_does, case.b_does) == ("it is called to run", "it is not called to run")


def test_a_difference_that_no_possible_state_shows_is_told_as_such() -> None:
    only = ("shed when: on ground and pressure below 1000 psi",
            "shed when: on ground and speed above 300 kt")  # fmt: skip
    never = DEFAULT + "impossible: [on ground and speed above 200 kt]\n"
    a = book_of(changed((only[0], "shed when: on ground and speed above 350 kt")), never)
    b = book_of(changed(only), never)
    assert rows(tb.compare(a, b)) == {("generator", "limit", "shed when", NOWHERE)}


def test_a_position_that_one_alone_has_is_told() -> None:
    comparison = compared(
        ("positions: [OFF, AUTO, ON]", "positions: [OFF, AUTO, ON, TEST]"),
        ("when: pump switch at ON", "when: pump switch at ON or pump switch at TEST"),
    )
    case = case_of(comparison, "spare pump")
    assert (case.departures, case.only) == (("pump switch at TEST",), comparison.b)


def test_a_position_taken_away_is_told_as_that_of_the_first() -> None:
    comparison = compared(
        ("positions: [OFF, AUTO, ON]", "positions: [OFF, AUTO]"),
        ("      selected: {when: pump switch at ON, source: p.3}\n", ""),
    )
    case = case_of(comparison, "spare pump")
    assert (case.departures, case.only) == (("pump switch at ON",), comparison.a)


def test_a_part_of_a_range_that_one_alone_has_is_told() -> None:
    comparison = compared(
        ("range: 0 to 400", "range: 0 to 500"),
        ("speed below 200 kt", "speed below 200 kt or speed above 450 kt"),
    )
    case = case_of(comparison, "flaps")
    assert (case.departures, case.only) == (("speed above 450 kt",), comparison.b)


def test_a_level_that_one_alone_has_is_not_taken_for_another() -> None:
    a = "situations: {x: {}}\nunits: {s: {runs when: x}, p: {needs: [bus]}}\n" \
        "supplies: {bus: {fed by: [s]}}\n"  # fmt: skip
    b = a.replace(
        "fed by: [s]", "levels: [lost, reduced, normal], fed by: [{from: s, delivers: L}]"
    )
    b = b.replace("needs: [bus]", "needs: [bus at normal]")
    verdicts = {
        level: {
            change.item: change.verdict
            for change in tb.compare(book_of(a), book_of(b.replace("L", level))).changes
        }
        for level in ("normal", "reduced")
    }
    assert verdicts["normal"]["p"] == NOWHERE
    assert verdicts["reduced"]["p"] == DIFFERS


def test_feeding_one_is_compared_by_what_is_fed() -> None:
    a = "units: {p: {}}\nsupplies: {one: {fed by: [p]}, two: {fed by: [p]}}\n"
    b = a.replace("p: {}", "p: {feeds one: [one, two]}")
    comparison = tb.compare(book_of(a), book_of(b))
    assert rows(comparison) == {("p", "feeds one", "feeds one", DIFFERS)}
    (case,) = cases(comparison)
    assert (case.a_does, case.b_does) == ("it feeds two", "it does not feed two")


# -- names ------------------------------------------------------------------------------------


def renamed(old: str, new: str, text: str = BASE) -> str:
    return text.replace(old, new)


def test_was_pairs_a_renamed_thing() -> None:
    new = renamed("main pump", "first pump").replace(
        "first pump: {kind: pump", "first pump: {was: main pump, kind: pump"
    )
    comparison = tb.compare(book_of(BASE), book_of(new))
    assert rows(comparison) == {("first pump", "renamed", "", STATED)}


def test_was_pairs_in_the_other_direction_too() -> None:
    new = renamed("main pump", "first pump").replace(
        "first pump: {kind: pump", "first pump: {was: main pump, kind: pump"
    )
    comparison = tb.compare(book_of(new), book_of(BASE))
    assert rows(comparison) == {("main pump", "renamed", "", STATED)}


def test_two_names_exchanged_are_followed_by_was() -> None:
    a = "controls:\n  left: {positions: [A, B]}\n  right: {positions: [C, D]}\n" \
        "means: {m: {when: left at A}}\n"  # fmt: skip
    b = "controls:\n  right: {positions: [A, B], was: left}\n" \
        "  left: {positions: [C, D], was: right}\nmeans: {m: {when: right at A}}\n"  # fmt: skip
    assert rows(tb.compare(book_of(a), book_of(b))) == {
        ("right", "renamed", "", STATED),
        ("left", "renamed", "", STATED),
    }


def test_a_was_that_both_books_have_is_an_old_story() -> None:
    a = "means:\n  m: {when: x, was: x}\nsituations: {x: {}}\n"
    assert rows(tb.compare(book_of(a), book_of(a))) == set()


def test_the_only_pairing_that_makes_all_equal_is_a_renaming() -> None:
    new = renamed("PUMP LOW", "LOW PUMP", renamed("low speed", "slow"))
    assert rows(tb.compare(book_of(BASE), book_of(new))) == {
        ("LOW PUMP", "renamed", "", STATED),
        ("slow", "renamed", "", STATED),
    }


TWINS = "situations: {x: {}}\nmeans:\n  one: {when: x}\n  two: {when: x}\n"


def test_two_pairings_that_make_all_equal_are_no_renaming() -> None:
    comparison = tb.compare(
        book_of(TWINS), book_of(TWINS.replace("one", "eins").replace("two", "zwei"))
    )
    assert {(r[0], r[1]) for r in rows(comparison)} == {
        ("eins", "added"),
        ("zwei", "added"),
        ("one", "removed"),
        ("two", "removed"),
    }


def test_what_is_said_of_things_tells_them_apart() -> None:
    told = TWINS + "units: {u: {runs when: one and not two}}\n"
    comparison = tb.compare(
        book_of(told), book_of(told.replace("one", "eins").replace("two", "zwei"))
    )
    assert rows(comparison) == {("eins", "renamed", "", STATED), ("zwei", "renamed", "", STATED)}


def test_a_renamed_and_changed_thing_without_was_is_removed_and_added() -> None:
    a = "situations: {x: {}, y: {}}\nmeans: {one: {when: x}}\n"
    b = "situations: {x: {}, y: {}}\nmeans: {eins: {when: y}}\n"
    assert {(r[0], r[1]) for r in rows(tb.compare(book_of(a), book_of(b)))} == {
        ("eins", "added"),
        ("one", "removed"),
    }


def test_another_kind_of_thing_of_the_same_name_is_another_thing() -> None:
    a = book_of("situations: {x: {}, y: {}}\nmeans: {m: {when: y}}\n")
    b = book_of("situations: {y: {}}\nmeans: {x: {when: y}, m: {when: y}}\n")
    assert {(r[0], r[1]) for r in rows(tb.compare(a, b))} == {("x", "added"), ("x", "removed")}


# -- besides things ---------------------------------------------------------------------------


def both(type_a: str = "", type_b: str = "", claims_a: str = "", claims_b: str = "") -> set[Row]:
    a, b = (
        book_of(BASE, DEFAULT + more, claims)
        for more, claims in ((type_a, claims_a), (type_b, claims_b))
    )
    return rows(tb.compare(a, b))


def test_impossible_states_are_compared() -> None:
    never = "impossible: [on ground and speed above {} kt]\n"
    assert both(never.format(200), never.format(220)) == {
        ("impossible states", "limit", "impossible", DIFFERS)
    }
    swapped = "impossible: [speed above 200 kt and on ground]\n"
    assert both(never.format(200), swapped) == {
        ("impossible states", "statement", "impossible", WORDING)
    }


def test_groups_are_compared() -> None:
    group = "groups: {pumps: [main pump, spare pump]}\n"
    assert both("", group) == {("pumps", "added", "", STATED)}
    assert both(group, group.replace("spare pump", "generator")) == {
        ("pumps", "members", "", STATED)
    }


def test_claims_are_compared() -> None:
    claim = "- {claim: never low speed, given: [no failures], source: p.9}\n"
    assert both(claims_b=claim) == {("never low speed", "statement added", "", STATED)}
    assert both(claims_a=claim, claims_b=claim.replace("p.9", "p.8")) == {
        ("never low speed", "source", "source", STATED)
    }


def test_starting_states_are_compared() -> None:
    a, b = (
        book_of(BASE, DEFAULT.replace("normal: {}", f"normal: {{speed: {n}}}")) for n in (60, 70)
    )
    assert rows(tb.compare(a, b)) == {("normal", "settings", "", STATED)}


def test_a_new_revision_of_all_sources_of_a_chapter_is_one_difference() -> None:
    head = "chapter: 29\ntitle: Test\nsource: CM 29 rev {}\n"
    a, b = (book_of(head.format(n) + BASE) for n in (1, 2))
    assert rows(tb.compare(a, b)) == {("chapter 29", "source", "source", STATED)}


# -- the table --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "level"),
    [
        ("pressure below 1000", "pressure below 2000", "A"),
        ("positions: [OFF, AUTO, ON]", "positions: [OFF, AUTO, ON, TEST]", "B"),
        ("level: caution", "level: warning", "B"),
        ("lost for 3 s", "lost for 5 s", "B"),
        ("running and speed below 80 kt", "running and speed below 90 kt", "B"),
    ],
)
def test_levels_are_proposed_by_the_rule(old: str, new: str, level: str) -> None:
    (difference,) = compared((old, new)).differences
    assert (difference.training, difference.checking, difference.currency) == (level,) * 3


def test_a_step_done_by_heart_is_practised_and_a_limit_known_by_heart_is_not() -> None:
    by_heart = ("do: pump switch at ON", "{do: pump switch at ON, from memory: yes}")
    lists = (LIST, changed(by_heart, text=LIST))
    (step,) = tb.compare(*(book_of(BASE, procedures=text) for text in lists)).differences
    known = ("source: L-1", "source: L-1, from memory: yes")
    numbers = (LIMITS, changed(known, text=LIMITS))
    (limit,) = tb.compare(*(book_of(BASE, numbers=text) for text in numbers)).differences
    assert (step.training, limit.training) == ("C", "A")


@pytest.mark.parametrize(
    ("old", "new", "level"),
    [
        # Transport Canada, acceptable tables of operator differences (GIV-X to GV-SP): a greater
        # take-off weight, and switches that stand elsewhere, are A; steering from another pump, B.
        ("at most: 40000 kg", "at most: 41000 kg", "A"),
        ("pump switch: {positions", "pump selector: {was: pump switch, positions", "A"),
        ("needs: [main bus]\n    fails", "needs: [low speed]\n    fails", "B"),
    ],
)
def test_a_limit_and_a_name_are_read_and_a_system_is_taught(old: str, new: str, level: str) -> None:
    numbers = "title: Weights\nlimits:\n  take-off weight: {unit: kg, at most: 40000 kg}\n"
    new_base, new_numbers = (text.replace(old, new) for text in (BASE, numbers))
    new_base = new_base.replace(
        ": pump switch at", f": {'pump selector' if 'was' in new else 'pump switch'} at"
    )
    assert (new_base, new_numbers) != (BASE, numbers)
    books = book_of(BASE, numbers=numbers), book_of(new_base, numbers=new_numbers)
    (row,) = tb.compare(*books).differences
    assert row.training == level


def test_a_control_with_another_name_is_to_be_read_again_in_the_procedures_that_name_it() -> None:
    renamed = BASE.replace("pump switch: {", "pump selector: {was: pump switch, ")
    books = [
        book_of(
            text.replace(": pump switch at", f": {name} at"),
            procedures=LIST.replace("pump switch", name),
        )
        for text, name in ((BASE, "pump switch"), (renamed, "pump selector"))
    ]
    (row,) = tb.compare(*books).differences
    assert row.flight_characteristics == "none"
    assert row.procedures.startswith("to be read again: ")


@pytest.mark.parametrize(
    ("chapter", "told"),
    [("27", "to be assessed: it bears on flaps"), ("28", "none told by the book")],
)
def test_flight_characteristics_speak_of_what_the_air_or_the_runway_feels(
    chapter: str, told: str
) -> None:
    """Not of the valve of a fuel line, or the door over a mask."""
    head = f"chapter: {chapter}\ntitle: Test\n"
    old, new = (
        book_of(head + text) for text in (BASE, changed(("p.1}", "p.1, shed when: on ground}")))
    )
    (row,) = tb.compare(old, new).differences
    assert row.flight_characteristics == told


def test_what_one_side_has_not_has_no_source() -> None:
    why = "      why: [{computed: it saves a life, source: D 1}]\n"
    text = str(compared((why, "")))
    assert re.search(r"\(no other\)$", text, re.MULTILINE)


def test_the_text_leaves_the_decision_to_the_operator() -> None:
    comparison = compared(("lost for 3 s", "lost for 5 s"))
    assert "the operator decides" in str(comparison)
    assert "[p.4]" in str(comparison)


FLEET = """\
type: Test type
revision: 3
variants:
  T1: {serials: 1-10}
  T2: {serials: 11-20}
"""


@pytest.fixture
def fleet() -> Book:
    text = changed(("source: p.4\n", "source: p.4\n        applies to: T2\n"))
    return book_of(text, FLEET)


def test_two_aeroplanes_of_a_book_are_compared(fleet: Book) -> None:
    comparison = tb.compare(fleet, aeroplane_a="T1", aeroplane_b="T2")
    assert (comparison.a, comparison.b) == ("T1", "T2")
    assert rows(comparison) == {("spare pump", "statement added", "runs when", DIFFERS)}


def test_an_aeroplane_named_once_is_compared_in_both_books(fleet: Book) -> None:
    other = book_of(BASE, FLEET.replace("revision: 3", "revision: 4"))
    assert rows(tb.compare(fleet, other, aeroplane_a="T2")) == set()
    comparison = tb.compare(fleet, other, aeroplane_a="T1")
    assert (comparison.a, comparison.b) == ("T1 rev 3", "T1 rev 4")
    assert len(comparison.differences) == 1


def test_an_aeroplane_is_not_compared_with_itself(fleet: Book) -> None:
    with pytest.raises(NothingToCompare):
        tb.compare(fleet, aeroplane_a="T1")


# -- rows -------------------------------------------------------------------------------------

MORE = "  high speed: {when: speed above 300 kt}\n"


def table(comparison: Comparison) -> dict[str, set[str]]:
    """The items of each row, and what is told with it."""
    return {row.item: {change.item for change in row.with_it} for row in comparison.differences}


def test_what_is_there_because_of_something_new_is_told_with_it() -> None:
    new = changed(
        ("units:\n", "units:\n  third pump: {kind: pump, needs: [third tank above 5 kg]}\n"),
        ("readings:\n", "readings:\n  third tank: {unit: kg, range: 0 to 90, normally: 9}\n"),
        ("fed by: [main pump, spare pump]", "fed by: [main pump, spare pump, third pump]"),
        ("indications:\n", "indications:\n  third gauge: {shows: third tank}\n"),
    )
    added = tb.compare(book_of(BASE), book_of(new))
    assert table(added) == {"third pump": {"third tank", "third gauge", "main circuit"}}
    removed = tb.compare(book_of(new), book_of(BASE))
    assert table(removed) == table(added)


def test_two_new_things_apart_are_two_rows() -> None:
    new = changed(("means:\n", f"means:\n{MORE}  slow: {{when: speed below 100 kt}}\n"))
    assert table(tb.compare(book_of(BASE), book_of(new))) == {"high speed": set(), "slow": set()}


def test_what_speaks_of_two_new_things_makes_no_one_row_of_them() -> None:
    new = changed(
        ("means:\n", f"means:\n{MORE}  slow: {{when: speed below 100 kt}}\n"),
        ("inhibited when: on ground and ground latch set", "inhibited when: slow and high speed"),
    )
    comparison = tb.compare(book_of(BASE), book_of(new))
    assert table(comparison) == {"high speed": {"PUMP LOW"}, "slow": set()}


def test_a_thing_changed_for_itself_too_keeps_its_row() -> None:
    new = changed(
        ("means:\n", f"means:\n{MORE}"),
        ("inhibited when: on ground and ground latch set", "inhibited when: high speed"),
        ("level: caution", "level: warning"),
    )
    assert table(tb.compare(book_of(BASE), book_of(new))) == {
        "high speed": {"PUMP LOW"},
        "PUMP LOW": set(),
    }


PUMPS = """
situations: {hot: {}, cold: {}}
units:
  <side> pump:
    for each: side in [left, right]
    fails: [stops]
    runs when: SIDES
"""


def test_members_that_differ_alike_are_one_row() -> None:
    a, b = (book_of(PUMPS.replace("SIDES", when)) for when in ("hot", "hot and not cold"))
    (row,) = tb.compare(a, b).differences
    assert (row.item, row.items) == ("left and right pump", ("left pump", "right pump"))


def test_members_that_differ_each_in_its_way_are_rows_of_their_own() -> None:
    one = "units:\n  left pump: {runs when: hot}\n  right pump: {runs when: hot}\n"
    a = PUMPS.split("units:")[0] + one
    b = a.replace("left pump: {runs when: hot}", "left pump: {runs when: cold}")
    b = b.replace("right pump: {runs when: hot}", "right pump: {runs when: hot and cold}")
    assert set(table(tb.compare(book_of(a), book_of(b)))) == {"left pump", "right pump"}


def test_sources_and_wording_stand_apart() -> None:
    comparison = compared(
        ("source: p.3", "source: p.5"),
        ("not main pump running and low speed", "low speed and not main pump running"),
        ("lost for 3 s", "lost for 5 s"),
        ("main circuit: {kind: circuit, fed by: [main pump, spare pump], source: p.1}",
         "main circuit: {kind: circuit, fed by: [main pump, spare pump], source: p.2}"),
    )  # fmt: skip
    assert table(comparison) == {"spare pump": set()}
    assert [change.item for change in comparison.restated] == ["PUMP LOW"]
    assert [change.item for change in comparison.sources] == ["main circuit"]


# -- states that take some doing ----------------------------------------------------------------


def test_what_is_done_to_come_to_a_state_is_told() -> None:
    case = case_of(compared(("cleared when: speed above 100 kt",
                             "cleared when: speed above 120 kt")), "ground latch")  # fmt: skip
    assert case.departures == ("speed above 100 kt and at most 120 kt",)
    a = BASE.replace("on ground and ground latch set", "ground latch set")
    case = case_of(tb.compare(book_of(a), book_of(a.replace(
        "inhibited when: ground latch set", "inhibited when: ground latch set and on ground"
    ))), "PUMP LOW")  # fmt: skip
    assert "ground latch set" in case.departures
    assert "on ground" in case.after


ONE_DELAY = """
situations: {hot: {}}
units: {heater: {fails: [stops], runs when: hot}}
readings:
  temperature:
    unit: C
    range: 0 to 400
    follows: [{reads: 300, when: heater running}, {reads: 20}]
latches:
  trip: {set when: temperature above 100 C for 5 s, cleared when: not hot}
"""


def test_two_delays_whose_conditions_are_never_apart_are_over_together() -> None:
    """No reading of the book lies between the two limits, so both delays run alike."""
    a = book_of(ONE_DELAY)
    b = book_of(ONE_DELAY.replace("above 100 C", "above 200 C"))
    assert rows(tb.compare(a, b)) == {("trip", "limit", "set when", NOWHERE)}
    apart = ONE_DELAY.replace("{reads: 20}", "{reads: 150, when: hot}, {reads: 20}")
    b = book_of(apart.replace("above 100 C", "above 200 C"))
    assert rows(tb.compare(book_of(apart), b)) == {("trip", "limit", "set when", DIFFERS)}


# -- procedures and limits ------------------------------------------------------------------------

LIST = """
procedures:
  pump list:
    kind: non-normal checklist
    source: N-1
    called for when: PUMP LOW shown
    done from: normal
    secures: spare pump running
    steps:
      - do: pump switch at ON
      - check: main circuit live
      - if: PUMP LOW shown
        then:
          - do: pump switch at AUTO
          - say: Land soon.
        otherwise:
          - wait: 10 s
"""


def lists(*replacements: tuple[str, str], text: str = BASE) -> set[Row]:
    new = changed(*replacements, text=LIST)
    return rows(tb.compare(book_of(BASE, procedures=LIST), book_of(text, procedures=new)))


PROCEDURES: list[tuple[str, str, tuple[str, str, str]]] = [
    ("check: main circuit live", "check: main circuit lost", ("step changed", "step", STATED)),
    ("wait: 10 s", "wait: 20 s", ("step changed", "step", STATED)),
    ("say: Land soon", "say: Land now", ("step changed", "step", STATED)),
    ("          - say: Land soon.\n", "", ("step removed", "step", STATED)),
    ("      - check: main circuit live\n",
     "      - check: main circuit live\n      - say: Wait for it.\n",
     ("step added", "step", STATED)),
    ("do: pump switch at ON", "{do: pump switch at ON, from memory: yes}",
     ("step changed", "step", STATED)),
    ("PUMP LOW shown\n    done", "PUMP LOW shown and low speed\n    done",
     ("statement", "called for when", NOWHERE)),
    ("PUMP LOW shown\n    done", "PUMP LOW shown and on ground\n    done",
     ("statement", "called for when", DIFFERS)),
    ("secures: spare pump running", "secures: [spare pump running, main circuit live]",
     ("statement added", "secures", NOWHERE)),
    ("secures: spare pump running", "secures: [spare pump running, pump switch at ON]",
     ("statement added", "secures", DIFFERS)),
    ("kind: non-normal checklist", "kind: normal checklist", ("kind", "kind", STATED)),
    ("source: N-1", "source: N-2", ("source", "source", STATED)),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "row"), PROCEDURES, ids=[p[1] for p in PROCEDURES])
def test_a_difference_of_a_procedure_is_found_and_nothing_else(
    old: str, new: str, row: tuple[str, str, str]
) -> None:
    assert lists((old, new)) == {("pump list", *row)}


def test_a_step_in_another_place_is_moved_not_new() -> None:
    swapped = (
        ("      - do: pump switch at ON\n      - check: main circuit live\n",
         "      - check: main circuit live\n      - do: pump switch at ON\n"),
    )  # fmt: skip
    assert lists(*swapped) == {("pump list", "step moved", "step", STATED)}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("do: pump switch at ON", "do: pump switch at OFF",
         "as told; done from normal with nothing failed, "
         "the second list ends with pump switch at OFF"),
        ("check: main circuit live", "check: main circuit lost",
         "as told; done from normal with nothing failed, both lists end alike"),
        ("PUMP LOW shown\n    done", "PUMP LOW shown and on ground\n    done", "as told"),
    ],
)  # fmt: skip
def test_how_a_procedure_ends_with_its_new_steps_is_told(old: str, new: str, told: str) -> None:
    lists = (LIST, changed((old, new), text=LIST))
    a, b = (book_of(BASE, procedures=text) for text in lists)
    (row,) = tb.compare(a, b).differences
    assert row.procedures.startswith(told)


def test_a_procedure_that_one_alone_has_is_told() -> None:
    a, b = book_of(BASE), book_of(BASE, procedures=LIST)
    assert rows(tb.compare(a, b)) == {("pump list", "added", "", STATED)}
    assert rows(tb.compare(b, a)) == {("pump list", "removed", "", STATED)}


def test_a_procedure_with_another_name_and_the_same_steps_is_renamed() -> None:
    assert lists(("pump list:", "list of pumps:")) == {("list of pumps", "renamed", "", STATED)}


RENAMED_AND_CHANGED = (
    ("pump list:", "list of pumps:\n    was: pump list"),
    ("wait: 10 s", "wait: 20 s"),
)


def test_was_pairs_a_renamed_procedure_with_other_steps() -> None:
    assert lists(*RENAMED_AND_CHANGED) == {
        ("list of pumps", "renamed", "", STATED),
        ("list of pumps", "step changed", "step", STATED),
    }
    without_was = (("pump list:", "list of pumps:"), RENAMED_AND_CHANGED[1])
    assert {what for _, what, _, _ in lists(*without_was)} == {"added", "removed"}


def test_was_pairs_a_procedure_in_the_other_direction_too() -> None:
    old, new = LIST, changed(*RENAMED_AND_CHANGED, text=LIST)
    a, b = (book_of(BASE, procedures=text) for text in (new, old))
    assert {(item, what) for item, what, _, _ in rows(tb.compare(a, b))} == {
        ("pump list", "renamed"),
        ("pump list", "step changed"),
    }


def test_a_was_of_a_procedure_that_both_books_have_is_an_old_story() -> None:
    text = changed(RENAMED_AND_CHANGED[0], text=LIST)
    a, b = (
        book_of(BASE, procedures=of) for of in (text, changed(RENAMED_AND_CHANGED[1], text=text))
    )
    assert rows(tb.compare(a, b)) == {("list of pumps", "step changed", "step", STATED)}


def test_a_renamed_procedure_is_told_once_where_something_else_differs() -> None:
    text = changed(RENAMED_AND_CHANGED[0], text=LIST)
    other = BASE.replace("level: caution", "level: warning")
    comparison = tb.compare(book_of(BASE, procedures=LIST), book_of(other, procedures=text))
    (light,) = (row for row in comparison.differences if row.item == "PUMP LOW")
    assert light.procedures == "to be read again: list of pumps (N-1)"


def test_a_renamed_control_makes_no_step_another() -> None:
    new = BASE.replace("pump switch: {", "pump selector: {was: pump switch, ")
    new = new.replace("pump switch at", "pump selector at")
    restated = LIST.replace("pump switch at", "pump selector at")
    comparison = tb.compare(book_of(BASE, procedures=LIST), book_of(new, procedures=restated))
    assert rows(comparison) == {("pump selector", "renamed", "", STATED)}
    assert "pump list (N-1)" in comparison.differences[0].procedures


LIMITS = """
title: Speeds
limits:
  flaps speed: {of: speed, at most: 200 kt, when: gear lever at DOWN, source: L-1}
"""


@pytest.mark.parametrize(
    ("old", "new", "row"),
    [
        ("200 kt", "210 kt", ("limit", "", STATED)),
        ("at DOWN", "at UP", ("statement", "", STATED)),
        ("source: L-1", "source: L-2", ("source", "source", STATED)),
        ("source: L-1", "source: L-1, from memory: yes", ("statement", "", STATED)),
    ],
)
def test_limits_are_compared(old: str, new: str, row: tuple[str, str, str]) -> None:
    a, b = (book_of(BASE, numbers=text) for text in (LIMITS, changed((old, new), text=LIMITS)))
    assert rows(tb.compare(a, b)) == {("flaps speed", *row)}


def test_a_limit_that_one_alone_has_is_told() -> None:
    a, b = book_of(BASE), book_of(BASE, numbers=LIMITS)
    assert rows(tb.compare(a, b)) == {("flaps speed", "added", "", STATED)}
    assert rows(tb.compare(b, a)) == {("flaps speed", "removed", "", STATED)}


# -- the fleet and the chapters -------------------------------------------------------------------


def test_what_a_statement_applies_to_is_compared_between_books_alone() -> None:
    a, b = (
        book_of(changed(("source: p.1", f"source: p.1, applies to: {which}")), FLEET)
        for which in ("T1", "[T1, T2]")
    )
    comparison = tb.compare(a, b, aeroplane_a="T1")
    assert rows(comparison) == {("main circuit", "applies to", "applies to", STATED)}
    assert not comparison.differences


def test_serial_numbers_are_compared() -> None:
    a, b = book_of(BASE, FLEET), book_of(BASE, FLEET.replace("11-20", "11-30"))
    assert rows(tb.compare(a, b, aeroplane_a="T1")) == {("T2", "serials", "", STATED)}


SAID = ("check: main circuit live", "say: One.", "say: Two.", "wait: 5 s", "do: pump switch at ON",
        "check: PUMP LOW not shown", "say: Three.")  # fmt: skip


def list_of(steps: Sequence[str]) -> Book:
    body = "".join(f"      - {step}\n" for step in steps)
    head = LIST.split("    steps:\n")[0].replace("    secures: spare pump running\n", "")
    return book_of(BASE, procedures=f"{head}    steps:\n{body}")


@given(steps=st.permutations(SAID), place=st.integers(0, len(SAID) - 1))
@settings(max_examples=12, deadline=None)
def test_the_step_that_was_taken_out_is_the_one_told(steps: list[str], place: int) -> None:
    fewer = [*steps[:place], *steps[place + 1 :]]
    (gone,) = tb.compare(list_of(steps), list_of(fewer)).changes
    (come,) = tb.compare(list_of(fewer), list_of(steps)).changes
    text = f"{place + 1}. {steps[place].removeprefix('do: ').replace('check: ', 'check ')}"
    assert (gone.what, gone.after) == ("step removed", "")
    assert (come.what, come.before) == ("step added", "")
    assert gone.before == come.after == text.replace("wait: ", "wait ")


@given(before=st.permutations(SAID), after=st.permutations(SAID))
@settings(max_examples=12, deadline=None)
def test_steps_in_another_order_are_moved_and_none_is_lost(
    before: list[str], after: list[str]
) -> None:
    changes = list(tb.compare(list_of(before), list_of(after)).changes)
    assert (not changes) == (before == after)
    for change in changes:
        assert change.what == "step moved"
        assert change.before.partition(". ")[2] == change.after.partition(". ")[2]


LAMP = """
controls: {battery switch: {positions: [OFF, ON], normally: OFF}}
readings: {shake: {unit: none, range: 0 to 10}}
units: {battery: {}}
supplies: {bus: {fed by: [{from: battery, when: battery switch at ON}]}}
indications: {SHAKES: {needs: [bus], shown when: shake above 4}}
"""


def test_a_light_is_told_in_a_state_in_which_it_can_be_seen() -> None:
    a, b = (book_of(text) for text in (LAMP, LAMP.replace("above 4", "above 5")))
    assert set(case_of(tb.compare(a, b), "SHAKES").departures) == {
        "battery switch at ON",
        "shake above 4 and at most 5",
    }
    dead = "impossible: [battery switch at ON]\n"
    a, b = (book_of(t, DEFAULT + dead) for t in (LAMP, LAMP.replace("above 4", "above 5")))
    assert case_of(tb.compare(a, b), "SHAKES").departures == ("shake above 4 and at most 5",)


OWN_BUS = """
controls: {battery switch: {positions: [OFF, ON]}}
units:
  battery: {runs when: battery switch at ON}
  generator: {needs: [bus live]}
supplies: {bus: {fed by: [battery, generator]}}
"""


def test_a_state_told_is_one_in_which_both_books_say_what_comes_of_it() -> None:
    """With the battery off, a generator that needs its own bus dead neither runs nor does not."""
    denied = OWN_BUS.replace("[bus live]", "[not bus live]")
    case = case_of(tb.compare(book_of(OWN_BUS), book_of(denied)), "generator")
    assert case.departures == ("battery switch at ON",)
    assert (case.a_does, case.b_does) == ("its needs are met", "its needs are not met")


def test_where_one_book_does_not_say_what_comes_of_it_that_is_told() -> None:
    alone = OWN_BUS.replace("[battery, generator]", "[generator]")
    denied = alone.replace("[bus live]", "[not bus live]")
    case = case_of(tb.compare(book_of(alone), book_of(denied)), "generator")
    assert (case.departures, case.a_does, case.b_does) == ((), "its needs are not met", OPEN)


def test_what_denies_itself_is_not_the_same_as_what_asks_for_itself() -> None:
    a, b = (book_of(f"means: {{lit: {{when: {text}}}}}") for text in ("lit", "not lit"))
    case = case_of(tb.compare(a, b), "lit")
    assert (case.a_does, case.b_does) == ("it is not so", OPEN)


# -- two aeroplanes of one book -----------------------------------------------------------------

TWO_AEROPLANES = """
situations:
  on ground: {normally: no}
controls:
  ram switch: {positions: [OFF, ON], applies to: T1}
  air switch: {positions: [OFF, ON], was: ram switch, applies to: T2}
units:
  pump:
    runs when:
      - {when: on ground, applies to: T1, source: p.1}
      - {when: not on ground, applies to: T2, source: p.1}
indications:
  OLD LIGHT: {kind: light, shown when: pump running, applies to: T1}
  NEW LIGHT: {kind: light, shown when: on ground, applies to: [T2, SB 1]}
"""
WITH_BULLETIN = FLEET + "service bulletins: {SB 1: {serials: 5-10}}\n"
LISTS = """
title: Lists
procedures:
  look:
    kind: flow
    done from: normal
    steps: [{check: pump running, applies to: T1}, {check: on ground}]
"""


def test_two_aeroplanes_of_one_book_differ_and_have_not_changed() -> None:
    book = book_of(TWO_AEROPLANES, WITH_BULLETIN, procedures=LISTS)
    text = str(tb.compare(book, aeroplane_a="T1", aeroplane_b="T2"))
    heads = [line.strip() for line in text.splitlines() if re.match(r"\d+\. ", line)]
    assert heads == [
        "1. air switch (control): another name",
        "2. pump (unit), runs when: differs",
        "3. OLD LIGHT (indication): only on T1",
        "4. NEW LIGHT (indication): only on T2",
        "5. look (procedure): a step only on T1",
    ]
    assert "Procedures: look names it" in text
    for word in ("changed", "added", "removed", "renamed", "new", "gone", "now", "read again"):
        assert not re.search(rf"\b{word}\b", text), word


def test_two_revisions_are_told_as_changes() -> None:
    comparison = compared(("means:\n", "means:\n  high speed: {when: speed above 300 kt}\n"),
                          ("pump switch at ON", "pump switch not at OFF"))  # fmt: skip
    text = str(comparison)
    assert "high speed (means): added" in text
    assert "spare pump (unit), runs when: changed" in text
    assert "only on" not in text


def test_a_bulletin_by_which_other_aeroplanes_have_it_too_is_told() -> None:
    book = book_of(TWO_AEROPLANES, WITH_BULLETIN)
    comparison = tb.compare(book, aeroplane_a="T1", aeroplane_b="T2")
    fitted = {c.item: (c.fitted_a, c.fitted_b) for c in comparison.changes}
    assert fitted["NEW LIGHT"] == ("", "T2 or SB 1")
    assert set(fitted.values()) == {("", ""), ("", "T2 or SB 1")}
    assert "[applies to T2 or SB 1]" in str(comparison)


def test_a_light_that_one_alone_has_is_told_with_a_state_in_which_it_is_shown() -> None:
    comparison = tb.compare(book_of(TWO_AEROPLANES, WITH_BULLETIN), aeroplane_b="T2")
    old, new = case_of(comparison, "OLD LIGHT"), case_of(comparison, "NEW LIGHT")
    assert (old.a_does, old.b_does) == ("it is brought on", "there is none")
    assert (new.a_does, new.b_does) == ("there is none", "it is brought on")
    assert (new.start, new.departures) == ("normal", ("on ground",))


def test_a_light_that_can_never_be_shown_makes_no_difference() -> None:
    never = "situations: {x: {}}\nindications: {L: {kind: light, shown when: x and not x}}\n"
    comparison = tb.compare(book_of("situations: {x: {}}\n"), book_of(never))
    assert rows(comparison) == {("L", "added", "", NOWHERE)}


NEEDY = """
situations: {on ground: {normally: no}}
controls:
  master: {positions: [OFF, ON], normally: OFF}
units:
  source: {kind: generator, runs when: master at ON, fails: [stops]}
  fan: {kind: fan, needs: [bus], runs when: LIMIT}
supplies: {bus: {kind: bus, fed by: [source]}}
latches: {memory: {set when: on ground, cleared when: master at ON and not on ground}}
"""


@pytest.mark.parametrize(
    ("before", "after", "departures"),
    [
        # the fan can run only where its bus is live
        ("on ground", "not on ground", ("master at ON",)),
        # a control moved comes before what is outside, that before what is remembered
        ("master at OFF", "master at OFF or on ground", ("master at ON", "on ground")),
    ],
)
def test_of_a_unit_a_state_is_told_in_which_it_then_runs_or_not(
    before: str, after: str, departures: tuple[str, ...]
) -> None:
    books = (book_of(NEEDY.replace("LIMIT", text)) for text in (before, after))
    assert case_of(tb.compare(*books), "fan").departures == departures


def test_a_control_is_moved_rather_than_something_failed_or_remembered() -> None:
    text = "controls: {sw: {positions: [ON, OFF]}}\nsituations: {x: {}}\n" \
        "units: {u: {fails: [stops]}}\nlatches: {m: {set when: x, cleared when: sw at OFF}}\n" \
        "means: {any: {when: LIMIT}}\n"  # fmt: skip
    any_of = "sw at OFF or u not running or m set"
    books = (book_of(text.replace("LIMIT", t)) for t in ("sw at OFF and sw at ON", any_of))
    assert case_of(tb.compare(*books), "any").departures == ("sw at OFF",)


def test_procedures_and_limits_stand_after_the_systems_whatever_their_names() -> None:
    """A checklist often bears the name of its light."""
    lists = "title: Lists\nprocedures:\n  PUMP LOW:\n    kind: memory items\n" \
        "    called for when: on ground\n    steps: [{say: A}]\n"  # fmt: skip
    changes = [
        ("level: caution", "level: warning"),
        ("speed below 80 kt or", "speed below 70 kt or"),
    ]
    a = book_of(BASE, procedures=lists)
    b = book_of(changed(*changes), procedures=lists.replace("say: A", "say: B"))
    kinds = [(d.item, d.kind) for d in tb.compare(a, b).differences]
    assert kinds == [
        ("low speed", "means"),
        ("PUMP LOW", "indication"),
        ("PUMP LOW", "procedure"),
    ]


# -- both at the same time ------------------------------------------------------------------------

HEATED = """
situations: {hot: {normally: no}, very hot: {normally: no}}
readings:
  temperature:
    unit: C
    range: 0 to 400
    follows: [{reads: 300, when: very hot and valve open}, MIDDLE {reads: 20}]
    fails: [reads 350]
units: {valve: {kind: valve, shed when: trip set}}
latches: {trip: {set when: temperature above LIMIT for 5 s, cleared when: not hot and not very hot}}
"""


def heated(limit: str, middle: str = "{reads: 265, when: hot and valve open},") -> Book:
    return book_of(HEATED.replace("LIMIT", limit).replace("MIDDLE", middle))


def test_a_state_is_one_that_both_are_in_at_the_same_time() -> None:
    """After a false 350 C both delays are over together: that does not tell the two apart."""
    case = case_of(tb.compare(heated("260 C"), heated("270 C")), "trip")
    assert case.departures == ("hot", "temperature above 260 C for 5 s")
    assert (case.a_does, case.b_does, case.smallest) == ("it is set", "it is not set", True)


def test_a_limit_between_the_numbers_that_a_reading_has_makes_no_difference() -> None:
    comparison = tb.compare(heated("260 C", ""), heated("270 C", ""))
    assert rows(comparison) == {("trip", "limit", "set when", NOWHERE)}


def test_a_state_that_one_alone_comes_to_is_told_as_that() -> None:
    start = DEFAULT.replace("normal: {}", "normal: {}\n  on: {switch: ON}")
    text = "controls: {switch: {positions: [OFF, ON], drops to OFF when: fluid below 30 L}}\n" \
        "readings: {fluid: {unit: L, range: 0 to 100, starts at: 60, moves: [ROWS]}}\n"  # fmt: skip
    up, down = "{to: 100, rate: 10, when: switch at ON}", "{to: 0, rate: 1}"
    books = [book_of(text.replace("ROWS", r), start) for r in (f"{up}, {down}", f"{down}, {up}")]
    comparison = tb.compare(*books)
    assert case_of(comparison, "fluid").only == comparison.a


def test_a_part_of_a_second_above_two_minutes_is_a_difference() -> None:
    slow = changed(("takes: 20 s", "takes: 150 s"))
    slower = changed(("takes: 20 s", "takes: 150.25 s"))
    found = tb.compare(book_of(slow), book_of(slower))
    assert rows(found) == {("flaps", "limit", "drives", DIFFERS)}


def test_members_of_one_list_are_named_together() -> None:
    sides = LIST.replace("pump list:", "<side> pump list:\n    for each: side in [left, right]")
    renamed = BASE.replace("pump switch: {", "pump selector: {was: pump switch, ")
    (row,) = tb.compare(
        book_of(BASE, procedures=sides),
        book_of(
            renamed.replace(": pump switch at", ": pump selector at"),
            procedures=sides.replace("pump switch", "pump selector"),
        ),
    ).differences
    assert row.procedures == "to be read again: left and right pump list (N-1)"


def test_readings_under_one_limit_are_named_together() -> None:
    more = "".join(f"  {name} speed: {{unit: kt, range: 0 to 400}}\n" for name in ("wheel", "tyre"))
    two = changed(("situations:", f"{more}situations:"))
    old = changed(("of: speed", "of: [wheel speed, tyre speed]"), text=LIMITS)
    books = [book_of(two, numbers=text) for text in (old, old.replace("200 kt", "190 kt"))]
    (row,) = tb.compare(*books).differences
    assert row.changes[0].after.startswith("wheel and tyre speed at most 190 kt")


def test_a_reason_that_both_state_is_not_told_as_another_one() -> None:
    why = "why: [{computed: it saves a life, source: D 1}]"
    more = why.replace("}]", "}, {computed: it costs little, source: D 2}]")
    (row,) = compared((why, more), ("running and low speed", "running and on ground")).differences
    (reasons,) = (change for change in row.changes if change.what == "why")
    assert (reasons.before, reasons.after) == ("", "computed: it costs little (D 2)")


@pytest.mark.parametrize("places", ["RESET, OFF, ON", "ON, OFF, RESET"])
def test_a_state_has_a_control_rather_where_it_stays_than_where_it_is_held(places: str) -> None:
    switch = f"controls:\n  switch:\n    positions: [{places}]\n    normally: ON\n"
    switch += "    springs: {RESET: OFF}\nunits:\n  pump: {runs when: switch at ON}\n"
    always = switch.replace("switch at ON}", "switch at ON or switch not at ON}")
    case = case_of(tb.compare(book_of(switch), book_of(always)), "pump")
    assert case.departures == ("switch at OFF",)


def test_what_has_the_same_new_source_is_told_in_one_line() -> None:
    lists = LIST.replace("pump list:", "<side> pump list:\n    for each: side in [left, right]")
    new = lists.replace("source: N-1", "source: N-2")
    text = str(tb.compare(*(book_of(BASE, procedures=of) for of in (lists, new))))
    assert "  left and right pump list (procedure): N-1, now N-2" in text.splitlines()


def test_the_text_of_a_claim_is_told_once() -> None:
    claims = "- {claim: never main circuit lost for 9 s, source: C-1}\n"
    text = str(tb.compare(book_of(BASE), book_of(BASE, claims=claims)))
    assert text.count("never main circuit lost for 9 s") == 1
    assert "a claim: added" in text
