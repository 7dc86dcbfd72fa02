"""Runs that come to what the book states impossible: every answer says so, and goes no further."""

from __future__ import annotations

from pathlib import Path

import pytest

import tellback as tb
from tellback.logic.impossible import EntersImpossible
from tests.small_books import DEFAULT, book_of, write_book

GEAR = """
controls:
  lever: {positions: [DOWN, UP]}
  relay switch: {positions: [OFF, ON]}
situations:
  on ground: {normally: yes}
units:
  valve: {kind: valve, runs when: lever at UP, fails: [stuck open]}
  pump: {kind: pump, runs when: gear at DOWN, fails: [stops]}
surfaces:
  gear:
    points: [UP, DOWN]
    starts at: DOWN
    drives:
      up: {to: UP, when: valve open, takes: 10 s}
      down: {to: DOWN, takes: 10 s}
indications:
  VALVE LIGHT: {level: caution, shown when: valve open}
  TRANSIT: {level: status, shown when: gear moving}
  UP LIGHT: {level: status, shown when: gear at UP}
impossible:
  - {when: on ground and gear not at DOWN, source: M 1}
"""
ENTERED = "the book states “on ground and gear not at DOWN” impossible"
AIRBORNE = """\
starting states:
  normal: {}
  in flight: {on ground: no}
"""
TYPE = DEFAULT[: DEFAULT.index("starting states")] + AIRBORNE


def test_effects_and_signs_end_there() -> None:
    book = book_of(GEAR)
    for told in (
        str(tb.effects(book, "lever: UP")),
        str(tb.signs(book, ["valve: stuck open"])),
    ):
        assert "at once: " in told
        assert f"  after 5 s: {ENTERED}, and so nothing is told from here on  [M 1]." in told
        assert "UP LIGHT" not in told
        assert "pump" not in told
    assert tb.can(book, "gear at UP and on ground").verdict == "impossible"
    assert tb.can(book, "gear at UP").verdict == "possible"


def test_what_is_stated_impossible_at_once_is_told_of_a_move() -> None:
    book = book_of(GEAR, TYPE)
    up = ["lever: UP"]
    told = tb.effects(book, "on ground: yes", start="in flight", changes=up)
    assert told.effects == ()
    assert told.impossible is not None
    assert told.impossible.seconds == 0
    assert "nothing changes here" not in str(told)
    assert tb.effects(book, "lever: UP", start="in flight").impossible is None


def test_no_question_is_asked_of_a_state_beyond() -> None:
    book = book_of(GEAR)
    with pytest.raises(EntersImpossible, match=ENTERED) as refusal:
        tb.why(book, "UP LIGHT shown", changes=["lever: UP"])
    assert "normal, with lever: UP, comes to what can never be: after 5 s: " in str(refusal.value)


def test_what_leads_there_ends_nothing_and_explains_nothing() -> None:
    book = book_of(GEAR)
    assert tb.losses(book, "pump running").counts == ((1, 1),)
    assert tb.losses(book, "pump running", order=1).counts == ((1, 1),)
    assert [str(stop) for stop in tb.stops(book, "pump running").stops] == ["pump stops"]
    in_flight = book_of(GEAR, TYPE)
    from_flight = tb.losses(in_flight, "pump running", start="in flight", order=1)
    assert from_flight.counts == ((1, 2),)


def test_steps_end_there_and_a_list_that_leads_there_is_found(tmp_path: Path) -> None:
    lists = """
title: Lists
procedures:
  raise it:
    kind: non-normal checklist
    called for when: relay switch at ON
    steps:
      - do: lever at UP
      - do: relay switch at OFF
  hold it:
    kind: flow
    done from: normal
    steps:
      - do: lever at UP
      - wait: 2 s
      - do: lever at DOWN
      - do: relay switch at ON
"""
    book = tb.read(write_book(tmp_path, GEAR, procedures=lists))
    with pytest.raises(EntersImpossible, match=f"step 1 comes to .* after 5 s: {ENTERED}"):
        tb.steps(book, "raise it", start="normal")
    found = [one for one in tb.check(book) if one.code == "procedure-impossible"]
    assert [one.message.startswith("`raise it`, from normal, after ") for one in found] == [True]
    left_out = {v.numbers: v.impossible for v in tb.steps(book, "hold it").left_out}
    assert ENTERED in left_out["3",]
    assert left_out["1",] == left_out["4",] == ""
    tried = tb.steps(book, "hold it").tried
    assert tried is None


def test_what_is_stated_impossible_and_comes_about_by_itself_is_found() -> None:
    found = [one for one in tb.check(book_of(GEAR)) if one.code == "impossible-comes-about"]
    assert [one.message for one in found] == [
        "`on ground and gear not at DOWN` is stated impossible, but comes about by itself: "
        "normal: lever at UP; then 5 s pass"
    ]
    locked = GEAR.replace("when: valve open, takes", "when: valve open and not on ground, takes")
    assert "impossible-comes-about" not in [one.code for one in tb.check(book_of(locked))]


@pytest.mark.parametrize(
    ("reading", "impossible"),
    [
        ("tank: {unit: L, range: 0 to 9, starts at: 5, moves: [{to: 9, rate: 1, when: lamp}]}",
         "tank above 8 L"),
        ("tank: {unit: L, range: 0 to 9, normally: 5}", "lamp for 9 s"),
    ],
)  # fmt: skip
def test_a_moving_reading_and_a_delay_may_bring_it_about_too(reading: str, impossible: str) -> None:
    book = book_of(f"""
controls:
  switch: {{positions: [OFF, ON]}}
means:
  lamp: {{when: switch at ON}}
readings:
  {reading}
impossible:
  - {impossible}
""")
    found = [one for one in tb.check(book) if one.code == "impossible-comes-about"]
    assert [one.message.partition(": normal: ")[2] for one in found] in (
        ["switch at ON; then 3 s pass"],
        ["switch at ON; then 9 s pass"],
    )
