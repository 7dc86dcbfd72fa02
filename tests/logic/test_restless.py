"""What never settles after one move is told in number, with a mend for what was only pressed."""

import tellback as tb
from tellback.diagnostics import Diagnostic
from tests.small_books import book_of

FLUSH = """
controls:
  flush button: {positions: [OUT, PRESSED], springs: {PRESSED: OUT}}
latches:
  flush timer: {set when: SET, cleared when: flush timer set for 15 s}
units:
  blower: {runs when: flush timer set}
"""

CELLS = """
controls:
  lamp switch: {positions: [OFF, ON]}
readings:
  <side> charge:
    for each: side in [left, right]
    unit: V
    range: 0 to 20
    starts at: 20
    moves: [{to: 0, rate: 1, when: <side> lamp running}, {to: 20, rate: 1}]
units:
  <side> lamp:
    for each: side in [left, right]
    runs when: lamp switch at ON and <side> charge at least 5 V
"""


def never_settled(chapter: str) -> list[Diagnostic]:
    return [d for d in tb.check(book_of(chapter)) if d.code == "never-settled"]


def test_a_button_held_for_ever_may_only_have_been_pressed() -> None:
    (found,) = never_settled(FLUSH.replace("SET", "flush button at PRESSED"))
    assert found.mend == (
        "No question lets flush button go by itself: if a press is meant, write "
        "`flush button at PRESSED comes on`."
    )
    assert not never_settled(FLUSH.replace("SET", "flush button at PRESSED comes on"))


def test_several_never_settle() -> None:
    (found,) = never_settled(CELLS)
    assert found.message == (
        "`left charge` and `right charge` never settle after lamp switch at ON (normal): "
        "they change to and fro for ever"
    )


TANK = """
readings:
  tank pressure:
    unit: psi
    range: 0 to 50
    starts at: 35
    moves: [{to: 35, rate: 1, when: tank pressure HOLDS 35 psi}, {to: 0, rate: 1}]
"""


def test_two_rows_that_give_way_to_one_another_at_the_start() -> None:
    found = [d for d in tb.check(book_of(TANK.replace("HOLDS", "below"))) if d.kind == "error"]
    assert [d.code for d in found] == ["starting-state"]
    assert "let it hold there (`at most 35`)" in found[0].mend
    assert all(d.kind != "error" for d in tb.check(book_of(TANK.replace("HOLDS", "at most"))))
