"""The aeroplane live: what is done by hand, what comes of it, and back again."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import tellback as tb
from tellback.book.model import Book
from tellback.logic.impossible import EntersImpossible
from tellback.logic.run import Unsettled
from tellback.logic.settings import BadSetting
from tellback.motion.live import ADVANCE, FAIL, MEND, MOVE, SET, SETTLE, Action, Live, NothingToUndo
from tests.small_books import DEFAULT, book_of
from tests.strategies import BookText, books
from tests.twins import twins_of

quickly = settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))

TANK = """
controls:
  pump switch:
    positions: [OFF, ON]
    cannot go to ON when: tank quantity below 10 kg
  test button: {positions: [OUT, IN], springs: {IN: OUT}}
situations: {on ground: {normally: yes}}
readings:
  airspeed: {unit: kt, range: 0 to 300, normally: 0}
  tank quantity:
    unit: kg
    range: 0 to 100
    starts at: 100
    moves:
      - {to: 0, rate: 2, when: pump running}
units:
  pump: {runs when: pump switch at ON, fails: [stops]}
latches:
  low memory: {set when: tank quantity below 50 kg for 5 s, cleared when: test button at IN}
indications:
  LOW: {shown when: low memory set}
  FAST: {shown when: airspeed above 100 kt}
"""

IMPOSSIBLE = "impossible:\n  - on ground and airspeed above 200 kt\n"


def live() -> Live:
    return tb.Live(book_of(TANK))


def test_a_control_moves_time_passes_and_a_light_comes_on() -> None:
    aeroplane = live()
    assert "pump running" in str(aeroplane.move("pump switch", "ON"))
    assert aeroplane.advance(10).seconds == 10
    assert aeroplane.standing.numbers["tank quantity"] == 80
    assert aeroplane.standing.things["LOW"] == "not shown"
    assert aeroplane.standing.under_way["tank quantity"] == 15  # to the 50 kg that a latch looks at
    done = aeroplane.settle()
    assert [line.seconds for line in done.lines if "LOW" in str(line.changes)] == [30.0]
    assert (aeroplane.standing.seconds, aeroplane.standing.numbers["tank quantity"]) == (50, 0)
    assert aeroplane.standing.settled
    assert aeroplane.standing.things["LOW"] == "shown"


def test_a_lock_forbids_and_nothing_moves() -> None:
    aeroplane = live()
    aeroplane.move("pump switch", "ON")
    aeroplane.settle()
    aeroplane.move("pump switch", "OFF")
    (line,) = aeroplane.move("pump switch", "ON").lines
    assert line.outcome == "a lock forbids it"
    assert aeroplane.standing.things["pump switch"] == "OFF"


def test_what_springs_is_pressed_and_goes_back() -> None:
    aeroplane = live()
    aeroplane.move("pump switch", "ON")
    aeroplane.settle()
    aeroplane.move("test button", "IN")
    assert aeroplane.standing.things["LOW"] == "not shown"
    aeroplane.advance(0)
    assert aeroplane.standing.things["test button"] == "OUT"


def test_a_reading_is_set_at_once_or_in_time() -> None:
    aeroplane = live()
    aeroplane.set("airspeed", "140 kt", seconds=14)
    aeroplane.advance(7)
    assert aeroplane.standing.numbers["airspeed"] == 70
    assert "FAST shown" in str(aeroplane.settle())
    aeroplane.set("airspeed", "50 kt")
    assert aeroplane.standing.things["FAST"] == "not shown"


def test_why_goes_back_to_what_was_done() -> None:
    aeroplane = live()
    aeroplane.move("pump switch", "ON")
    aeroplane.advance(60)
    aeroplane.fail("pump", "stops")
    assert aeroplane.standing.failed == ("pump stops",)
    reason = aeroplane.why("LOW shown")
    assert reason.so
    assert "pump switch at ON" in str(reason)
    assert "stops" in str(aeroplane.why("pump not running"))
    # It compares with a number that nothing else looks at.
    assert aeroplane.why("tank quantity below 33 kg").so
    aeroplane.mend("pump")
    assert not aeroplane.standing.failed


def test_back_and_forward_again() -> None:
    aeroplane = live()
    with pytest.raises(NothingToUndo):
        aeroplane.undo()
    aeroplane.move("pump switch", "ON")
    aeroplane.advance(30)
    there = aeroplane.standing
    assert aeroplane.undo().action == Action(ADVANCE, seconds=30)
    aeroplane.undo()
    assert aeroplane.standing.things["pump"] == "not running"
    aeroplane.redo()
    aeroplane.redo()
    assert aeroplane.standing == there
    with pytest.raises(NothingToUndo):
        aeroplane.redo()
    aeroplane.undo()
    aeroplane.advance(1)
    with pytest.raises(NothingToUndo):
        aeroplane.redo()


def test_what_cannot_be_set_so_is_refused_and_changes_nothing() -> None:
    aeroplane = live()
    for action in (
        Action(MOVE, "pump", "ON"), Action(SET, "pump switch", "ON"), Action(FAIL, "pump", "leaks"),
        Action(SET, "tank quantity", "5 kg"), Action(MOVE, "no such", "ON"), Action(MEND, "LOW"),
    ):  # fmt: skip
        with pytest.raises(BadSetting):
            aeroplane.do(action)
    assert not aeroplane.done


def test_nothing_goes_on_from_what_is_stated_impossible() -> None:
    aeroplane = tb.Live(book_of(TANK, DEFAULT + IMPOSSIBLE))
    assert "impossible" in aeroplane.set("airspeed", "250 kt").unrest
    with pytest.raises(EntersImpossible):
        aeroplane.advance(1)
    aeroplane.undo()
    aeroplane.set("on ground", "no")
    assert not aeroplane.set("airspeed", "250 kt").unrest


def test_what_goes_on_without_end_is_told() -> None:
    aeroplane = tb.Live(
        book_of("""
controls: {switch: {positions: [OFF, ON]}}
latches: {flasher: {set when: calling for 1 s, cleared when: not calling}}
means: {calling: {when: switch at ON and flasher clear}}
""")
    )
    aeroplane.move("switch", "ON")
    assert "without end" in aeroplane.settle().unrest
    assert not aeroplane.advance(10).unrest


@quickly
@given(books(memories=True, circles="positive", most_states=300), st.randoms(use_true_random=False))
def test_the_same_actions_lead_to_the_same(text: BookText, chance: object) -> None:
    book = twins_of(text).book
    aeroplane = tb.Live(book)
    moves = list(possible_actions(book))
    for _ in range(8):
        try:
            aeroplane.do(chance.choice(moves))  # type: ignore[attr-defined]
        except (BadSetting, EntersImpossible, Unsettled):
            continue
    again = tb.Live(book, actions=aeroplane.actions)
    assert again.standing == aeroplane.standing
    assert again.done == aeroplane.done


def possible_actions(book: Book) -> list[Action]:
    """Some of all that can be done."""
    found = [Action(ADVANCE, seconds=3), Action(SETTLE)]
    for thing in book.things:
        found += [Action(MOVE, thing.name, p) for p in getattr(thing, "positions", ())]
        found += [Action(FAIL, thing.name, mode) for mode in thing.fails]
        found += [Action(MEND, thing.name)] if thing.fails else []
    return found
