"""Of combinations that are too many to be told, those of the fewest terms.

To the root, what hangs on much comes about in thousands of combinations. What is told then is what
is enough while nothing has failed, and what one failure brings about while nothing else has, each
up to so many terms, and none is left out up to there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from tellback.logic.answers.cubes import Case, Found, judged, kept_of
from tellback.logic.limits import TooLong, within
from tellback.logic.primes import Cube, Primes
from tellback.logic.space import Node

MOST_ALL = 400
"""So many combinations are told all together."""

MOST_SOUND = 100
"""With more than this while nothing has failed, all together are not even counted."""

MOST_OF_A_KIND = 200
"""The most that are told of those without a failure, and of those by one."""

FAILURE_SECONDS = 2.0
"""The processor time for those by one failure."""

MOST_BESIDES = 6
"""The most terms that are told besides a failure."""


@dataclass(frozen=True, slots=True)
class Extent:
    """Up to where combinations are told.

    Those that are enough while nothing has failed, `count` in all, are told up to so many `terms`
    (None: all of them), those by one failure while nothing else has up to `failed_terms`, the
    failure counted (None: they took too long to find, and none is told).
    """

    terms: int | None
    count: int
    failed_terms: int | None


def fewest(case: Case) -> tuple[list[Found], Extent] | None:
    """The combinations of the fewest terms, in the order in which they are told.

    None if all of them are few enough to be told.
    """
    few = _FewTerms(case)
    sound = few.while_sound
    care = case.found.widest & case.base
    if sound.count <= MOST_SOUND and case.view.cubes(case.target, care).count <= MOST_ALL:
        return None
    cubes, terms = _first(sound)
    by_failure, besides = few.by_one_failure_in_time()
    needs = len(case.needed.cube)  # which are told once, not in each
    kept = [
        *kept_of(case.view, few.judged(cubes)),
        *kept_of(case.view, few.judged(by_failure)),
    ]
    return kept, Extent(
        terms=None if len(cubes) == sound.count else max(terms - needs, 0),
        count=sound.count,
        failed_terms=None if besides is None else max(besides + 1 - needs, 0),
    )


class _FewTerms:
    """The combinations of a case while nothing has failed, or one thing alone."""

    def __init__(self, case: Case) -> None:
        self.case, self.view, self.space = case, case.view, case.space
        self._failures = [n for n in self.space.support(case.target) if self.view.is_failure(n)]

    def _only(self, failure: str = "", mode: int = 0) -> tuple[Node, Node]:
        """What is enough, and what can be, where nothing but one thing may have failed."""
        care = self.case.found.widest & self.case.base
        held = self.space.point({n: mode if n == failure else 0 for n in self._failures})
        return (
            self.space.exists_both(self.case.target, held, self._failures),
            self.space.exists_both(care, held, self._failures),
        )

    @cached_property
    def while_sound(self) -> Primes:
        """Those while nothing has failed."""
        return self.view.cubes(*self._only())

    def by_one_failure_in_time(self) -> tuple[list[Cube], int | None]:
        """The same as by one failure; none at all if they take too long to find."""
        try:
            with within(FAILURE_SECONDS, "finding what one failure brings about"):
                return self.by_one_failure()
        except TooLong:
            return [], None

    def by_one_failure(self) -> tuple[list[Cube], int]:
        """Those by one failure, and how many terms at most are told besides it."""
        sound, _ = self._only()
        alike: dict[tuple[Node, Node], list[tuple[str, int]]] = {}
        for name in self._failures:
            for mode in range(1, self.space.size(name)):
                alike.setdefault(self._only(name, mode), []).append((name, mode))
        found = [
            (self.view.cubes(*parts, MOST_BESIDES, gained), modes)
            for parts, modes in alike.items()
            if (gained := parts[0] & parts[1] & ~sound) != self.space.false
        ]
        sizes: Counter[int] = Counter()
        for primes, modes in found:
            for size, number in primes.by_size().items():
                sizes[size] += number * len(modes)
        most = _most_terms(sizes, MOST_BESIDES)
        return [
            {**cube, name: frozenset([mode])}
            for primes, modes in found
            for cube in primes
            if len(cube) <= most
            for name, mode in modes
        ], most

    def judged(self, cubes: Iterable[Cube]) -> Iterator[Found]:
        """The cubes that nothing shows to be impossible, nothing else having failed."""
        for cube in cubes:
            others = {name: 0 for name in self._failures if name not in cube}
            where = self.space.cube(cube) & self.space.point(others)
            where = where & self.case.found.widest & self.case.base
            if self.case.found.can_be(where, 0) is not False:
                yield judged(self.case, cube, where)


def _first(primes: Primes) -> tuple[list[Cube], int]:
    """The first of them, and up to how many terms these are all."""
    sizes = primes.by_size()
    terms = _most_terms(sizes, max(sizes, default=0))
    number = sum(count for size, count in sizes.items() if size <= terms)
    return list(islice(primes, number or MOST_OF_A_KIND)), terms


def _most_terms(sizes: Mapping[int, int], most: int) -> int:
    """Up to how many terms, `most` at most, they are few enough to be told."""
    told = 0
    for size in range(most + 1):
        told += sizes.get(size, 0)
        if told > MOST_OF_A_KIND:
            return max(size - 1, 0)
    return most
