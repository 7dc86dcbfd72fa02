"""The variables of two systems side by side: which value of one is which of the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tellback.logic.system import Regions

Own = tuple[int | None, ...]
"""For each joint value the value of one book that it is; None where that book has none."""

Two = tuple[Own, Own]


class Shared(NamedTuple):
    """A variable of the joint space; `own` is empty on a side that has no such variable."""

    size: int
    own: Two

    def joint(self, side: int, value: int) -> int:
        """The joint value that a value of one book is, the first of several."""
        return self.own[side].index(value)


def of_words(a: Sequence[str], b: Sequence[str]) -> Shared:
    """A variable whose values are words, in the order of the second book as far as it has them."""
    words = merged(a, b)
    return Shared(len(words), (_places(words, a), _places(words, b)))


def merged(a: Sequence[str], b: Sequence[str]) -> list[str]:
    """All words of both; what only the first has stands behind what it follows there."""
    words = list(b)
    for i, word in enumerate(a):
        if word not in words:
            before = words.index(a[i - 1]) + 1 if i else 0
            words.insert(before, word)
    return words


def _places(words: Sequence[str], own: Sequence[str]) -> Own:
    return tuple(own.index(word) if word in own else None for word in words) if own else ()


def of_regions(a: Regions | None, b: Regions | None) -> Shared:
    """A reading, cut where either cuts it and where the range of one ends."""
    both = [regions for regions in (a, b) if regions is not None]
    low, high = min(r.low for r in both), max(r.high for r in both)
    cuts = {cut for regions in both for cut in regions.cuts}
    cuts |= {(r.low, 0) for r in both if r.low > low} | {(r.high, 1) for r in both if r.high < high}
    whole = Regions(low, high, both[0].unit, tuple(sorted(cuts)))
    numbers = [whole.middle(i) for i in range(len(whole.cuts) + 1)]
    own = tuple(_regions_of(numbers, regions) for regions in (a, b))
    return Shared(len(numbers), (own[0], own[1]))


def _regions_of(numbers: list[float], regions: Regions | None) -> Own:
    if regions is None:
        return ()
    return tuple(regions.index(n) if regions.low <= n <= regions.high else None for n in numbers)


@dataclass(frozen=True, slots=True)
class Names:
    """What the variables of either system are called in the joint space."""

    a: dict[str, str]
    b: dict[str, str]

    def __getitem__(self, side: int) -> dict[str, str]:
        return (self.a, self.b)[side]
