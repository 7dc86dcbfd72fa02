"""Why a condition is not so: what its ways lack."""

from __future__ import annotations

from collections.abc import Mapping

from tellback.book import conditions as c
from tests.oracle.answers import Box, all_ways, inside
from tests.oracle.frame import OK, Frame, State, Value, failure_of
from tests.oracle.items import Answerable, seen_items
from tests.oracle.reach import Possible

Lack = Mapping[str, frozenset[Value]]


def literals(items: Answerable, box: Box) -> dict[str, frozenset[Value]]:
    """What a box says: the items that it does not leave free."""
    domains = items.domains.items()
    sides = zip(domains, box, strict=True)
    return {item: side for (item, domain), side in sides if len(side) < len(domain)}


def lacks(
    frame: Frame, condition: c.Condition, possible: Possible, state: State
) -> list[tuple[Lack, Lack]]:
    """What the ways of the condition lack in the state that no failure must bring: the fewest.

    Of two that lack the same things the one that asks more of them is left out. With each stands
    what else is never as it is now where the way is met.
    """
    items = seen_items(frame, condition, condition)
    now = dict(zip(items.domains, items.of(frame, state), strict=True))
    found = []
    for box in all_ways(frame, condition, possible, items):
        lack = {i: side for i, side in literals(items, box).items() if now[i] not in side}
        if not any(is_failure(item) and OK not in side for item, side in lack.items()):
            met = [seen for s in possible.states if inside(seen := items.of(frame, s), box)]
            found.append((lack, besides(items, literals(items, box), met, now)))
    fewest = [both for both in found if len(both[0]) == min(len(lack) for lack, _ in found)]
    return [both for both in fewest if not any(asks_more(both[0], lack) for lack, _ in fewest)]


def besides(
    items: Answerable, way: Lack, met: list[tuple[Value, ...]], now: Mapping[str, Value]
) -> dict[str, frozenset[Value]]:
    """What cannot stay as it is now where a way is met, failures apart: all that it is there."""
    can_be = {item: frozenset(seen[i] for seen in met) for i, item in enumerate(items.domains)}
    return {
        item: side
        for item, side in can_be.items()
        if item not in way and now[item] not in side and not is_failure(item)
    }


def is_failure(item: str) -> bool:
    """The item says how a thing has failed."""
    return item.startswith(failure_of(""))


def asks_more(lack: Lack, other: Lack) -> bool:
    """All that the first asks is enough for the other, and they differ."""
    same = lack.keys() == other.keys()
    return same and lack != other and all(lack[item] <= other[item] for item in lack)


def made_so(
    frame: Frame, items: Answerable, possible: Possible, state: State, lack: Lack
) -> list[State]:
    """The possible states that differ from this one, of the items, in what it lacks alone."""
    now = items.of(frame, state)
    return [
        other
        for other in possible.states
        if all(
            value in lack[item] if item in lack else value == here
            for item, value, here in zip(items.domains, items.of(frame, other), now, strict=True)
        )
    ]
