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
