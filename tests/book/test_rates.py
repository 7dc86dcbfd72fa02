"""Rates are written as the manual gives them: a second, a minute, an hour."""

from __future__ import annotations

import pytest

from tellback.book.model import Reading
from tellback.book.rates import rate_text
from tests.small_books import book_of, read_text

BOTTLE = """
readings:
  bottle:
    unit: UNIT
    range: 0 to 2000
    starts at: 1800
    moves: [{to: 0, rate: RATE, when: mask at WORN}]
controls: {mask: {positions: [STOWED, WORN]}}
means: {low: {when: bottle below 600 UNIT}}
"""


def of(rate: str, unit: str = "psi") -> str:
    return BOTTLE.replace("RATE", rate).replace("UNIT", unit)


@pytest.mark.parametrize(
    ("rate", "a_second"),
    [
        ("0.4", 0.4),
        ("24 psi a minute", 0.4),
        ("24 psi per minute", 0.4),
        ("24 psi/min", 0.4),
        ("24psi / min", 0.4),
        ("24 a minute", 0.4),
        ("3 psi a second", 3),
        ("1,440 psi an hour", 0.4),
        ("1 bar/h", 14.503773773 / 3600),
    ],
)
def test_a_rate_is_read_per_second(rate: str, a_second: float) -> None:
    reading = book_of(of(f'"{rate}"')).thing("bottle")
    assert isinstance(reading, Reading)
    assert reading.moves[0].rate == pytest.approx(a_second, rel=1e-9)


def test_degrees_of_another_scale_count_as_steps_and_not_from_zero() -> None:
    """18 F a minute are 10 C a minute; as a temperature 18 F would be -7.8 C."""
    reading = book_of(of("18 F a minute", "C")).thing("bottle")
    assert isinstance(reading, Reading)
    assert reading.moves[0].rate == pytest.approx(10 / 60)


@pytest.mark.parametrize(
    ("rate", "message", "mend"),
    [
        (
            "24 psi",
            "`24 psi` does not say in which time",
            "Write `24 psi a second` or `24 psi a minute`.",
        ),
        ("24 kg/min", "kg measures mass, psi measures pressure", "Give the number in psi."),
        (
            "-24 psi/min",
            "a rate must be more than zero",
            "Write it without a sign: `to` gives the direction.",
        ),
        ("fast", "`fast` is not a number", "Write digits."),
    ],
)
def test_what_is_no_rate(rate: str, message: str, mend: str) -> None:
    _, found = read_text(of(rate))
    assert [(d.message, d.mend) for d in found if d.kind == "error"] == [(message, mend)]


@pytest.mark.parametrize(
    ("rate", "unit", "told"),
    [
        (2.0, "kt", "2 kt a second"),
        (4 / 60, "psi", "4 psi a minute"),
        (30 / 3600, "kg", "0.5 kg a minute"),
        (7 / 3600, "kg", "7 kg an hour"),
        (0.067, "psi", "0.067 psi a second"),
        (2.0, "none", "2 a second"),
    ],
)
def test_a_rate_is_told_in_the_time_in_which_it_is_round(rate: float, unit: str, told: str) -> None:
    assert rate_text(rate, unit) == told
