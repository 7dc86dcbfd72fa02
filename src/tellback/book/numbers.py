"""Numbers with units, times and counts within a condition or a value."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from tellback.book.cursor import Cursor
from tellback.book.names import Declared
from tellback.units import MEASURES, UnitError, convert, quantity, unit_named

_NUMBER = re.compile(r"([+\-\u2212]?)(\d{1,3}(?:,\d{3})+|\d+)(\.\d+)?(.*)", re.ASCII)
_MOST_DIGITS = 40

UNKNOWN = ""
"""Stands for the unit of a reading that has none, or one not known: that is told there alone."""


def number_text(value: float) -> str:
    """A number as a pilot writes it: no exponent, no `.0`; reads back to the same number."""
    if value == int(value) and abs(value) < 1e15:
        return str(int(value))
    text = repr(value)
    return format(Decimal(text), "f") if "e" in text else text


def number_told(value: float) -> str:
    """A number to be read only: from 10,000 on with thousands apart."""
    whole = value == int(value) and abs(value) >= 10_000
    return f"{int(value):,}" if whole else number_text(value)


def split_number(word: str) -> tuple[Fraction, str] | None:
    """The number at the start of a word and what follows it (`3000psi`), or None."""
    match = _NUMBER.fullmatch(word) if len(word) <= _MOST_DIGITS else None
    if match is None:
        return None
    sign = "-" if match[1] in {"-", "\u2212"} else ""
    return Fraction(sign + match[2].replace(",", "") + (match[3] or "")), match[4]


def too_long(word: str) -> bool:
    """Whether it is no number only because it has too many digits."""
    return len(word) > _MOST_DIGITS and bool(_NUMBER.fullmatch(word))


TOO_LONG = "the number is too long"
SHORTER = f"Write it with {_MOST_DIGITS} characters at most."


def duration(cursor: Cursor) -> float:
    """Passes a time such as `3 s` and gives it in seconds."""
    start = cursor.at
    number, unit = _number_and_unit(cursor, "a time such as `3 s`")
    shown = cursor.written(start, cursor.at)
    if not unit:
        raise cursor.wrong(
            "unit", "the time has no unit", f"Write `{shown} s` or `{shown} min`.", start
        )
    if unit not in MEASURES or quantity(unit) != "time":
        raise cursor.wrong(
            "unit", f"`{shown}` is not a time", "Write seconds or minutes: `3 s`, `2 min`.",
            start, cursor.at,
        )  # fmt: skip
    if number <= 0:
        unsigned = shown.lstrip("-\u2212")
        mend = f"Write `{unsigned}`, or leave it out." if number else "Leave it out."
        raise cursor.wrong("number", "the time must be more than zero", mend, start, cursor.at)
    return convert(number, unit, "s")


def whole_number(cursor: Cursor) -> int:
    """Passes a count of at least one."""
    split = split_number(cursor.next())
    if split is None or split[1] or split[0].denominator != 1 or split[0] < 1:
        raise cursor.wrong(
            "count", "a whole number from 1 up is expected here", "Write `at least 2`."
        )
    cursor.at += 1
    return int(split[0])


def reading_number(cursor: Cursor, reading: Declared) -> float:
    """Passes a number with its unit and gives it in the unit of the reading."""
    start = cursor.at
    number, unit = _number_and_unit(cursor, f"a number in {reading.unit}")
    return _in_unit_of(cursor, reading, number, unit, start, cursor.at)


def two_reading_numbers(cursor: Cursor, reading: Declared) -> tuple[float, float]:
    """Passes `1000 and 2300 psi`; the first number may leave its unit to the second."""
    first_start = cursor.at
    first, first_unit = _number_and_unit(cursor, f"a number in {reading.unit}")
    first_end = cursor.at
    if not cursor.take("and"):
        raise cursor.wrong(
            "between", "`and` with the second number is missing",
            f"Write `between 1 and 2 {reading.unit}`.",
        )  # fmt: skip
    second_start = cursor.at
    second, second_unit = _number_and_unit(cursor, f"a number in {reading.unit}")
    high = _in_unit_of(cursor, reading, second, second_unit, second_start, cursor.at)
    low = _in_unit_of(cursor, reading, first, first_unit or second_unit, first_start, first_end)
    if low > high:
        raise cursor.wrong(
            "between", "the bigger number stands first", "Write the smaller number first.",
            first_start, cursor.at,
        )  # fmt: skip
    return low, high


def unit_within(cursor: Cursor) -> str:
    """Passes a number, or two with `and`, and gives the unit as written; empty without one."""
    _, unit = _number_and_unit(cursor, "a number")
    if cursor.take("and"):
        _, unit = _number_and_unit(cursor, "a number")
    return unit


def _number_and_unit(cursor: Cursor, expected: str) -> tuple[Fraction, str]:
    """Passes a number and the longest unit after it; the unit may be missing or unknown."""
    start = cursor.at
    split = split_number(cursor.words[start].written) if start < len(cursor.words) else None
    if split is None:
        if too_long(cursor.words[start].written if cursor.next() else ""):
            raise cursor.wrong("number", TOO_LONG, SHORTER)
        found = f", not `{cursor.words[start].written}`" if cursor.next() else ""
        raise cursor.wrong("number", f"{expected} is expected here{found}", "Write it in digits.")
    number, glued = split
    cursor.at += 1
    for count in (2, 1, 0):
        following = [word.written for word in cursor.words[start + 1 : start + 1 + count]]
        unit = unit_named(" ".join(([glued] if glued else []) + following))
        if len(following) == count and unit:
            cursor.at += count
            return number, unit
    if not glued and cursor.next() not in _AFTER_NUMBER:
        glued = cursor.words[cursor.at].written
        cursor.at += 1
    return number, glued


_AFTER_NUMBER = {"", "and", "or", "for", ")", "(", ",", "comes", "goes", "not", "then", "only"}


def _in_unit_of(
    cursor: Cursor, reading: Declared, number: Fraction, unit: str, start: int, end: int
) -> float:
    if reading.unit == UNKNOWN:
        return float(number)
    if not unit and reading.unit != "none":
        shown = cursor.written(start, end)
        raise cursor.wrong(
            "unit", f"the number has no unit; `{reading.name}` is in {reading.unit}",
            f"Write `{shown} {reading.unit}`, if that is meant.", start, end,
        )  # fmt: skip
    try:
        value = convert(number, unit or "none", reading.unit)
    except UnitError as error:
        if reading.unit == "none":
            raise cursor.wrong(
                "unit", f"`{reading.name}` is a plain number; this one has a unit",
                "Leave the unit out here, or change the `unit` of the reading.", start, end,
            ) from None  # fmt: skip
        raise cursor.wrong(
            "unit", f"{error}; `{reading.name}` is in {reading.unit}",
            f"Give the number in {reading.unit}.", start, end,
        ) from None  # fmt: skip
    if not reading.low <= value <= reading.high:
        _note_out_of_range(cursor, reading, start, end)
    return value


def _note_out_of_range(cursor: Cursor, reading: Declared, start: int, end: int) -> None:
    low, high = number_text(reading.low), number_text(reading.high)
    cursor.faults.append(
        cursor.fault(
            "out-of-range",
            f"`{reading.name}` never comes to {cursor.written(start, end)}: its range is {low} to "
            f"{high} {reading.unit}",
            "Correct the number, or the `range` of the reading.",
            start, end, "finding",
        )
    )  # fmt: skip
