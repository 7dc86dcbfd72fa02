"""Serial numbers: `1-12, 15`."""

from __future__ import annotations

import re

from tellback.book.context import Context
from tellback.book.nodes import Node

MOST_RANGES = 500
_RANGE = re.compile(r"(\d{1,9})(?:\s*[-\u2013]\s*(\d{1,9}))?", re.ASCII)


def parse_serials(context: Context, node: Node, text: str) -> tuple[tuple[int, int], ...]:
    """The ranges, each with both ends included; empty with the fault reported."""
    parts = text.split(",")
    found = []
    for part in parts[:MOST_RANGES]:
        match = _RANGE.fullmatch(part.strip())
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
        if first > last:
            context.error(
                node, "serials", f"`{part.strip()}` is not a range of serial numbers",
                "Write numbers and ranges: `1-12, 15`.",
            )  # fmt: skip
            return ()
        found.append((first, last))
    if len(parts) > MOST_RANGES:
        context.error(node, "serials", "there are too many ranges of serial numbers", "Join some.")
    return tuple(found)


def ranges_of(text: str) -> tuple[tuple[int, int], ...]:
    """The ranges of a text that has been read before, such as `5-12, 15`."""
    found = [_RANGE.fullmatch(part.strip()) for part in text.split(",")]
    return tuple((int(m[1]), int(m[2] or m[1])) for m in found if m)


def has_serial(ranges: tuple[tuple[int, int], ...], serial: int) -> bool:
    """Whether a serial number lies in one of the ranges."""
    return any(first <= serial <= last for first, last in ranges)
