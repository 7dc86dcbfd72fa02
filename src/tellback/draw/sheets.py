"""Cuts what is drawn into sheets, each of which fits a projector."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from tellback.book.model import Thing
from tellback.draw.plan import DOWN, RIGHT, Plan, planned
from tellback.draw.standing import Standing
from tellback.draw.wiring import Wiring

ROOM = 1248.0, 566.0
"""The width and height that a diagram may take."""


def sheets(wiring: Wiring, things: dict[str, Thing], standing: Standing) -> tuple[Plan, ...]:
    """Diagrams that fit, all nodes on one or another; what is cut ends in a box on both."""
    together = tuple(_filled(wiring, things, standing, together=True))
    if len(together) <= 1:
        return together
    return min(together, tuple(_filled(wiring, things, standing, together=False)), key=len)


def _filled(
    wiring: Wiring, things: dict[str, Thing], standing: Standing, together: bool
) -> Iterator[Plan]:
    left = list(wiring.nodes)
    while left:
        order = _grown(wiring, left, together)
        plan, number = _most(wiring, things, standing, order)
        yield plan
        left = [name for name in left if name not in order[:number]]


def _most(
    wiring: Wiring, things: dict[str, Thing], standing: Standing, order: Sequence[str]
) -> tuple[Plan, int]:
    """A diagram of as many of the nodes as fit, from the first on, and how many they are."""
    fits, best = 1, _plan(wiring, things, standing, order[:1])
    too_many = len(order) + 1
    number = len(order)
    while fits + 1 < too_many:
        plan = _plan(wiring, things, standing, order[:number])
        if _crowding(plan) <= 1:
            fits, best = number, plan
        else:
            too_many = number
        number = (fits + too_many) // 2
    return best, fits


def _plan(
    wiring: Wiring, things: dict[str, Thing], standing: Standing, here: Sequence[str]
) -> Plan:
    """The diagram of these nodes, downwards or to the right, as it takes less of the room."""
    plans = (planned(wiring, things, standing, here, way) for way in (DOWN, RIGHT))
    return min(plans, key=_crowding)


def _crowding(plan: Plan) -> float:
    """How much of the room a plan takes, by its tighter side."""
    return max(plan.width / ROOM[0], plan.height / ROOM[1])


def _grown(wiring: Wiring, left: Sequence[str], together: bool) -> list[str]:
    """The nodes in such an order that those first have few wires to the rest.

    What has a wire to them comes first if all is to stay `together`, what has few wires if not.
    """
    near: dict[str, Counter[str]] = {name: Counter() for name in left}
    for wire in wiring.wires:
        if wire.source in near and wire.target in near:
            near[wire.source][wire.target] += 1
            near[wire.target][wire.source] += 1
    order = [left[0]]
    while len(order) < len(left):
        rest = [name for name in left if name not in order]
        inward = {name: sum(near[name][n] for n in order) for name in rest}
        order.append(
            max(rest, key=lambda n: (together and inward[n] > 0, 2 * inward[n] - near[n].total()))
        )
    return order
