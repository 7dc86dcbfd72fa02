"""What mends an error is the very thing to write, and says what was meant."""

import pytest

from tests.small_books import HEAD, read_text

BOOK = (
    HEAD
    + """\
controls:
  left knob: {positions: [OFF, DIM]}
  right knob: {positions: [OFF, DIM, BRIGHT]}
readings:
  fore charge:
    unit: "%"
    range: 0 to 100
    starts at: 100
    moves: [{to: 0, rate: RATE}]
  aft charge: {unit: "%", range: 0 to 100}
means:
  m: {when: CONDITION}
"""
)


@pytest.mark.parametrize(
    ("condition", "mend"),
    [
        ("left knob OFF", "Write `left knob at OFF`."),
        ("left knob not OFF", "Write `left knob not at OFF`."),
        (
            "any charge below 5 %",
            "Declare it under `groups`: `charges: [fore charge, aft charge]`.",
        ),
        ("any lamp lit", "Declare it under `groups`."),
        ("left knob at OFF or BRIGHT", "Name the thing again: `right knob at BRIGHT`."),
        (
            "left knob heater not running",
            "Say `at OFF`. If `left knob heater` is meant, declare it, or correct the name.",
        ),
    ],
)
def test_of_a_condition(condition: str, mend: str) -> None:
    _, found = read_text(BOOK.replace("CONDITION", condition).replace("RATE", "1"))
    assert [diagnostic.mend for diagnostic in found if diagnostic.code != "no-source"][:1] == [mend]


@pytest.mark.parametrize(
    ("indication", "mend"),
    [
        ("DOOR NOT SHUT: {shown when: m}", "or join it: `DOOR-NOT-SHUT`."),
        (
            "gauge: {kind: gauge, shows: aft charge, fails: [reads 0]}",
            "State it under `fails` of the reading that the gauge shows.",
        ),
    ],
)
def test_of_an_indication(indication: str, mend: str) -> None:
    book = BOOK.replace("CONDITION", "always").replace("RATE", "1")
    _, found = read_text(f"{book}indications:\n  {indication}\n")
    assert found[0].mend.endswith(mend)


def test_a_fault_under_for_each_is_told_once() -> None:
    """It stands in the book once, and is mended once."""
    _, found = read_text(
        HEAD
        + """\
controls:
  <side> knob: {for each: "side in [left, right]", positions: [OFF, DIM]}
means:
  <side> dimmed: {for each: "side in [left, right]", when: <side> knob at DIMM}
  <side> lost: {for each: "side in [left, right]", when: <side> nob at DIM}
"""
    )
    errors = [diagnostic for diagnostic in found if diagnostic.kind == "error"]
    assert [d.message for d in errors] == [
        "`left knob` has no position DIMM: it has OFF, DIM",
        "there is nothing called `left nob` in this book",
    ]


def test_a_fault_of_one_member_alone_is_told() -> None:
    _, found = read_text(
        HEAD
        + """\
controls:
  left knob: {positions: [OFF, DIM]}
means:
  <side> dimmed: {for each: "side in [left, right]", when: <side> knob at DIM}
"""
    )
    errors = [diagnostic for diagnostic in found if diagnostic.kind == "error"]
    assert [d.message for d in errors] == ["there is nothing called `right knob` in this book"]


PARTED = """\
readings:
  altitude:
    unit: ft
    range: "0 to 40,000"
controls:
  vent lever: {positions: [100,200,300], normally: 100}
units:
"""
"""A book with a reading in thousands; positions that are numbers of three figures stay so."""


@pytest.mark.parametrize(
    ("pump", "place", "mend"),
    [
        ("{kind: pump, runs when: altitude above 18,000 ft}", (50, "{ }"), "`18000`"),
        (
            "{kind: pump, runs when: {when: altitude above 1,000 ft, source: 28-20 p.1}}",
            (56, "{ }"),
            "`1000`",
        ),
        (
            "{kind: pump, runs when: altitude below 1,000 ft or altitude above 18,000 ft}",
            (49, "{ }"),
            "`1000` and `18000`",
        ),
        ("{kind: pump, needs: [altitude below 1,000 ft, always]}", (46, "[ ]"), "`1000`"),
        ("{kind: pump, note: serves 1,234,567 hours}", (36, "{ }"), "`1234567`"),
    ],
)
def test_of_a_number_parted_by_its_comma(pump: str, place: tuple[int, str], mend: str) -> None:
    """It is the only error: the text is read on as it was meant."""
    column, brackets = place
    book, found = read_text(f"{HEAD}{PARTED}  pump: {pump}\n")
    (error,) = (one for one in found if one.kind == "error")
    assert book is None
    assert (error.place.line, error.place.column) == (10, column)
    assert error.message == f"within {brackets} a comma ends the text, even in a number"
    assert error.mend == f"Put the whole text in quotes, or write {mend}."


def test_a_parted_number_hides_no_other_error() -> None:
    """The rest of the file is read, and two of them are no double key."""
    _, found = read_text(
        f"{HEAD}{PARTED}"
        "  pump: {kind: pump, runs when: altitude above 1,000 ft, note: of 2,000 ft}\n"
        "  fan: {kind: fan, runs when: vent lever at 400}\n"
    )
    errors = [one.message for one in found if one.kind == "error"]
    assert len(errors) == 3
    assert errors[2].startswith("`vent lever` has no position 400")


@pytest.mark.parametrize("serials", ["1-12, 15", "9,120", "1-12,115"])
def test_serial_numbers_may_be_parted(serials: str) -> None:
    book, _ = read_text("", f"type: T\nvariants:\n  T1: {{serials: {serials}}}\n")
    assert book is not None
    assert book.variants[0].serials[-1][1] in (15, 120, 115)
