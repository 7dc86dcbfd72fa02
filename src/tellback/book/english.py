"""A condition as an English clause, to be read aloud against the manual."""

from __future__ import annotations

import re
from collections.abc import Iterable

from tellback.book.conditions import (
    All,
    Any,
    AtLeast,
    Between,
    Compare,
    Condition,
    Edge,
    FedBy,
    Held,
    Not,
    State,
    places_of,
    things,
)
from tellback.book.model import Claim, Why
from tellback.book.names import Names
from tellback.book.numbers import number_text

_STATES = {
    "available": ("is available", "is not available"),
    "failed": ("has failed", "has not failed"),
    "live": ("is live", "is lost"),
    "paralleled": ("is paralleled", "is not paralleled"),
    "otherwise lost": ("would otherwise be lost", "would not otherwise be lost"),
    "moving": ("is moving", "is still"),
    "set": ("is set", "is clear"),
    "shown": ("is shown", "is not shown"),
}
_PLURAL = re.compile(r"[^sui]s$")
_CLOSES = frozenset({"contactor", "relay"})


def clause(condition: Condition, names: Names) -> str:
    """The condition in words; brackets where `and` and `or` meet, so that it reads one way only."""
    match condition:
        case All(parts):
            return _joined(parts, "and", "always", names)
        case Any() if places := places_of(condition):
            return said_of(things(condition)[0], f"is at {either(places)}")
        case Any(parts):
            return _joined(parts, "or", "never", names)
        case AtLeast(count, parts):
            return f"at least {count} of these hold: {'; '.join(clause(p, names) for p in parts)}"
        case Not(part):
            return _denied(part, names)
        case Held(part, seconds):
            return f"{_within(part, names)} for {time_text(seconds)}"
        case Edge(part, rising):
            return f"{_within(part, names)} {'begins' if rising else 'ceases'} to be so"
        case State(name, state):
            return _state(name, state, names)[0]
        case FedBy(supply, source):
            return said_of(supply, f"is fed by {the(source)}")
        case Compare():
            return _compared(condition, names)[0]
        case Between(name, low, low_in, high, high_in):
            return said_of(name, f"is {_range(low, low_in, high, high_in, '')}")


def the(name: str) -> str:
    """A name with its article; what is written in capitals or numbered has none."""
    return name if name.isupper() or name[-1:].isdigit() else f"the {name}"


def is_plural(name: str) -> bool:
    """Whether a name is said of several: `flaps`, but not `AC bus`."""
    return bool(_PLURAL.search(name))


def said_of(name: str, verb: str) -> str:
    """What is said of a thing, in the plural if its name is one."""
    first, _, rest = verb.partition(" ")
    if is_plural(name):
        first = {"is": "are", "has": "have"}.get(first, first)
    return f"{the(name)} {first} {rest}"


def running_words(kind: str) -> tuple[str, str]:
    """What running is called of a unit of that kind, and its opposite."""
    words = set(kind.casefold().split())
    if words & _CLOSES:
        return "closed", "open"
    return ("open", "closed") if "valve" in words else ("running", "not running")


def time_text(seconds: float) -> str:
    """A time, exactly: `3 s`, `2 min 30 s`, `3 h 5 min`."""
    if seconds < 120:
        return f"{number_text(seconds)} s"
    minutes, rest = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60) if minutes >= 120 else (0, minutes)
    parts = ((hours, "h"), (minutes, "min"), (rest, "s"))
    return " ".join(f"{number_text(count)} {unit}" for count, unit in parts if count)


def _joined(parts: tuple[Condition, ...], joint: str, empty: str, names: Names) -> str:
    return f" {joint} ".join(_within(part, names) for part in parts) or empty


def _within(part: Condition, names: Names) -> str:
    text = clause(part, names)
    joined = isinstance(part, All | Any | AtLeast) and not places_of(part)
    return f"({text})" if joined else text


def _denied(part: Condition, names: Names) -> str:
    match part:
        case State(name, state):
            return _state(name, state, names)[1]
        case FedBy(supply, source):
            return said_of(supply, f"is not fed by {the(source)}")
        case Compare():
            return _compared(part, names)[1]
        case Between(name, low, low_in, high, high_in):
            return said_of(name, f"is not {_range(low, low_in, high, high_in, '')}")
        case Any() if places := places_of(part):
            return said_of(things(part)[0], f"is not at {either(places)}")
    return f"it is not so that {_within(part, names)}"


def _state(name: str, state: str, names: Names) -> tuple[str, str]:
    """A state affirmed and denied."""
    if state == "yes":
        return name, f"not {name}"
    if state == "running":
        on, off = running_words(names.things[name].kind)
        return said_of(name, f"is {on}"), said_of(name, f"is {off}")
    affirmed, denied = _STATES.get(state, (f"is {state}", f"is not {state}"))
    return said_of(name, affirmed), said_of(name, denied)


def _compared(part: Compare, names: Names) -> tuple[str, str]:
    """A comparison affirmed and denied."""
    unit = names.things[part.reading].unit
    shown = "" if unit == "none" else f" {unit}"
    name = f"true {part.reading}" if part.true else part.reading
    low, high = (None if n is None else number_text(n) for n in (part.low, part.high))
    where = _range(low, part.low_included, high, part.high_included, shown)
    return said_of(name, f"is {where}"), said_of(name, f"is not {where}")


def _range(
    low: str | None, low_included: bool, high: str | None, high_included: bool, unit: str
) -> str:
    if low is not None and low == high:
        return f"at {low}{unit}"
    ends = []
    if low is not None:
        ends.append(f"{'at least' if low_included else 'above'} {low}{unit}")
    if high is not None:
        ends.append(f"{'at most' if high_included else 'below'} {high}{unit}")
    return " and ".join(ends) or "anywhere"


def listed(words: Iterable[str], last: str = "and") -> str:
    """An enumeration in words: `A, B and C`."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def either(words: Iterable[str]) -> str:
    """A choice in words: `A, B or C`."""
    return listed(words, "or")


def reason(why: Why) -> str:
    """A reason with its kind and its source."""
    return f"why ({why.kind}): {why.text.rstrip('.')}{in_brackets(why.source)}"


def in_brackets(source: str) -> str:
    """A source as it stands behind a sentence."""
    return f" [{source}]" if source else ""


def article(word: str) -> str:
    """`a` or `an`."""
    return "an" if word[:1].casefold() in "aeio" else "a"


def capital(text: str) -> str:
    """The text with a capital at its beginning."""
    return text[:1].upper() + text[1:]


def failures_text(failures: int) -> str:
    """How a limit of failures is said."""
    return f"at most {failures} failure{'s' * (failures != 1)}" if failures else "no failures"


def granted(claim: Claim) -> list[str]:
    """What a claim takes for granted, in words."""
    failures = [] if claim.failures is None else [failures_text(claim.failures)]
    return [*failures, *claim.given_text]


def claim_text(claim: Claim) -> str:
    """A claim with what it takes for granted."""
    given = f" (given {', '.join(granted(claim))})" if granted(claim) else ""
    start = f" (from {claim.start})" if claim.start else ""
    return f"{claim.text}{given}{start}"
