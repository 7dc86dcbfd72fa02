"""Units: published factors, and conversion there and back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tellback.units import MEASURES, UnitError, convert, quantity, unit_named

# NIST Special Publication 811 (2008), appendix B.8 and B.9, rounded there to seven digits.
PUBLISHED = {
    ("psi", "kPa"): 6.894757,
    ("bar", "kPa"): 100,
    ("lbf", "N"): 4.448222,
    ("lb ft", "N m"): 1.355818,
    ("lb in", "N m"): 0.1129848,
    ("US gal", "L"): 3.785412,
    ("US qt", "L"): 0.9463529,
    ("kt", "m/s"): 0.5144444,
    ("nmi", "m"): 1852,
    ("ft/min", "m/s"): 0.00508,
    ("lb", "kg"): 0.4535924,
    ("lb/h", "kg/s"): 1.259979e-4,
    ("g", "m/s2"): 9.80665,
}


@pytest.mark.parametrize(("units", "factor"), PUBLISHED.items())
def test_published_factor(units: tuple[str, str], factor: float) -> None:
    assert convert(1, *units) == pytest.approx(factor, rel=5e-7)


def test_temperatures() -> None:
    assert convert(-40, "C", "F") == -40
    assert convert(100, "C", "F") == 212
    assert convert(0, "C", "K") == 273.15


def test_no_rounding_before_the_end() -> None:
    assert convert(Fraction(1, 3), "nmi", "m") == float(Fraction(1852, 3))
    assert convert("0.1", "kt", "kt") == 0.1


@given(st.sampled_from(sorted(MEASURES)), st.integers(-10_000, 10_000))
def test_there_and_back(unit: str, number: int) -> None:
    for other, measure in MEASURES.items():
        if measure.quantity == quantity(unit):
            assert convert(convert(number, unit, other), other, unit) == pytest.approx(number)


def test_what_measures_something_else_is_refused() -> None:
    with pytest.raises(UnitError, match="ft measures length, kt measures speed"):
        convert(1, "ft", "kt")
    with pytest.raises(UnitError, match="furlong"):
        quantity("furlong")


def test_case_counts_only_where_it_must() -> None:
    assert unit_named("KT") == "kt"
    assert unit_named("lb  FT") == "lb ft"
    assert unit_named("mV") == "mV"
    assert unit_named("°C") == "C"
    assert unit_named("furlong") is None
