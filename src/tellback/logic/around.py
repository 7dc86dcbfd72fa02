"""The smallest part of what is so now that is enough for something.

What is not enough is shown by a state in which it is otherwise; a set of things is enough only if
it has some of what differs in each such state. So the smallest set that meets all that have been
shown is tried, and what shows that it is not enough is added, until nothing does.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from itertools import count

from tellback.logic.primes import Cube


def smallest_around(
    now: Mapping[str, int], otherwise: Callable[[Cube], Collection[str] | None]
) -> Cube:
    """The fewest things that, as they are now, are enough.

    `otherwise` tells what differs from now in a state of a cube in which it is otherwise, None if
    there is no such state.
    """
    differing: list[Collection[str]] = []
    while True:
        few = smallest_meeting(differing)
        cube = {name: frozenset([now[name]]) for name in now if name in few}
        shown = otherwise(cube)
        if shown is None:
            return cube
        differing.append(shown)


def widened(
    cube: Cube,
    names: Iterable[str],
    enough: Callable[[Cube], bool],
    every: Callable[[str], frozenset[int]],
    ordered: Callable[[str], bool],
) -> Cube:
    """The cube with as many values as are enough of the things named, one thing after the other.

    A thing that is left with all its values is left out.
    """
    for name in names:
        rest = {n: values for n, values in cube.items() if n != name}

        def can_have(values: frozenset[int], name: str = name, rest: Cube = rest) -> bool:
            return enough({**rest, name: values})

        values = _widest(cube[name], every(name), can_have, ordered(name))
        cube = {**cube, name: values} if values != every(name) else rest
    return cube


def _widest(
    values: frozenset[int],
    every: frozenset[int],
    can_have: Callable[[frozenset[int]], bool],
    in_a_row: bool,
) -> frozenset[int]:
    if can_have(every):
        return every
    if not in_a_row:
        return values | {value for value in every - values if can_have(frozenset([value]))}
    for step in (1, -1):
        while (more := values | {value + step for value in values} & every) != values:
            if not can_have(more):
                break
            values = more
    return values


def smallest_meeting(sets: Sequence[Collection[str]]) -> tuple[str, ...]:
    """The fewest names of which each of the sets has one."""
    for size in count():
        found = _meeting(sets, size)
        if found is not None:
            return found
    raise AssertionError


def _meeting(sets: Sequence[Collection[str]], size: int) -> tuple[str, ...] | None:
    """So many names at most of which each of the sets has one; None if that takes more."""
    if not sets:
        return ()
    if not size:
        return None
    for name in min(sets, key=len):
        found = _meeting([others for others in sets if name not in others], size - 1)
        if found is not None:
            return (name, *found)
    return None
