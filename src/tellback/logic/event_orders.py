"""In which order the events of a module stand in its diagram: several rules, the best first.

All go depth first through the gates, and differ in which part of a gate comes first. No rule is
best for all trees: they are tried, and the smallest diagram is taken.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import reduce
from operator import or_

from tellback.logic.circuit import Circuit
from tellback.logic.modules import within

Rank = Callable[[int], tuple[int, ...]]
"""Parts of a gate with a lower rank come first."""


@dataclass(frozen=True, slots=True)
class Extent:
    """How many gates lie below each gate, one under the other, and how many events in all."""

    depth: Mapping[int, int]
    size: Mapping[int, int]


def extent(circuit: Circuit, top: int) -> Extent:
    """The extent of all that is below a term."""
    depth: dict[int, int] = {}
    events: dict[int, int] = {}
    for number in circuit.below(top):
        parts = [part >> 1 for part in circuit.gates[number].parts]
        depth[number] = 1 + max((depth[part] for part in parts), default=-1)
        events[number] = reduce(or_, (events[part] for part in parts)) if parts else 1 << number
    return Extent(depth, {number: some.bit_count() for number, some in events.items()})


def event_orders(
    circuit: Circuit, top: int, leaves: Collection[int], known: Extent
) -> list[list[int]]:
    """The leaves below a gate in the order of each rule, no order twice.

    What many gates need comes first, as all that stands between such gates has to remember it;
    then what is least deep, or has the fewest events. So a module comes after single events: what
    comes after a module is put behind each of its sets.
    """
    needed: Counter[int] = Counter()
    for number in within(circuit, top, leaves):
        needed.update({part >> 1 for part in circuit.gates[number].parts})
    rules: tuple[Rank, ...] = (
        lambda part: (-needed[part], known.depth[part]),
        lambda part: (-needed[part], known.size[part]),
        lambda part: (known.depth[part], -needed[part]),
    )
    orders = [_depth_first(circuit, top, leaves, rank) for rank in rules]
    return [list(order) for order in dict.fromkeys(map(tuple, orders))]


def _depth_first(circuit: Circuit, top: int, leaves: Collection[int], rank: Rank) -> list[int]:
    met: dict[int, None] = {}
    waiting = [top]
    while waiting:
        number = waiting.pop()
        if number not in met:
            met[number] = None
            if number == top or number not in leaves:
                parts = [part >> 1 for part in circuit.gates[number].parts]
                waiting += sorted(parts, key=rank)[::-1]
    return [number for number in met if number in leaves and number != top]
