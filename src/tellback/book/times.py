"""Times of a time line: `38 s`, `2 min`, `1 min 30 s`, `0 s`."""

from __future__ import annotations

import re

from tellback.book.context import Context
from tellback.book.nodes import Scalar
from tellback.units import convert, quantity, unit_named

HOW_WRITTEN = "Write it as `38 s` or `2 min`."
_PART = re.compile(r"(\d+(?:\.\d+)?)\s*([^\W\d]+)\s*", re.ASCII)


def seconds_of(text: str) -> float | None:
    """The seconds of a time as it is written; None if the text is none."""
    parts = [(part[0], _seconds(part[1], part[2])) for part in _PART.finditer(text)]
    seconds = [found for _, found in parts if found is not None]
    if not parts or "".join(part for part, _ in parts) != text or len(seconds) < len(parts):
        return None
    return sum(seconds)


def time_of(
    context: Context, node: Scalar, text: str | None = None, above_zero: bool = False
) -> float:
    """A time in seconds, in the text of the node or a part of it; 0 with the fault reported."""
    text = (node.text if text is None else text).strip()
    seconds = seconds_of(text)
    if seconds is None:
        context.error(node, "time", no_time(text), HOW_WRITTEN)
        return 0.0
    if above_zero and not seconds:
        context.error(node, "time", "the time must be more than zero", "Write such as `5 s`.")
    return seconds


def no_time(text: str) -> str:
    """Says that the text is not a time."""
    return f"`{text}` is not a time"


def _seconds(digits: str, unit: str) -> float | None:
    """The seconds of a number in a unit of time; None if it is none."""
    known = unit_named(unit)
    return convert(float(digits), known, "s") if known and quantity(known) == "time" else None


def precision(text: str) -> float:
    """Half a unit of the last digit written: so far a time may be off, in seconds; 0 for none."""
    parts = list(_PART.finditer(text.strip()))
    if not parts:
        return 0.0
    last = parts[-1]
    digits = len(last[1].partition(".")[2])
    return 0.5 * 10.0**-digits * (_seconds("1", last[2]) or 0.0)
