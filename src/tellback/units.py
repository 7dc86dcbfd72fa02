"""Units of measurement with exact factors.

Sources: the definitions of the SI Brochure (9th edition, 2019), tables 2, 4, 5 and 8, and NIST
Special Publication 811 (2008), appendix B, which marks exact factors in bold: 1 in = 25.4 mm,
1 nmi = 1852 m, 1 lb = 0.453 592 37 kg, standard gravity 9.806 65 m/s2, 1 US gal = 231 in3.
Kept as fractions, so converting there and back returns the same number.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction as F


@dataclass(frozen=True, slots=True)
class Measure:
    """A unit: its quantity, and value in the base unit = number * factor + offset."""

    name: str
    quantity: str
    factor: F
    offset: F = F(0)


class UnitError(ValueError):
    """A unit that is not known, or two that do not measure the same quantity."""


_INCH = F("0.0254")
_FOOT = F("0.3048")
_POUND = F("0.45359237")
_GRAVITY = F("9.80665")
_POUND_FORCE = _POUND * _GRAVITY
_LITRE = F("0.001")
_US_GALLON = 231 * _INCH**3
_PSI = _POUND_FORCE / _INCH**2

_TABLE: dict[str, dict[str, F]] = {
    "pressure": {
        "Pa": F(1),
        "hPa": F(100),
        "kPa": F(1000),
        "MPa": F(1_000_000),
        "mbar": F(100),
        "bar": F(100_000),
        "psi": _PSI,
    },
    "length": {
        "m": F(1),
        "mm": F("0.001"),
        "cm": F("0.01"),
        "km": F(1000),
        "in": _INCH,
        "ft": _FOOT,
        "nmi": F(1852),
    },
    "speed": {
        "m/s": F(1),
        "km/h": F(1000, 3600),
        "kt": F(1852, 3600),
        "ft/min": _FOOT / 60,
        "ft/s": _FOOT,
    },
    "mass": {"kg": F(1), "g (mass)": F("0.001"), "t": F(1000), "lb": _POUND},
    "mass flow": {
        "kg/s": F(1),
        "kg/min": F(1, 60),
        "kg/h": F(1, 3600),
        "lb/min": _POUND / 60,
        "lb/h": _POUND / 3600,
    },
    "force": {"N": F(1), "daN": F(10), "kN": F(1000), "lbf": _POUND_FORCE},
    "torque": {
        "N m": F(1),
        "lb ft": _POUND_FORCE * _FOOT,
        "lb in": _POUND_FORCE * _INCH,
    },
    "volume": {
        "L": _LITRE,
        "mL": _LITRE / 1000,
        "m3": F(1),
        "US gal": _US_GALLON,
        "US qt": _US_GALLON / 4,
    },
    "time": {"s": F(1), "ms": F("0.001"), "min": F(60), "h": F(3600)},
    "frequency": {"Hz": F(1), "kHz": F(1000)},
    "speed of turning": {"rpm": F(1)},
    "rate of turning": {"deg/s": F(1)},
    "angle": {"deg": F(1)},
    "acceleration": {"m/s2": F(1), "g": _GRAVITY},
    "current": {"A": F(1), "mA": F("0.001")},
    "voltage": {"V": F(1), "mV": F("0.001"), "kV": F(1000)},
    "power": {"W": F(1), "kW": F(1000)},
    "apparent power": {"VA": F(1), "kVA": F(1000)},
    "energy": {"J": F(1), "kJ": F(1000), "MJ": F(1_000_000)},
    "charge": {"Ah": F(1)},
    "share": {"%": F(1)},
    "Mach number": {"Mach": F(1)},
    "plain number": {"none": F(1)},
}

_TEMPERATURES = (
    Measure("K", "temperature", F(1)),
    Measure("C", "temperature", F(1), F("273.15")),
    Measure("F", "temperature", F(5, 9), F("459.67") * F(5, 9)),
)

MEASURES: dict[str, Measure] = {
    name: Measure(name, quantity, factor)
    for quantity, units in _TABLE.items()
    for name, factor in units.items()
} | {measure.name: measure for measure in _TEMPERATURES}

_SPELLINGS = {
    "°": "deg",
    "°C": "C",
    "deg C": "C",
    "°F": "F",
    "deg F": "F",
    "degrees": "deg",
    "feet": "ft",
    "knots": "kt",
    "kts": "kt",
    "sec": "s",
    "seconds": "s",
    "second": "s",
    "minutes": "min",
    "minute": "min",
    "hours": "h",
    "lbs": "lb",
    "percent": "%",
    "litres": "L",
    "amps": "A",
    "volts": "V",
    "fpm": "ft/min",
    "pph": "lb/h",
}

_BY_FOLDED = {name.casefold(): name for name in MEASURES} | {
    spelling.casefold(): name for spelling, name in _SPELLINGS.items()
}


def unit_named(text: str) -> str | None:
    """The unit as this module spells it, or None; exact case counts before any other."""
    cleaned = " ".join(text.split())
    if cleaned in MEASURES:
        return cleaned
    if cleaned in _SPELLINGS:
        return _SPELLINGS[cleaned]
    return _BY_FOLDED.get(cleaned.casefold())


def quantity(unit: str) -> str:
    """What a unit measures, as "pressure"; UnitError if the unit is not known."""
    return _measure(unit).quantity


def convert(number: F | float | str, unit: str, to: str) -> float:
    """A number of one unit in another of the same quantity, exact before the last rounding.

    UnitError if a unit is not known or they measure different quantities.
    """
    old, new = _measure(unit), _measure(to)
    if old.quantity != new.quantity:
        raise UnitError(f"{unit} measures {old.quantity}, {to} measures {new.quantity}")
    if old == new:
        return float(F(number))
    return float((F(number) * old.factor + old.offset - new.offset) / new.factor)


def _measure(unit: str) -> Measure:
    name = unit_named(unit)
    if name is None:
        raise UnitError(f"{unit} is not a unit known here")
    return MEASURES[name]
