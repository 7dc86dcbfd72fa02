"""How a literal is said: the thing and the state, by the names of the book."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import TypeVar

from tellback.book.english import either as either
from tellback.book.english import is_plural, time_text
from tellback.book.english import listed as listed
from tellback.book.model import Supply
from tellback.book.numbers import number_told
from tellback.logic.system import Regions, System

T = TypeVar("T")

FAULTS = {
    "stops": ("stops", "stop"),
    "keeps running": ("keeps running", "keep running"),
    "stuck": ("is stuck", "are stuck"),
    "stuck open": ("sticks open", "stick open"),
    "stuck closed": ("sticks closed", "stick closed"),
    "lost": ("itself fails", "themselves fail"),
    "shown": ("shows falsely", "show falsely"),
    "not shown": ("does not show", "do not show"),
}
"""How each failure mode is said of a thing, and of a thing whose name is a plural."""


def fault_text(thing: str, mode: str, unit: str = "") -> str:
    """A failure in words: `left pump stops`."""
    return f"{thing} {_fault_verb(thing, mode, unit)}"


def _fault_verb(thing: str, mode: str, unit: str) -> str:
    if mode.startswith("reads "):
        return f"falsely {mode}{_unit(unit)}"
    return FAULTS[mode][is_plural(thing)]


def literal_text(system: System, name: str, values: Iterable[int]) -> str:
    """A literal in words: the variable has one of the values."""
    chosen = sorted(set(values))
    if name not in system.variables:
        return _level_text(name, _levels(system)[name], chosen)
    variable = system.variables[name]
    words = [variable.values[i] for i in chosen]
    affirmed = 1 in chosen
    match variable.kind:
        case "situation":
            return variable.thing if affirmed else f"not {variable.thing}"
        case "latch":
            return f"{variable.thing} {words[0]}"
        case "cancelled":
            return f"{variable.thing} {'cancelled' if affirmed else 'not cancelled'}"
        case "delay":
            return delay_text(system, name, affirmed)
        case "last":
            condition = variable.thing.removeprefix("last ")
            return f"before that {condition}" if affirmed else f"before that not ({condition})"
        case "reading" | "number":
            return f"{variable.thing} {range_text(system.regions[variable.thing], chosen)}"
        case "failure":
            return _failure_text(system, variable.thing, variable.values, chosen)
        case "place":
            return _place_text(variable.thing, variable.values, chosen)
    return _positions_text(variable.thing, variable.values, chosen)


def delay_text(system: System, name: str, affirmed: bool = True) -> str:
    """How long something has been so: twenty minutes, not 1200 seconds."""
    seconds = next(rule.seconds for rule in system.delays if rule.variable == name)
    held = system.variables[name].thing.rpartition(" for ")[0]
    told = f"{held} for {time_text(seconds)}"
    return told if affirmed else f"not ({told})"


def _levels(system: System) -> Mapping[str, tuple[str, ...]]:
    return {t.name: t.levels for t in system.book.things if isinstance(t, Supply)}


def _level_text(name: str, levels: tuple[str, ...], chosen: list[int]) -> str:
    if len(levels) == 2:
        return f"{name} {'live' if chosen == [1] else 'lost'}"
    if chosen == [0]:
        return f"{name} lost"
    if chosen == list(range(1, len(levels))):
        return f"{name} live"
    if chosen[-1] == len(levels) - 1 and len(chosen) > 1:
        return f"{name} at least {levels[chosen[0]]}"
    if chosen[0] == 0:
        return f"{name} at most {levels[chosen[-1]]}"
    return f"{name} at {either(levels[i] for i in chosen)}"


def _positions_text(thing: str, words: tuple[str, ...], chosen: list[int]) -> str:
    left_out = [w for i, w in enumerate(words) if i not in chosen]
    if len(left_out) == 1 and len(words) > 2:
        return f"{thing} not at {left_out[0]}"
    return f"{thing} at {either(words[i] for i in chosen)}"


def _place_text(thing: str, words: tuple[str, ...], chosen: list[int]) -> str:
    left_out = [i for i in range(len(words)) if i not in chosen]
    if len(left_out) == 1 and len(words) > 2:
        return f"{thing} not {_place_word(words, left_out[0])}"
    first, last = chosen[0], chosen[-1]
    if len(chosen) > 1 and chosen == list(range(first, last + 1)):
        if first == 0:
            return f"{thing} {_below(words, last)}"
        if last == len(words) - 1:
            return f"{thing} {_above(words, first)}"
        if first % 2 == 0 and last % 2 == 0:
            return f"{thing} between {words[first]} and {words[last]}"
    return f"{thing} {either(_place_word(words, i) for i in chosen)}"


def _place_word(words: tuple[str, ...], place: int) -> str:
    return f"at {words[place]}" if place % 2 == 0 else f"in transit {words[place]}"


def _below(words: tuple[str, ...], last: int) -> str:
    return f"at most {words[last]}" if last % 2 == 0 else f"below {words[last + 1]}"


def _above(words: tuple[str, ...], first: int) -> str:
    return f"at least {words[first]}" if first % 2 == 0 else f"above {words[first - 1]}"


def _failure_text(system: System, thing: str, modes: tuple[str, ...], chosen: list[int]) -> str:
    regions = system.regions.get(thing)
    unit = regions.unit if regions else ""
    told = [m for i, m in enumerate(modes) if (i in chosen) != (0 in chosen)]
    text = f"{thing} {either(_fault_verb(thing, mode, unit) for mode in told)}"
    return f"not ({text})" if 0 in chosen else text


def range_text(regions: Regions, chosen: list[int]) -> str:
    """A run of regions in words: `above 1000 psi`, `between 1000 and 2300 psi`."""
    low = regions.cuts[chosen[0] - 1] if chosen[0] > 0 else None
    high = regions.cuts[chosen[-1]] if chosen[-1] < len(regions.cuts) else None
    unit = _unit(regions.unit)
    if low and high:
        if low[0] == high[0]:
            return f"at {number(low[0])}{unit}"
        if low[1] == 0 and high[1] == 1:
            return f"between {number(low[0])} and {number(high[0])}{unit}"
    parts = []
    if low:
        parts.append(f"{'above' if low[1] else 'at least'} {number(low[0])}{unit}")
    if high:
        parts.append(f"{'at most' if high[1] else 'below'} {number(high[0])}{unit}")
    return " and ".join(parts) or "at any value"


def measured(value: float, unit: str) -> str:
    """A number with its unit: `2300 psi`, or `6` for a plain number."""
    return f"{number(value)}{_unit(unit)}"


def _unit(unit: str) -> str:
    """A unit as it stands after a number; a plain number has none."""
    return "" if unit in ("", "none") else f" {unit}"


def number(value: float) -> str:
    """A number as a pilot reads it: no needless decimals, thousands apart."""
    return number_told(value) if value == int(value) else f"{value:g}"


def run_time_text(seconds: float) -> str:
    """A time that a run took: to the hundredth of a second, from ten seconds on to the tenth.

    Above two minutes, to the second.
    """
    return time_text(round(seconds, 2 if seconds < 10 else 1 if seconds < 120 else 0))


def when_text(seconds: float) -> str:
    """How long after the beginning: `at once`, `after 3 s`."""
    return f"after {run_time_text(seconds)}" if seconds else "at once"


def spans(numbers: Iterable[int]) -> list[str]:
    """Numbers in words, three or more in a row as `4 to 9`."""
    rows: list[list[int]] = []
    for n in numbers:
        if rows and n == rows[-1][-1] + 1:
            rows[-1].append(n)
        else:
            rows.append([n])
    return [
        word
        for row in rows
        for word in ([f"{row[0]} to {row[-1]}"] if len(row) > 2 else map(str, row))
    ]


def named_together(names: Iterable[str]) -> str:
    """Several names in one: `left and right pump`, if they differ in their first word alone."""
    items = list(names)
    words = [name.partition(" ") for name in items]
    if len(items) > 1 and words[0][2] and len({rest for _, _, rest in words}) == 1:
        return f"{listed(first for first, _, _ in words)} {words[0][2]}"
    return listed(items)


def alike(things: Iterable[T], sameness: Callable[[T], Hashable]) -> list[list[T]]:
    """The things in groups of the same, each group where its first one stands."""
    groups: dict[Hashable, list[T]] = {}
    for thing in things:
        groups.setdefault(sameness(thing), []).append(thing)
    return list(groups.values())
