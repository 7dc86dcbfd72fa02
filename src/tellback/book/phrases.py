"""A condition as text that reads back to the same tree."""

from __future__ import annotations

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
from tellback.book.cursor import Origin
from tellback.book.english import either, running_words
from tellback.book.grammar import parse_condition
from tellback.book.names import Names, of_group
from tellback.book.numbers import number_text, number_told

_OPPOSITES = {"live": "lost", "moving": "still", "set": "clear"}


def phrase(condition: Condition, names: Names) -> str:
    """The canonical text of a condition; `parse_condition` makes the same tree of it.

    Intervals with one end included and one not, which no single phrase says, become two
    comparisons joined by `and`. What is said of a group is told by its name.
    """
    return by_group(condition, names) or _spelt_out(condition, names)


def by_group(condition: Condition, names: Names) -> str:
    """The text by the name of a group, where it reads back to the very condition; else empty."""
    match condition:
        case All(parts):
            quantifier = "every"
        case Any(parts):
            quantifier = "any"
        case AtLeast(count, parts):
            quantifier = f"at least {count}"
        case Not(Any(parts)):
            quantifier = "no"
        case _:
            return ""
    members = tuple(name for part in parts for name in things(part))
    group = next((group for group, known in names.groups.items() if known == members), "")
    if not group or len(members) < 2:
        return ""
    state = _spelt_out(parts[0], names).removeprefix(members[0])
    if quantifier == "every" and state.startswith(" not "):  # as if not all of them
        return ""
    text = f"{of_group(quantifier, group, members)}{state}"
    return text if parse_condition(text, names, Origin(edges=True))[0] == condition else ""


def _spelt_out(condition: Condition, names: Names) -> str:
    match condition:
        case All(parts):
            return _joined(parts, "and", "all of", "always", names)
        case Any() if places := places_of(condition):
            return f"{things(condition)[0]} at {either(places)}"
        case Any(parts):
            return _joined(parts, "or", "any of", "never", names)
        case AtLeast(count, parts):
            return f"at least {count} of ({_listed(parts, names)})"
        case Not(part):
            return _negated(part, names)
        case Held(part, seconds):
            return f"{tight(part, names)} for {number_text(seconds)} s"
        case Edge(part, rising):
            # without brackets, `any GROUP comes on` would be read per member
            text = f"({phrase(part, names)})" if isinstance(part, Any) else tight(part, names)
            return f"{text} {'comes on' if rising else 'goes out'}"
        case State(thing, "running"):
            return f"{thing} {running_words(names.things[thing].kind)[0]}"
        case State(thing, state):
            return _state(thing, state)
        case FedBy(supply, source):
            return f"{supply} fed by {source}"
        case Compare():
            return _compare(condition, names)
        case Between():
            return _between(condition)


def _joined(
    parts: tuple[Condition, ...], joint: str, of: str, empty: str, names: Names
) -> str:  # fmt: skip
    if not parts:
        return empty
    if len(parts) == 1:
        return f"{of} ({phrase(parts[0], names)})"
    return f" {joint} ".join(_within(part, names) for part in parts)


def _listed(parts: tuple[Condition, ...], names: Names) -> str:
    return ", ".join(phrase(part, names) for part in parts)


def _within(part: Condition, names: Names) -> str:
    """A part of `and` or `or`, in brackets if it is itself joined."""
    text = phrase(part, names)
    return f"({text})" if _is_joined(part, names) else text


def tight(part: Condition, names: Names) -> str:
    """A part that binds before `for`, in brackets if it is joined or timed."""
    text = phrase(part, names)
    loose = _is_joined(part, names) or _is_timed(part)
    return f"({text})" if loose else text


def _is_joined(part: Condition, names: Names) -> bool:
    if isinstance(part, Compare | Between):
        return _takes_two(part)
    several = isinstance(part, All | Any) and len(part.parts) > 1
    return several and not by_group(part, names) and not places_of(part)


def _is_timed(part: Condition) -> bool:
    """Whether its text may end in a time, or in `comes on` as that of `any GROUP` does."""
    per_member = isinstance(part, Any) and any(isinstance(one, Edge) for one in part.parts)
    return per_member or isinstance(part, Held | Edge)


def _negated(part: Condition, names: Names) -> str:
    match part:
        case State(thing, "running"):
            return f"{thing} {running_words(names.things[thing].kind)[1]}"
        case State(thing, state) if state in _OPPOSITES:
            return f"{thing} {_OPPOSITES[state]}"
        case State(thing, "yes"):
            return f"not {thing}"
        case State(thing, state):
            return f"{thing} not {state}"
        case FedBy(supply, source):
            return f"{supply} not fed by {source}"
        case Any() if places := places_of(part):
            return f"{things(part)[0]} not at {either(places)}"
    if _is_joined(part, names) or _is_timed(part) or isinstance(part, Not):
        return f"not ({phrase(part, names)})"
    return f"not {phrase(part, names)}"


def _state(thing: str, state: str) -> str:
    return thing if state == "yes" else f"{thing} {state}"


def _takes_two(part: Compare | Between) -> bool:
    one_sided = part.low is None or part.high is None
    return not one_sided and not (part.low_included and part.high_included)


def _compare(part: Compare, names: Names) -> str:
    reading = f"true {part.reading}" if part.true else part.reading
    unit = names.things[part.reading].unit
    unit = "" if unit == "none" else f" {unit}"
    low = None if part.low is None else number_told(part.low)
    high = None if part.high is None else number_told(part.high)
    if low is not None and low == high and not _takes_two(part):
        return f"{reading} at {low}{unit}"
    return _ordered(reading, low, part.low_included, high, part.high_included, unit)


def _between(part: Between) -> str:
    return _ordered(part.thing, part.low, part.low_included, part.high, part.high_included, "")


def _ordered(
    name: str,
    low: str | None,
    low_included: bool,
    high: str | None,
    high_included: bool,
    unit: str,
) -> str:
    if low is not None and high is not None and low_included and high_included:
        return f"{name} between {low} and {high}{unit}"
    ends = []
    if low is not None:
        ends.append(f"{name} {'at least' if low_included else 'above'} {low}{unit}")
    if high is not None:
        ends.append(f"{name} {'at most' if high_included else 'below'} {high}{unit}")
    return " and ".join(ends) or "always"
