"""Every set of a few changes made from a moment, each in a run of its own, side by side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, islice
from typing import TypeVar

from tellback.logic.abreast import Abreast
from tellback.logic.formula import Formula
from tellback.logic.row import Runs, bits, changes_of
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
    abreast: Abreast, moment: Moment, formula: Formula, changes: Sequence[Change], order: int
) -> tuple[list[Set], int]:
    """The minimal sets of up to `order` changes after which, settled, the formula is not so.

    Sets that lead to what is stated impossible, at once or before all has settled, do not count.
    Locks are not looked at. Also gives after how many sets it does not come to rest, those not
    counted that include one of these, or one of the sets found.
    """
    found: list[Set] = []
    restless: list[frozenset[Change]] = []
    for size in range(min(order, len(changes)) + 1):
        for some in at_once(sets_without(changes, size, list(found))):
            ended, lost = _ending(abreast, moment, formula, some)
            found += (some[run] for run in bits(ended))
            again = [frozenset(some[run]) for run in bits(lost)]
            restless += [one for one in again if not any(less < one for less in restless)]
    return found, len(restless)


def _ending(
    abreast: Abreast, moment: Moment, formula: Formula, sets: Sequence[Set]
) -> tuple[Runs, Runs]:
    """The runs in which the formula is not so in the end, and those that do not come to rest."""
    row = abreast.move(abreast.row([moment] * len(sets)), changes_of(map(dict, sets)))
    row, possible = abreast.settle_possibly(row)
    return possible & ~row.lost & ~abreast.values(row).of(formula), possible & row.lost
