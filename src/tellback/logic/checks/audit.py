"""The program looks at itself: the ways that it lists are the whole of when a unit runs."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book import conditions as c
from tellback.book.model import Unit
from tellback.logic.checks.found import Found, error
from tellback.logic.checks.ground import Ground
from tellback.logic.formula import Ref
from tellback.logic.items import View, apart_from
from tellback.logic.primes import Cube
from tellback.logic.space import Node


def ways_that_disagree(ground: Ground) -> Iterator[Found]:
    """A unit whose ways as found, all together, are not the whole of when it runs."""
    for unit in ground.book.things:
        if isinstance(unit, Unit) and not agree(ground, unit):
            yield error(
                "ways-disagree", unit.place,
                f"the ways found for `{unit.name}` are not the whole of when it runs",
                "This is a fault of the program, not of the book: do not rely on its ways.",
                unit.name,
            )  # fmt: skip


def agree(ground: Ground, unit: Unit) -> bool:
    """Whether the disjunction of the ways equals running as seen, whatever can be and what not."""
    condition = c.State(unit.name, "running")
    view = View(ground.picture, False, apart_from(condition))
    target = view.of(Ref((unit.name, "running")))
    cubes = view.cubes(target, view.space.true)
    return view.space.any_of(_where(view, cube) for cube in cubes) == target


def _where(view: View, cube: Cube) -> Node:
    return view.space.all_of(view.space.literal(name, values) for name, values in cube.items())
