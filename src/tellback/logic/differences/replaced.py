"""What it makes of a part when an entry of one book stands in the place of one of the other."""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter

from tellback.logic.differences.parts import ALL, Entry, Part
from tellback.logic.differences.seen import Seen
from tellback.logic.space import Node

Two = tuple[Entry | None, Entry | None]
"""An entry and what it has become; None where there was, or is, none."""


def row_change(seen: Seen, two: Two, own: frozenset[str]) -> list[tuple[Node, Node]]:
    """When a row is otherwise and counts; if what it brings about changed, wherever it counts."""
    never = seen.space.false
    holds, counts = (
        [
            seen.of(side, formula(entry), own) if entry is not None else never
            for side, entry in enumerate(two)
        ]
        for formula in (attrgetter("formula"), attrgetter("counts"))
    )
    if two[0] is not None and two[1] is not None and two[0].beside == two[1].beside:
        either = counts[0] | counts[1]
        return [(holds[0] & either, holds[1] & either)]
    return [(counts[0], never), (never, counts[1])]


def with_replaced(seen: Seen, a: Part, b: Part, pairs: Sequence[Two]) -> Node:
    """What the first part comes to with some of its entries replaced by those of the second."""
    gone = [old for old, _ in pairs if old is not None]
    kept = [(0, entry) for entry in a.entries if not any(entry is old for old in gone)]
    entries = [*kept, *((1, new) for _, new in pairs if new is not None)]
    if not entries:
        return seen.of(0, a.without)
    nodes = [seen.of(side, entry.formula, a.own | b.own) for side, entry in entries]
    return seen.space.all_of(nodes) if a.joins == ALL else seen.space.any_of(nodes)
