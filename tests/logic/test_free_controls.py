"""Losses whatever the crew selects: sets of which only some rare setting, or none, makes up."""

from __future__ import annotations

from pathlib import Path

import pytest

import tellback as tb
from tellback.book.reader import read
from tellback.logic import failures, free_controls
from tests.small_books import DEFAULT, book_of


@pytest.fixture(autouse=True)
def set_by_set(monkeypatch: pytest.MonkeyPatch) -> None:
    """Small books too are asked as the large ones are."""
    monkeypatch.setattr(failures, "MOST_CHOSEN", 0)


FOUR_SWITCHES = """
controls:
  switch 1: {positions: [OFF, ON]}
  switch 2: {positions: [OFF, ON]}
  switch 3: {positions: [OFF, ON]}
  switch 4: {positions: [OFF, ON]}
units:
  main pump: {fails: [stops]}
  standby pump:
    runs when: switch 1 at ON and switch 2 at ON and switch 3 at ON and switch 4 at ON
    fails: [stops]
supplies:
  line: {fed by: [main pump, standby pump], fails: [lost]}
"""


def test_a_setting_far_from_the_one_that_stands_makes_up_for_a_failure() -> None:
    answer = tb.losses(book_of(FOUR_SWITCHES), "line live", free=True)
    assert [[str(f) for f in chosen] for chosen in answer.sets] == [
        ["line itself fails"],
        ["main pump stops", "standby pump stops"],
    ]
    assert answer.order == 2


def test_what_is_not_found_out_in_time_is_left_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(free_controls, "SECONDS", 0)
    answer = tb.losses(book_of(FOUR_SWITCHES), "line live", free=True)
    assert [[str(f) for f in chosen] for chosen in answer.sets] == [["line itself fails"]]
    assert [[str(f) for f in chosen] for chosen in answer.undecided] == [["main pump stops"]]
    assert str(answer).splitlines()[3:] == [
        "  Sought with at most 2 failures; larger sets may exist.",
        "  Not decided for 1 set, nor for what contains it: whether some setting makes",
        "  up for that was not found out in the time allowed.",
    ]


def test_two_settings_that_exclude_one_another_do_not_make_up_for_it_together() -> None:
    """Each of the two relays may close, so that without how they hang together it looks saved."""
    book = book_of("""
controls: {selector: {positions: [OFF, LEFT, RIGHT]}}
units:
  main pump: {fails: [stops]}
  left relay: {kind: relay, runs when: selector at LEFT, fails: [stuck open]}
  right relay: {kind: relay, runs when: selector at RIGHT, fails: [stuck open]}
  standby pump: {needs: [left relay closed, right relay closed]}
supplies:
  line: {fed by: [main pump, standby pump]}
""")
    answer = tb.losses(book, "line live", free=True)
    assert [[str(f) for f in chosen] for chosen in answer.sets] == [["main pump stops"]]
    assert answer.undecided == ()


NEVER = "controls: {switch: {positions: [OFF, ON]}}\nsituations: {cold: {}}\nunits:\n"


def test_what_no_setting_brings_about_needs_no_failure() -> None:
    book = book_of(NEVER + "  pump: {runs when: switch at ON and cold, fails: [stops]}")
    answer = tb.losses(book, "pump running", free=True)
    assert answer.counts == ((0, 1),)
    assert str(answer) == (
        "pump running (normal): not so, whatever the crew selects; nothing need fail."
    )


def test_a_setting_after_which_nothing_comes_to_rest_leaves_it_open() -> None:
    book = book_of("""
controls: {switch: {positions: [OFF, ON]}}
latches: {flasher: {set when: calling for 1 s, cleared when: not calling}}
means: {calling: {when: switch at ON and flasher clear}}
units:
  pump: {fails: [stops]}
  spare pump: {runs when: flasher set}
supplies: {line: {fed by: [pump, spare pump]}}
""")
    answer = tb.losses(book, "line live", free=True)
    assert (answer.counts, answer.undecided, answer.restless) == ((), (), 1)
    assert str(answer).splitlines() == [
        "line live (normal): no set of at most 2 failures was found to take it away.",
        "  Left out, as the aeroplane does not come to rest after them: 1.",
    ]


def test_of_a_whole_aeroplane_the_sets_of_a_few_are_told() -> None:
    """It was refused, whatever the order."""
    book = read(Path(__file__).parents[2] / "books" / "s94")[0]
    assert book is not None
    answer = tb.losses(book, "left TR unit running", start="cruise", free=True)
    assert (answer.counts, answer.order, answer.undecided) == (((1, 2), (2, 21)), 2, ())
    assert str(answer).endswith("Sought with at most 2 failures; larger sets may exist.")


@pytest.mark.parametrize("chosen", [0, 30])
def test_a_set_after_which_no_setting_is_possible_takes_nothing_away(
    monkeypatch: pytest.MonkeyPatch, chosen: int
) -> None:
    """Whatever is selected, the level runs into what the book states impossible."""
    monkeypatch.setattr(failures, "MOST_CHOSEN", chosen)
    book = book_of(
        """
controls: {switch: {positions: [P0, P1], normally: P1, drops to P0 when: sensed below 60 psi}}
readings:
  sensed: {unit: psi, range: 0 to 100, follows: [{reads: 100}], fails: [reads 0]}
  level:
    {unit: psi, range: 0 to 100, starts at: 20, moves: [{to: 80, rate: 10, when: switch at P0}]}
units: {pump: {runs when: never}}
supplies: {line: {fed by: [pump]}}
""",
        DEFAULT + "impossible:\n  - level at 50 psi\n",
    )
    answer = tb.losses(book, "not line live", free=True)
    assert answer.counts == ()
