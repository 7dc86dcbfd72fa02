"""What is so where a condition is not, and what a condition is where nothing comes on."""

from __future__ import annotations

from dataclasses import replace

from tellback.book import conditions as c
from tellback.book.names import Names
from tellback.logic.said import is_one_text


def denied(condition: c.Condition, names: Names) -> c.Condition:
    """What is so where the condition is not, by its parts; what is one text stays one."""
    if is_one_text(condition, names):
        return c.Not(condition) if isinstance(condition, c.Any) else opposite(condition)
    match condition:
        case c.All(parts):
            return c.Any(tuple(denied(part, names) for part in parts))
        case c.Any(parts):
            return c.All(tuple(denied(part, names) for part in parts))
        case c.AtLeast(count, parts):
            left = len(parts) - count + 1
            return c.AtLeast(left, tuple(denied(part, names) for part in parts))
    return opposite(condition)


def opposite(condition: c.Condition) -> c.Condition:
    """What is so where the condition is not."""
    match condition:
        case c.Not(part):
            return part
        case c.Compare(name, None, _, high, included, true) if high is not None:
            return c.Compare(name, high, not included, None, False, true)
        case c.Compare(name, low, included, None, _, true) if low is not None:
            return c.Compare(name, None, False, low, not included, true)
    return c.Not(condition)


def lasting(condition: c.Condition) -> c.Condition:
    """The condition where nothing comes on or goes out."""
    match condition:
        case c.Edge() | c.Held(c.Edge()):
            return c.NEVER
        case c.All(parts) | c.Any(parts) | c.AtLeast(_, parts):
            return replace(condition, parts=tuple(map(lasting, parts)))
        case c.Not(part):
            return c.Not(lasting(part))
    return condition
