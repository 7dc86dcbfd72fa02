"""Cuts what is drawn into pieces that fit a sheet each; what hangs together stays together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence

from tellback.draw.plan import DOWN, RIGHT, Ground, Plan, is_in_a_box, planned
from tellback.draw.wiring import MOVES, Wiring

WIRE, SHARED = 4, 1
"""How much two things hang together by a wire, and by something both have a wire to."""

Near = dict[str, Counter[str]]
"""How much each thing hangs together with each other."""


def pieces(ground: Ground, names: Sequence[str]) -> Iterator[Plan]:
    """Diagrams of the things of these names, each on one of them.

    Where one is cut from another, a box stands on both for what is on the other. What the book puts
    in rows is never cut.
    """
    if ground.is_in_rows(names):
        yield planned(ground, names, DOWN, in_order=True)
        return
    near = _near(ground.wiring, names)
    left = list(names)
    while left:
        piece = _fitting(ground, near, _island(near, left))
        yield _best(ground, piece)
        left = [name for name in left if name not in piece]


def _fitting(ground: Ground, near: Near, island: Sequence[str]) -> Sequence[str]:
    """As much of an island as fits a sheet, cut where it hangs together least."""
    if _fits(ground, island, DOWN) or _fits(ground, island, RIGHT):
        return island
    order = _grown(near, island)
    most, too_many = 1, len(order)
    while most + 1 < too_many:
        number = (most + too_many) // 2
        if _fits(ground, order[:number], DOWN):
            most = number
        else:
            too_many = number
    fewer = range(most // 2 + 1, most + 1)
    for number in sorted(fewer, key=lambda n: (_loss(near, order, n), -n)):
        if number == most or _fits(ground, order[:number], DOWN):
            return order[:number]
    return order[:most]


def _best(ground: Ground, here: Collection[str]) -> Plan:
    """Downwards if there is room for it, and in order unless more lines cross for that.

    An order that is given is kept whatever crosses.
    """
    way = DOWN if _fits(ground, here, DOWN) or not _fits(ground, here, RIGHT) else RIGHT
    free, ordered = planned(ground, here, way), planned(ground, here, way, in_order=True)
    given = not set(here).isdisjoint(ground.order)
    crossed = not given and ordered.crossings > free.crossings
    return free if crossed or ordered.crowding > max(1, free.crowding) else ordered


def _fits(ground: Ground, here: Collection[str], way: str) -> bool:
    return planned(ground, here, way).crowding <= 1


def _near(wiring: Wiring, names: Sequence[str]) -> Near:
    """What hangs together, by wires and by shared controls and sources."""
    near: Near = {name: Counter() for name in names}
    shared: dict[str, list[str]] = {}
    for wire in wiring.wires:
        if is_in_a_box(wire, wiring):
            continue
        if wire.source in near and wire.target in near:
            near[wire.source][wire.target] += WIRE
            near[wire.target][wire.source] += WIRE
        elif wire.target in near and (wire.kind == MOVES or wire.source not in wiring.nodes):
            shared.setdefault(wire.source, []).append(wire.target)
    for members in shared.values():
        for one in members:
            for other in members:
                if one != other:
                    near[one][other] += SHARED
    return near


def _island(near: Near, left: Sequence[str]) -> list[str]:
    """What hangs together with the first of what is left, in the order given."""
    found, fresh = {left[0]}, [left[0]]
    while fresh:
        met = {name for name in near[fresh.pop()] if name in left} - found
        found |= met
        fresh += met
    return [name for name in left if name in found]


def _loss(near: Near, order: Sequence[str], number: int) -> int:
    """How much hangs together between the first so many of an island and the rest.

    What is left without anything to hang on counts twice.
    """
    rest = set(order[number:])
    cut = {name: sum(near[name][other] for other in order[:number]) for name in rest}
    return sum(cut.values()) + sum(cut[name] for name in rest if not rest & near[name].keys())


def _grown(near: Near, island: Sequence[str]) -> list[str]:
    """An island from its first thing on, next what hangs most on those before, least on others."""
    order, rest = [island[0]], list(island[1:])
    inward = Counter(near[island[0]])
    while rest:
        name = max(rest, key=lambda n: (inward[n] > 0, 2 * inward[n] - near[n].total()))
        order.append(name)
        rest.remove(name)
        inward.update(near[name])
    return order
