"""A moment of each of many runs, kept as sets of runs; a set of runs is an integer, a bit a run."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tellback.logic.run import Moment

Runs = int
"""A set of runs: bit i is run i."""

Begun = dict[tuple[float, int], Runs]
"""What a thing has under way: when due and to which value, each with its runs."""

Numbers = dict[float, Runs]
"""Numbers, each with the runs in which it is so."""

MovesOfRuns = Mapping[str, Mapping[int, Runs]]
"""For each variable the values it takes, each with the runs in which it does."""


@dataclass(frozen=True, slots=True)
class Row:
    """A moment of each of many runs.

    `state` has a set of runs for every value of every variable, in the order of the system. Runs
    that do not come to rest are `lost`: they stand still. `found` are the values of the rules.
    `beyond` is as in `Moment`, and has no runs in which a surface is wholly at its place.
    """

    all: Runs
    state: list[Runs]
    found: list[Runs]
    times: Numbers
    numbers: Mapping[str, Numbers]
    under_way: Mapping[str, Begun]
    beyond: Mapping[str, Numbers]
    lost: Runs

    @property
    def moving(self) -> Runs:
        """The runs in which something is under way."""
        return any_of(runs for begun in self.under_way.values() for runs in begun.values())

    @property
    def settled(self) -> Runs:
        """The runs in which nothing is under way any more."""
        return self.all & ~self.moving & ~self.lost


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


def add(numbers: Numbers, number: float, runs: Runs) -> None:
    """Note a number in some runs."""
    if runs:
        numbers[number] = numbers.get(number, 0) | runs


def other_in(numbers: Numbers, new: Numbers, changed: Runs) -> Numbers:
    """The numbers, in some runs other ones."""
    found = {number: runs & ~changed for number, runs in numbers.items() if runs & ~changed}
    for number, runs in new.items():
        add(found, number, runs)
    return found


def passed_until(row: Row, now: Numbers) -> Numbers:
    """How many seconds pass in which runs, until these times."""
    passed: Numbers = {}
    for begun, since in row.times.items():
        for time, until in now.items():
            add(passed, time - begun, since & until)
    return passed
