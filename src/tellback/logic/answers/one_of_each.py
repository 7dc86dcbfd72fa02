"""Sets that differ in one member alone, taken together: one of these, and one of those."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import TypeVar

from tellback.logic.words import alike

T = TypeVar("T")


def together(sets: Sequence[Sequence[T]]) -> list[tuple[tuple[T, ...], ...]]:
    """The sets, with those that differ in one member alone taken together, most at a time first.

    Each answer stands for every set that has one member of each of its groups; each set is in
    exactly one answer.
    """
    order = {member: i for i, member in enumerate(dict.fromkeys(chain(*sets)))}
    found: list[tuple[frozenset[T], ...]] = [
        tuple(frozenset({member}) for member in chosen) for chosen in sets
    ]
    while True:
        several = [groups for groups in found if len(groups) > 1]
        places = [(groups, i) for groups in several for i in range(len(groups))]
        most = max(alike(places, _but_for_one), key=len, default=[])
        if len(most) < 2:
            return [
                tuple(tuple(sorted(g, key=order.__getitem__)) for g in groups) for groups in found
            ]
        (first, i), *others = most
        joined = frozenset(one for groups, k in most for one in groups[k])
        found[found.index(first)] = (*first[:i], joined, *first[i + 1 :])
        gone = {groups for groups, _ in others}
        found = [groups for groups in found if groups not in gone]


def _but_for_one(place: tuple[tuple[frozenset[T], ...], int]) -> frozenset[frozenset[T]]:
    groups, i = place
    return frozenset((*groups[:i], *groups[i + 1 :]))
