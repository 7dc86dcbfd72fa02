"""What a thing declares besides its statements, as texts to compare."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.model import (
    Control,
    Indication,
    Reading,
    Situation,
    Supply,
    Surface,
    Thing,
)
from tellback.book.numbers import number_text

BEHIND = frozenset({"note", "also called", "chapter", "applies to"})
"""What is said of a thing, and changes nothing that it does."""


def attributes_of(thing: Thing) -> Iterator[tuple[str, str]]:
    """Each key with what stands there (or would, if it were written)."""
    yield "kind", thing.form
    yield "also called", ", ".join(thing.also)
    yield "fails", ", ".join(thing.fails)
    match thing:
        case Control():
            yield "positions", ", ".join(thing.positions)
            yield "normally", thing.normally
            yield "guarded", _yes_or_no(thing.guarded)
            yield "springs", ", ".join(f"{start} to {end}" for start, end in thing.springs)
        case Reading():
            yield from _of_reading(thing)
        case Situation():
            yield "normally", _yes_or_no(thing.normally)
        case Supply():
            yield "levels", ", ".join(thing.levels)
        case Surface():
            yield "points", ", ".join(thing.points)
            yield "starts at", thing.starts_at
        case Indication():
            yield "level", thing.level
            yield "shows", thing.shows
    yield "note", thing.note
    yield "chapter", thing.chapter


def _of_reading(reading: Reading) -> Iterator[tuple[str, str]]:
    yield "unit", reading.unit
    yield "range", f"{number_text(reading.low)} to {number_text(reading.high)}"
    if not reading.follows:
        key = "starts at" if reading.moves else "normally"
        yield key, number_text(reading.normally)


def _yes_or_no(value: bool) -> str:
    return "yes" if value else "no"
