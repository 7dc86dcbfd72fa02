"""The rules of time of `docs/meaning.md`, written once for all that runs: the steps of an instant.

They are written for a set of cases: one aeroplane (1 is all of it), many runs side by side (a bit
of an integer each), or all choices of what may be moved (a diagram). `&`, `|` and `^` join and part
such sets alike. What the cases are in is kept by `Cases`; what is under way in them is the matter
of `progress`; and which comes next in time is for those who run them to say: `run`, `abreast`,
`outcome`. The search for possible states, which leaves times out, takes its steps from here too
(`rooms`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Generic, Protocol, Self, TypeVar

from tellback.logic.limits import look
from tellback.logic.repeats import Marks
from tellback.logic.system import NumberRule, PlaceRule, System


class CaseSet(Protocol):
    """A set of cases: what is common to an integer and a diagram."""

    def __and__(self, other: Self, /) -> Self: ...
    def __or__(self, other: Self, /) -> Self: ...
    def __xor__(self, other: Self, /) -> Self: ...


S = TypeVar("S", bound=CaseSet)
S_co = TypeVar("S_co", bound=CaseSet, covariant=True)

Change = tuple[str, int, S]
"""A variable takes a value in some cases."""


class Found(Protocol[S_co]):
    """For each condition of the rules the cases in which it holds."""

    def __getitem__(self, index: int, /) -> S_co: ...


class States(Protocol[S]):
    """A set of cases as they are now: every case is in `everything`, and none is in `none`."""

    everything: S
    none: S

    def found(self) -> Found[S]:
        """Where each condition holds, nothing being seen to come on or go out."""

    def with_edges(self, found: Found[S], where: S) -> Found[S]:
        """The same, with what comes on and goes out; `found` itself if nothing does in `where`."""

    def at(self, name: str, value: int) -> S:
        """The cases in which the variable has the value."""


class Cases(States[S], Protocol[S]):
    """A set of cases whose variables can be put otherwise."""

    def held(self, name: str) -> Iterable[tuple[int, S]]:
        """The values that the variable has, each with its cases."""

    def put(self, changes: Iterable[Change[S]]) -> None:
        """Variables take values, each in some cases."""


@dataclass(frozen=True, slots=True)
class Surface:
    """A surface: its targets and its drives, each with where its condition stands.

    A drive takes so many seconds for one place.
    """

    name: str
    targets: tuple[tuple[int, int], ...]
    drives: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """A moving reading: for each row where its condition stands, goal, the goal's region, and rate.

    `edges` are the numbers between its regions.
    """

    name: str
    rows: tuple[tuple[int, float, int, float], ...]
    edges: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Steps(Generic[S]):
    """What came of steps: the cases that are steady now, and those that never will be.

    `found` are the conditions now. `broken`: where the condition of a running delay did not hold
    for an instant. `moved`: where a variable changed. `names` repeat without end in `restless`.
    """

    found: Found[S]
    live: S
    restless: S
    broken: Mapping[str, S]
    moved: Mapping[str, S]
    names: frozenset[str]


class TimeRules:
    """The rules of a system for the memories `bearing` on something (None: for all).

    `at` tells where each condition stands, by its identity.
    """

    def __init__(
        self, system: System, at: Mapping[int, int], bearing: Collection[str] | None = None
    ) -> None:
        def follows(name: str) -> bool:
            return bearing is None or name in bearing

        self._at = at
        self.steps = [
            (rule.variable, at[id(rule.condition)], rule.value)
            for rule in system.steps
            if follows(rule.variable)
        ]
        self.lasts = [
            (r.variable, at[id(r.condition)]) for r in system.lasts if follows(r.variable)
        ]
        self.delays = {
            rule.variable: (at[id(rule.condition)], rule.seconds)
            for rule in system.delays
            if follows(rule.variable)
        }
        self.surfaces = [self._surface(r) for r in system.surfaces if follows(r.variable)]
        self.readings = [self._reading(r) for r in system.numbers if follows(r.variable)]
        self.moving = frozenset(reading.name for reading in self.readings)
        timed = [*self.delays, *(s.name for s in self.surfaces), *(r.name for r in self.readings)]
        self.order = {name: i for i, name in enumerate(timed)}
        """Which of several things that are due at the same time comes first: the lowest."""

    def _surface(self, rule: PlaceRule) -> Surface:
        targets = ((place, self._at[id(sent)]) for place, sent in rule.targets)
        drives = ((self._at[id(drive.acts)], drive.step) for drive in rule.drives)
        return Surface(rule.variable, tuple(targets), tuple(drives))

    def _reading(self, rule: NumberRule) -> Reading:
        rows = (
            (self._at[id(condition)], goal, rule.regions.index(goal), rate)
            for condition, goal, rate in rule.rows
        )
        return Reading(rule.variable, tuple(rows), tuple(cut for cut, _ in rule.regions.cuts))

    # -- one step ---------------------------------------------------------------------------

    def due(self, found: Found[S], cases: States[S], where: S) -> list[Change[S]]:
        """What is due to change in some cases; of several rules the first that holds counts."""
        none, everything = cases.none, cases.everything
        changes = []
        decided: dict[str, S] = {}
        for name, index, value in self.steps:
            hit = found[index]
            if hit == none:
                continue
            hit = hit & where
            if name in decided:
                hit = hit & (everything ^ decided[name])
            if hit != none:
                _add(decided, name, hit)
                new = hit & (everything ^ cases.at(name, value))
                if new != none:
                    changes.append((name, value, new))
        return changes

    def noted(self, found: Found[S], cases: States[S], where: S) -> list[Change[S]]:
        """The conditions whose coming and going is watched, where they are not as noted."""
        changes = []
        for name, index in self.lasts:
            now = found[index]
            differs = where & (now ^ cases.at(name, 1))
            if differs != cases.none:
                changes.append((name, 1, differs & now))
                changes.append((name, 0, differs & (cases.everything ^ now)))
        return changes

    def step(
        self, found: Found[S], cases: States[S], where: S
    ) -> tuple[list[Change[S]], list[Change[S]], S]:
        """What is due to change, what is then noted, and which cases are steady.

        Only where nothing else is due, what comes on or goes out counts.
        """
        changes = self.due(found, cases, where)
        resting = _without(where, changes, cases)
        if resting == cases.none:
            return changes, [], resting
        loud = cases.with_edges(found, resting)
        noted = self.noted(loud, cases, resting)
        if loud is not found:
            edged = self.due(loud, cases, resting)
            changes += edged
            resting = _without(resting, edged, cases)
        return changes, noted, resting

    # -- steps until steady -----------------------------------------------------------------

    def steady(self, cases: Cases[S], live: S, running: Collection[str] = ()) -> Steps[S]:
        """Steps until nothing is due in any of the `live` cases, but where that never comes.

        `running` are the delays under way, which may break.
        """
        rounds: Rounds[S] = Rounds(cases)
        moved: dict[str, S] = {}
        broken: dict[str, S] = {}
        timed = [(name, self.delays[name][0]) for name in running if name in self.delays]
        restless = cases.none
        names: set[str] = set()
        while True:
            look()
            found = cases.found()
            for name, index in timed:
                _add(broken, name, cases.everything ^ found[index])
            changes, noted, steady = self.step(found, cases, live)
            if not changes:
                cases.put(noted)
                return Steps(found, live, restless, broken, moved, frozenset(names))
            for name, _, where in changes:
                _add(moved, name, where)
            again = rounds.put([*changes, *noted]) & live & (cases.everything ^ steady)
            if again != cases.none:
                live, restless = live & (cases.everything ^ again), restless | again
                names |= {name for name, _, where in changes if where & again != cases.none}

    def put_at_rest(self, cases: Cases[S], kept: Collection[str]) -> list[Change[S]]:
        """What puts delays and surfaces where they are if all has long been as it is now.

        Surfaces in `kept` stay.
        """
        found, everything = cases.found(), cases.everything
        changes: list[Change[S]] = []
        for name, (index, _) in self.delays.items():
            holds = everything & found[index]
            changes += ((name, 1, holds), (name, 0, everything ^ holds))
        for surface in self.surfaces:
            if surface.name not in kept:
                changes += ((surface.name, to, everything & found[i]) for to, i in surface.targets)
        return [
            (name, value, new)
            for name, value, where in changes
            if (new := where & (everything ^ cases.at(name, value))) != cases.none
        ]


class Rounds(Generic[S]):
    """Changes made step after step, and the cases that come back to where they were."""

    def __init__(self, cases: Cases[S]) -> None:
        self._cases = cases
        self._marks = Marks()
        self._was: dict[str, tuple[tuple[int, S], ...]] = {}

    def put(self, changes: Collection[Change[S]]) -> S:
        """Make the changes; the cases in which all is then as it was at the mark."""
        cases = self._cases
        for name, _, _ in changes:
            if name not in self._was:
                self._was[name] = tuple(cases.held(name))
        cases.put(changes)
        same = cases.everything
        for name, held in self._was.items():
            as_it_was = cases.none
            for value, where in held:
                as_it_was = as_it_was | (where & cases.at(name, value))
            same = same & as_it_was
            if same == cases.none:
                break
        if self._marks.is_due():
            self._was.clear()
        return same


def _without(where: S, changes: Iterable[Change[S]], cases: States[S]) -> S:
    for _, _, changed in changes:
        where = where & (cases.everything ^ changed)
    return where


def _add(found: dict[str, S], name: str, where: S) -> None:
    found[name] = found[name] | where if name in found else where
