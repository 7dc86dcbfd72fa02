"""A condition cut up as it is told: what all must be so, and where there is a choice."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tellback.book.conditions import (
    All,
    Any,
    AtLeast,
    Condition,
    Held,
    Not,
    places_of,
)
from tellback.book.english import time_text
from tellback.book.names import Names
from tellback.book.phrases import by_group, phrase, tight

ALL, EITHER, NEITHER = "all", "either", "neither"


@dataclass(frozen=True, slots=True)
class Said:
    """What is so: a `text`, or `parts` with a `joint`: all, either, neither, at least N of them.

    Without parts `all` is always so, and `either` never.
    """

    text: str = ""
    joint: str = ""
    parts: tuple[Said, ...] = ()


def said(condition: Condition, names: Names) -> Said:
    """A condition in the words of the book; what is said of a group is one text."""
    if _is_one_text(condition, names):
        return Said(phrase(condition, names))
    match condition:
        case All(parts):
            return joined(ALL, _said(parts, names))
        case Any(parts):
            return joined(EITHER, _said(parts, names))
        case AtLeast(count, parts):
            return Said("", f"at least {count}", _said(parts, names))
        case Not(Any(parts) as choice) if not _is_one_text(choice, names):
            return Said("", NEITHER, _said(parts, names))
        case Held():
            return Said(_held(condition, names))
        case Not(Held() as held):
            return Said(f"not ({_held(held, names)})")
    return Said(phrase(condition, names))


def _held(condition: Held, names: Names) -> str:
    return f"{tight(condition.part, names)} for {time_text(condition.seconds)}"


def _said(parts: Iterable[Condition], names: Names) -> tuple[Said, ...]:
    return tuple(said(part, names) for part in parts)


def _is_one_text(condition: Condition, names: Names) -> bool:
    """Whether it is said of a group, or of several places of one thing."""
    return bool(by_group(condition, names) or places_of(condition))


def joined(joint: str, parts: Iterable[Said]) -> Said:
    """Parts joined by `all` or `either`; a part joined alike gives its own, one stands alone."""
    own = [inner for part in parts for inner in (part.parts if part.joint == joint else (part,))]
    return own[0] if len(own) == 1 else Said("", joint, tuple(own))
