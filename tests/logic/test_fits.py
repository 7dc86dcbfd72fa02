"""What would explain what is seen, the most ordinary first, and what to look at next."""

from pathlib import Path

import pytest

import tellback as tb
from tests.small_books import book_of, write_book

FUEL = """
controls:
  pump switch: {positions: [OFF, ON], normally: ON}
  shut-off switch: {positions: [OPEN, SHUT], guarded: yes}
readings:
  quantity: {unit: kg, range: 0 to 1000, normally: 800, fails: [reads 0]}
units:
  pump:
    needs: [true quantity above 20 kg, shut-off switch at OPEN]
    runs when: pump switch at ON
    fails: [stops]
supplies:
  feed: {fed by: [pump]}
indications:
  FEED LOW: {level: caution, shown when: feed lost, fails: [shown]}
  QUANTITY LOW: {level: caution, shown when: quantity below 100 kg}
"""


def test_each_is_named_as_what_it_is_the_most_ordinary_first() -> None:
    assert (
        str(tb.fits(book_of(FUEL), ["FEED LOW shown"]))
        == """\
FEED LOW shown (normal) would be explained by:
  a control:
    1. pump switch at OFF
  from outside:
    2. quantity at most 20 kg
  a failure:
    3. pump stops
  a false indication:
    4. FEED LOW shows falsely
  a guarded control:
    5. shut-off switch at SHUT
  Sought with one thing at a time: failures, facts and readings from outside, controls.
  To tell them apart look at QUANTITY LOW: not shown with 1 and 3 to 5; shown with 2."""
    )


def test_a_leak_is_an_explanation_and_not_only_a_false_gauge() -> None:
    answer = tb.fits(book_of(FUEL), ["QUANTITY LOW shown", "FEED LOW not shown"])
    told = [(one.kind, [item.text for item in one.causes]) for one in answer.explained]
    assert told == [
        ("from outside", ["quantity above 20 kg and below 100 kg"]),
        ("a false indication", ["quantity falsely reads 0 kg"]),
    ]


STARTING = """
controls:
  start switch: {positions: [OFF, START]}
units:
  starter: {fails: [stops]}
  engine:
    fails: [stops]
    runs when: lit set
latches:
  lit: {set when: start switch at START and starter running, cleared when: start switch at OFF}
indications:
  READY: {shown when: engine running}
"""


def test_what_must_have_failed_before_the_last_move_is_told_so() -> None:
    """A starter that stops after the start ends nothing, and one that had stopped lets it fail."""
    answer = tb.fits(book_of(STARTING), ["READY not shown"], changes=["start switch: START"])
    told = [([item.text for item in one.causes], one.before) for one in answer.explained]
    assert told == [(["engine stops"], False), (["starter stops"], True)]
    assert "starter stops, before the last move" in str(answer)


def test_what_was_just_done_is_no_explanation() -> None:
    book = book_of(STARTING)
    answer = tb.fits(book, ["READY not shown"], changes=["start switch: START"])
    assert not any(item.kind == "control" for one in answer.explained for item in one.causes)


def test_a_control_that_a_lock_holds_is_no_explanation() -> None:
    locked = FUEL.replace(
        "{positions: [OFF, ON], normally: ON}",
        "{positions: [OFF, ON], normally: ON, cannot go to OFF when: feed live}",
    )
    answer = tb.fits(book_of(locked), ["FEED LOW shown"])
    assert answer.explained[0].kind == "from outside"


TWO = """
units:
  <side> pump: {for each: 'side in [left, right]', runs when: <side> line running, fails: [stops]}
  <side> line: {for each: 'side in [left, right]', fails: [stops]}
indications:
  BOTH OUT: {shown when: left pump not running and right pump not running}
"""


def test_pairs_that_are_alike_are_told_as_every_choice_with_every_choice() -> None:
    answer = tb.fits(book_of(TWO), ["BOTH OUT shown"])
    assert answer.counts == ((2, 4),)
    assert answer.order == 2
    (fold,) = answer.folds
    assert fold.numbers == (1, 2, 3, 4)
    pairs = {frozenset(item.text for item in one.causes) for one in answer.explained}
    assert pairs == {
        frozenset({one.text, other.text}) for one in fold.choices[0] for other in fold.choices[1]
    }
    assert "1 to 4. any of (left pump stops; left line stops), together with any of" in str(answer)


def test_two_together_are_sought_only_where_no_single_thing_explains_it_or_if_asked() -> None:
    book = book_of(TWO.replace(" and right pump not running", ""))
    assert tb.fits(book, ["BOTH OUT shown"]).order == 1
    assert tb.fits(book, ["BOTH OUT shown"], order=2).order == 2


