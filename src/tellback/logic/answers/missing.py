"""What is missing for something to be so: what each of the nearest ways lacks."""

from __future__ import annotations

from collections.abc import Sequence

from tellback.logic.formula import Formula
from tellback.logic.items import Item, View, minimal_cubes
from tellback.logic.picture import Picture
from tellback.logic.primes import Cube
from tellback.logic.run import Moment
from tellback.logic.space import Node


def missing(
    picture: Picture, formula: Formula, moment: Moment, apart: Sequence[str]
) -> list[tuple[Item, ...]]:
    """What the nearest ways of a formula lack at a moment, the fewest things first.

    It goes back no further than to a supply, but for those named `apart`. What else cannot stay as
    it is where the way is met is told before: a switch that a magnet holds at ON lacks what the
    magnet wants. A way that wants a failure is none.
    """
    view = View(picture, to_root=False, apart=apart)
    now = view.now(moment.state)
    target = view.of(formula)
    care = view.care(target)
    ways: dict[int, Cube] = {}
    lacks: list[Cube] = []
    for way in view.cubes(target, care):
        lack = {n: v for n, v in way.items() if now[n] not in v}
        if not any(view.is_failure(n) and 0 not in v for n, v in lack.items()):
            lacks.append(lack)
            ways[id(lack)] = way
    widest = minimal_cubes(sorted(lacks, key=lambda lack: -sum(map(len, lack.values()))))
    told = [
        (_items(view, _besides(view, care, ways[id(lack)], now)), _items(view, lack))
        for lack in widest
        if len(lack) == min(map(len, widest))
    ]
    return [(*besides, *lack) for besides, lack in sorted(told, key=lambda both: str(both[1]))]


def _items(view: View, cube: Cube) -> tuple[Item, ...]:
    return tuple(view.item(name, cube[name]) for name in view.in_order(cube))


def _besides(view: View, care: Node, way: Cube, now: dict[str, int]) -> Cube:
    """What else cannot stay as it is where a way is met, with all that it can be there."""
    there = care & view.space.cube(way)
    found: Cube = {}
    for name in view.space.support(care):
        can_be = {
            value
            for value in range(view.space.size(name))
            if there & view.space.literal(name, (value,)) != view.space.false
        }
        in_a_row = not view.ordered(name) or max(can_be) - min(can_be) < len(can_be)
        if name not in way and now[name] not in can_be and in_a_row and not view.is_failure(name):
            found[name] = frozenset(can_be)
    return found
