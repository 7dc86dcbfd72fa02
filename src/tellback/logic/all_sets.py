"""Every set of a few changes made from a moment, each in a run of its own, side by side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, islice
from typing import TypeVar

from tellback.logic.formula import Formula
from tellback.logic.picture import Picture
from tellback.logic.row import bits, changes_of
from tellback.logic.run import Moment

AT_ONCE = 20_000
"""So many runs are made side by side."""

MOST_SETS = 500_000
"""So many sets are run at most; where there are more, the answer is sought in another way."""

Change = tuple[str, int]
Set = tuple[Change, ...]
One = TypeVar("One")


def most_at_a_time(changes: int) -> int:
    """Up to how many of so many changes at a time all sets can be run."""
    order = 0
    while order < changes and int(changes ** (order + 1)) <= MOST_SETS:
        order += 1
    return order


def few_enough(changes: int, order: int) -> bool:
    """Whether all sets of up to `order` of so many changes can be run."""
    return min(order, changes) <= most_at_a_time(changes)


def sets_without(changes: Sequence[Change], size: int, smaller: Iterable[Set]) -> Iterator[Set]:
    """The sets of so many changes, of different things, that contain none of the smaller sets."""
    within = [frozenset(one) for one in smaller]
    for one in combinations(changes, size):
        apart = len({name for name, _ in one}) == size
        if apart and not any(less.issubset(one) for less in within):
            yield one


def at_once(several: Iterable[One]) -> Iterator[list[One]]:
    """As many at a time as are run side by side."""
    rest = iter(several)
    while part := list(islice(rest, AT_ONCE)):
        yield part


def minimal_ending(
    picture: Picture, moment: Moment, formula: Formula, changes: Sequence[Change], order: int
) -> tuple[list[Set], int]:
    """The minimal sets of up to `order` changes after which, settled, the formula is not so.

    Sets that lead at once to what is stated impossible do not count, whatever follows. Locks are
    not looked at. Also gives after how many of the sets the aeroplane does not come to rest.
    """
    found: list[Set] = []
    restless = 0
    for size in range(min(order, len(changes)) + 1):
        for some in at_once(sets_without(changes, size, list(found))):
            ended, lost = _ending(picture, moment, formula, some)
            found += (some[run] for run in ended)
            restless += lost
    return found, restless


def _ending(
    picture: Picture, moment: Moment, formula: Formula, sets: Sequence[Set]
) -> tuple[Iterator[int], int]:
    abreast = picture.abreast
    row = abreast.move(abreast.row([moment] * len(sets)), changes_of(map(dict, sets)))
    possible = row.all & ~abreast.impossible(row)
    row = abreast.settle(row)
    ended = possible & ~row.lost & ~abreast.values(row).of(formula)
    return bits(ended), (row.lost & possible).bit_count()