LOOKS = """
controls:
  test switch: {positions: [OFF, ON]}
  fire switch: {positions: [OFF, ON], guarded: yes}
  start switch: {positions: [OFF, ON]}
units:
  lamp: {fails: [stops]}
  sensor: {fails: [stops]}
latches:
  started: {set when: start switch at ON, cleared when: never}
indications:
  FAULT: {shown when: lamp not running or sensor not running}
  TEST GOOD: {shown when: (test switch at ON or fire switch at ON or started set) and lamp running}
"""


def test_a_movement_that_can_be_taken_back_comes_after_what_is_only_looked_at() -> None:
    """The start switch would tell them apart too, but leaves a memory; the other is guarded."""
    answer = tb.fits(book_of(LOOKS), ["FAULT shown"])
    (look,) = answer.looks
    assert (look.thing, look.after) == ("TEST GOOD", "test switch at ON")
    assert str(answer).endswith(
        "To tell them apart put test switch to ON, and back: "
        "TEST GOOD not shown with 1; shown with 2."
    )


ELECTRICAL = """
chapter: 24
title: Electrical
units:
  left generator: {fails: [stops]}
  right generator: {fails: [stops]}
indications:
  FAULT: {shown when: left generator not running or right generator not running}
"""
AMMETER = """\
  ammeter: {kind: gauge, shows: current}
readings:
  current: {unit: A, range: 0 to 10, follows: [{reads: 5, when: left generator running}]}
"""
CABIN = """
chapter: 33
title: Lights
indications:
  CABIN DARK: {shown when: left generator not running}
"""


@pytest.mark.parametrize(
    ("electrical", "cabin", "looked_at"),
    [
        (ELECTRICAL + AMMETER, CABIN, "current"),
        (ELECTRICAL, CABIN, "CABIN DARK"),
        (ELECTRICAL, CABIN + AMMETER, "CABIN DARK"),
        (ELECTRICAL, CABIN.partition("  CABIN")[0] + AMMETER, ""),
    ],
)
def test_lights_and_gauges_of_the_chapter_come_first_and_readings_of_others_never(
    tmp_path: Path, electrical: str, cabin: str, looked_at: str
) -> None:
    folder = write_book(tmp_path, electrical)
    (folder / "chapters" / "33-lights.yaml").write_text(cabin, encoding="utf-8")
    looks = tb.fits(tb.read(folder), ["FAULT shown"]).looks
    assert [look.thing for look in looks] == ([looked_at] if looked_at else [])


@pytest.mark.parametrize("order", [1, 2])
def test_what_is_so_anyway_needs_no_explanation(order: int) -> None:
    answer = tb.fits(book_of(FUEL), ["FEED LOW not shown"], order=order)
    assert answer.already
    assert not answer.explained
    assert str(answer) == (
        "FEED LOW not shown (normal): so with nothing failed, and nothing otherwise."
    )


def test_the_same_of_either_side_is_one_line() -> None:
    answer = tb.fits(book_of(TWO.replace(" and right", " or right")), ["BOTH OUT shown"])
    assert [fold.numbers for fold in answer.folds] == [(1, 2), (3, 4)]
    assert (
        "  a failure:\n  1, 2. left or right pump stops\n  3, 4. left or right line stops\n"
        in str(answer)
    )


def test_of_very_many_the_most_ordinary_are_told_and_the_rest_counted() -> None:
    pumps = [f"pump {n}" for n in range(60)]
    text = "units:\n" + "".join(f"  {pump}: {{fails: [stops]}}\n" for pump in pumps)
    running = ", ".join(f"{pump} running" for pump in pumps)
    text += f'indications:\n  FAULT: {{shown when: "not all of ({running})", fails: [shown]}}\n'
    answer = tb.fits(book_of(text), ["FAULT shown"])
    assert len(answer.explained) == 61
    assert "   40. pump 39 stops\n    ... and 21 more, rarer ones\n" in str(answer)


def test_a_light_is_looked_at_before_a_number() -> None:
    book = book_of("""
units:
  pump: {fails: [stops]}
  line: {fails: [stops]}
readings:
  pressure: {unit: psi, range: 0 to 3000, follows: [{reads: 3000, when: pump running}]}
indications:
  gauge: {kind: gauge, shows: pressure}
  FAULT: {shown when: pump not running or line not running}
  PUMP LOW: {shown when: pump not running}
""")
    assert [look.thing for look in tb.fits(book, ["FAULT shown"]).looks] == ["PUMP LOW"]
