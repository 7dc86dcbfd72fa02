"""From where a question is asked, and how it is said."""

from __future__ import annotations

import pytest

import tellback as tb
from tellback.logic.settings import BadSetting
from tests.small_books import book_of

BOTTLE = """
controls:
  mask: {positions: [STOWED, WORN]}
  valve switch: {positions: [OFF, ON], normally: ON}
situations: {on ground: {normally: no}}
readings:
  altitude: {unit: ft, range: 0 to 40000, normally: 7000}
  pressure:
    unit: psi
    range: 0 to 2000
    starts at: 1800
    moves: [{to: 0, rate: 0.1, when: mask at WORN}]
units:
  pump: {kind: pump, fails: [stops], runs when: valve switch at ON}
supplies:
  line: {kind: duct, fed by: [{from: bottle, when: valve switch at ON}]}
indications:
  LOW: {kind: light, level: caution, shown when: line lost for 3 s}
  HIGH: {kind: light, level: warning, shown when: altitude above 10000 ft and not on ground}
""".replace("units:\n", "units:\n  bottle: {kind: bottle, needs: [pressure above 0 psi]}\n")


def test_a_state_that_took_long_to_settle_says_so() -> None:
    """The bottle is empty by then: without a word of it every answer from here would mislead."""
    answer = tb.effects(book_of(BOTTLE), "valve switch: OFF", changes=["mask: WORN"])
    assert answer.start == "normal, with mask: WORN, settled after 5 h 3 s"
    assert answer.start in str(answer)


def test_a_state_that_settles_soon_is_said_as_it_is_asked_for() -> None:
    answer = tb.signs(book_of(BOTTLE), ["pump: stops"], changes=["valve switch: OFF"])
    assert answer.start == "normal, with valve switch: OFF"


@pytest.mark.parametrize(
    ("move", "told"),
    [
        ("altitude: 20000 ft", "altitude above 10,000 ft"),
        ("pressure: 0 psi", "pressure at most 0 psi"),
        ("on ground: yes", "on ground"),
        ("mask: WORN", "mask at WORN"),
    ],
)
def test_what_is_moved_is_told_in_the_words_of_the_book(move: str, told: str) -> None:
    """A reading was told by the number of its interval: `altitude 1`."""
    assert tb.effects(book_of(BOTTLE), move).moved == told


def test_a_failure_is_no_move() -> None:
    with pytest.raises(BadSetting, match="a failure") as refused:
        tb.effects(book_of(BOTTLE), "pump: stops")
    assert "signs" in refused.value.mend


LIST = """
title: Oxygen
procedures:
  on oxygen:
    kind: flow
    done from: normal
    secures: line live and mask at WORN
    steps:
      - do: mask at WORN
      - wait: 5 s
      - check: line live
"""


def test_what_a_list_secures_only_for_a_while_is_told_with_the_time() -> None:
    """Not secured, without a word, would say that the masks give nothing."""
    answer = tb.steps(book_of(BOTTLE, procedures=LIST), "on oxygen")
    (secured,) = answer.secured
    assert (secured.after, secured.passed) == (False, 18000)
    assert (
        "  Not secured: line live and mask at WORN. "
        "It was so on the way there, but no longer after 5 h." in str(answer).splitlines()
    )


@pytest.mark.parametrize("number", ["1e400 ft", "nan ft", "fast", "5 kg", "0x10 ft"])
def test_what_is_no_value_of_a_reading_says_which_there_are(number: str) -> None:
    """A number beyond all measure was a traceback."""
    with pytest.raises(BadSetting, match="is no value of altitude") as refused:
        tb.effects(book_of(BOTTLE), f"altitude: {number}")
    assert refused.value.mend == "Write a number from 0 ft to 40,000 ft."


@pytest.mark.parametrize("name", ["xyz: ON", "pump: breaks", "line: lost", "mask STOWED"])
def test_whatever_is_not_a_change_says_what_to_write(name: str) -> None:
    with pytest.raises(BadSetting) as refused:
        tb.effects(book_of(BOTTLE), name)
    assert refused.value.mend


def test_an_unknown_aeroplane_says_what_to_write() -> None:
    with pytest.raises(ValueError, match="there is no aeroplane `T9`") as refused:
        tb.ways(book_of(BOTTLE), "line live", aeroplane="T9")
    assert "serial number" in str(refused.value)


@pytest.mark.parametrize(
    "claim",
    [
        "if  mask at WORN\tthen mask not at STOWED",
        "if mask at WORN\nthen mask not at STOWED",
        "mask at WORN only\tif mask not at STOWED",
        "IF mask at WORN THEN mask not at STOWED",
    ],
)
def test_a_claim_is_read_whatever_stands_between_its_words(claim: str) -> None:
    """A tab or a new line before `then` was a traceback."""
    assert tb.claim(book_of(BOTTLE), claim).verdict == "proved"
