"""What things state, as plain data to compare: without names of ways, places, texts, sources."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any as Anything

from tellback.book.conditions import All, Any, AtLeast
from tellback.book.model import Thing

BESIDE = frozenset(
    {"place", "text", "source", "whys", "applies", "was", "note", "family", "index", "chapter"}
)
"""Fields that say nothing of what a thing does."""


def shape(part: object) -> Anything:
    """The part as nested tuples; the order of what `and`, `or` and `of` join does not count."""
    match part:
        case All(parts) | Any(parts):
            return type(part).__name__, tuple(sorted((shape(p) for p in parts), key=repr))
        case AtLeast(count, parts):
            return "AtLeast", count, tuple(sorted((shape(p) for p in parts), key=repr))
    if is_dataclass(part) and not isinstance(part, type):
        beside = BESIDE | ({"name", "also"} if isinstance(part, Thing) else frozenset())
        kept = (field.name for field in fields(part) if field.name not in beside)
        return type(part).__name__, *(shape(getattr(part, name)) for name in kept)
    if isinstance(part, tuple):
        return tuple(map(shape, part))
    return part
