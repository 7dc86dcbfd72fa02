"""Every set of a few changes made from a moment, each in a run of its own, side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice

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


def few_enough(changes: int, order: int) -> bool:
    """Whether all sets of up to `order` changes can be run."""
    return int(changes**order) <= MOST_SETS


def minimal_ending(
    picture: Picture, moment: Moment, formula: Formula, changes: Sequence[Change], order: int
) -> tuple[list[Set], int]:
    """The minimal sets of up to `order` changes after which, settled, the formula is not so.

    Sets that lead at once to what is stated impossible do not count, whatever follows. Locks are
    not looked at. Also gives after how many of the sets the aeroplane does not come to rest.
    """
    found: list[Set] = []
    restless = 0
    for size in range(order + 1):
        smaller = [frozenset(one) for one in found]
        sets = iter(
            one
            for one in combinations(changes, size)
            if len({name for name, _ in one}) == size
            and not any(less.issubset(one) for less in smaller)
        )
        while some := list(islice(sets, AT_ONCE)):
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
