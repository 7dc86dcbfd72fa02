"""A circle means the same whether it is told with a delay, with a reading, or without."""

from __future__ import annotations

import pytest

import tellback as tb
from tests.small_books import book_of

GENERATOR = """
controls: {switch: {positions: [A, B]}}
units:
  generator: {shed when: SHED}
supplies: {bus: {fed by: [generator]}}
"""

READING = """
readings:
  pressure:
    {unit: psi, range: 0 to 100, follows: [{reads: 50, when: not pump running}, {reads: 0}]}
units:
  pump: {kind: pump, runs when: WHEN}
"""


@pytest.mark.parametrize("delay", ["", " for 2 s"])
def test_nothing_comes_up_out_of_itself(delay: str) -> None:
    book = book_of(GENERATOR.replace("SHED", f"(switch at A or bus lost){delay}"))
    assert tb.can(book, "bus live").verdict == "impossible"
    assert not tb.effects(book, "switch: B").effects
    assert not tb.why(book, "bus live", changes=["switch: B"]).so


@pytest.mark.parametrize("when", ["pressure below 20 psi", "not pressure above 20 psi"])
def test_a_reading_in_a_circle_is_read_alike_however_it_is_asked(when: str) -> None:
    book = book_of(READING.replace("WHEN", when))
    assert not [found for found in tb.check(book) if found.kind == "error"]
    assert not tb.why(book, "pump running").so


@pytest.mark.parametrize("when", ["not pressure at most 40 psi", "pressure above 40 psi"])
def test_what_is_said_of_a_reading_in_two_ways_is_the_same(when: str) -> None:
    book = book_of(f"""
readings:
  pressure: {{unit: psi, range: 0 to 100, follows: [{{reads: 70, when: {when}}}]}}
indications: {{HIGH: {{kind: light, shown when: pressure above 50 psi}}}}
""")
    assert not tb.why(book, "HIGH shown").so


def test_what_never_rests_elsewhere_hides_no_reason_and_no_proof() -> None:
    book = book_of("""
controls: {switch: {positions: [A, B]}}
latches: {memory: {set when: LATE shown, cleared when: memory set}}
indications:
  LATE: {kind: light, shown when: LIGHT shown for 1 s}
  LIGHT: {kind: light, shown when: switch at B}
""")
    assert "switch at B" in str(tb.why(book, "LIGHT shown"))
    assert tb.can(book, "memory set").verdict == "impossible"


def test_what_nothing_can_join_is_not_joined_for_a_reason() -> None:
    book = book_of("""
supplies:
  bus 1: {kind: bus, fed by: [bus 2]}
  bus 2: {kind: bus, fed by: [bus 1]}
""")
    assert not tb.why(book, "bus 1 paralleled").so
