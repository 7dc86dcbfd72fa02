"""A moment of each of many runs, kept as sets of runs; a set of runs is an integer, a bit a run."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tellback.logic.run import Moment
from tellback.logic.under_way import Parts, UnderWay, add

Runs = int
"""A set of runs: bit i is run i."""

MovesOfRuns = Mapping[str, Mapping[int, Runs]]
"""For each variable the values it takes, each with the runs in which it does."""


@dataclass(frozen=True, slots=True)
class Row:
    """A moment of each of many runs.

    `state` has a set of runs for every value of every variable, in the order of the system. Runs
    that do not come to rest are `lost`: they stand still. `found` are the values of the rules.
    """

    all: Runs
    state: list[Runs]
    found: list[Runs]
    times: Parts[Runs]
    now: UnderWay[Runs]
    lost: Runs

    @property
    def moving(self) -> Runs:
        """The runs in which something is under way."""
        return self.now.moving(0)

    @property
    def settled(self) -> Runs:
        """The runs in which nothing is under way any more."""
        return self.all & ~self.moving & ~self.lost

    def under_way(self, run: int) -> tuple[str, ...]:
        """What is under way in one run."""
        return tuple(
            name
            for name, begun in self.now.begun.items()
            if any(runs >> run & 1 for runs in begun.values())
        )


def changes_of(changes: Iterable[Mapping[str, int]]) -> MovesOfRuns:
    """What is changed in each run, the first one's first."""
    found: dict[str, dict[int, Runs]] = {}
    for run, of_run in enumerate(changes):
        for name, value in of_run.items():
            values = found.setdefault(name, {})
            values[value] = values.get(value, 0) | 1 << run
    return found


def bits(runs: Runs) -> Iterator[int]:
    """The runs of a set, the first first."""
    while runs:
        low = runs & -runs
        yield low.bit_length() - 1
        runs ^= low


def any_of(sets: Iterable[Runs]) -> Runs:
    """The runs that are in any of the sets."""
    found = 0
    for runs in sets:
        found |= runs
    return found


def each_once(moments: Iterable[Moment]) -> Iterator[tuple[Moment, Runs]]:
    """Each moment with the runs that are there."""
    found: dict[int, tuple[Moment, Runs]] = {}
    for run, moment in enumerate(moments):
        found[id(moment)] = moment, found.get(id(moment), (moment, 0))[1] | 1 << run
    yield from found.values()


def other_in(numbers: Parts[Runs], new: Parts[Runs], changed: Runs) -> Parts[Runs]:
    """The numbers, in some runs other ones."""
    found = {number: runs & ~changed for number, runs in numbers.items() if runs & ~changed}
    for number, runs in new.items():
        add(found, number, runs, 0)
    return found
