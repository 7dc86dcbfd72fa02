"""What is under way in a set of cases, and what comes of it: the part of the rules that takes time.

Delays run, surfaces travel and readings move, each at its own pace until it is due, breaks, or is
sent elsewhere. `tellback.logic.time_rules` says what a set of cases is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import inf
from typing import Generic, TypeVar

from tellback.logic.pending import Pending, after
from tellback.logic.repeats import Marks
from tellback.logic.time_rules import Cases, Change, Reading, S, Steps, Surface, TimeRules

Parts = dict[float, S]
"""Numbers, each with the cases in which it is so."""

Begun = dict[Pending, S]
"""What a thing has under way, each with its cases."""

Hit = tuple[str, Pending, S]
"""Something under way that is due now, and in which cases."""

K = TypeVar("K")

EVENTS = 1000
"""After so many events with nothing from outside an aeroplane is taken never to rest."""

MARKED_AFTER = 32
"""After so many events it is looked for what comes again; nearly all has come to rest by then."""


@dataclass(frozen=True, slots=True)
class Leg(Generic[S]):
    """Where a surface or reading goes next: as far as `to`, where its variable takes `value`.

    `stays`: it has that value already.
    """

    cases: S
    to: float
    value: int
    pace: float
    stays: bool


@dataclass(frozen=True, slots=True)
class UnderWay(Generic[S]):
    """What each thing has under way, and where those stand that have nothing.

    `numbers` has the moving readings that stand still, and how far beyond its place a surface is
    that stopped between two; nothing of one that is at its place.
    """

    begun: Mapping[str, Begun[S]]
    numbers: Mapping[str, Parts[S]]

    def moving(self, none: S) -> S:
        """The cases in which anything is under way."""
        for begun in self.begun.values():
            for cases in begun.values():
                none = none | cases
        return none

    def next_of_each(self, rules: TimeRules, live: S, cases: Cases[S]) -> list[Hit[S]]:
        """What comes next in each case: what is due first, by the order of the book at one time."""
        coming = sorted(
            ((pending.due, rules.order[name], name, pending, where)
             for name, begun in self.begun.items()
             for pending, where in begun.items()),
            key=lambda one: one[:2],
        )  # fmt: skip
        hits = []
        for _, _, name, pending, where in coming:
            hit = where & live
            if hit != cases.none:
                live = live & (cases.everything ^ hit)
                hits.append((name, pending, hit))
        return hits

    def next_of_all(self) -> list[Hit[S]]:
        """What comes next at the earliest time in any case: one thing in all cases due then."""
        firsts = {name: min(p.due for p in begun) for name, begun in self.begun.items()}
        name = min(firsts, key=lambda one: firsts[one], default=None)
        if name is None:
            return []
        begun = self.begun[name]
        return [(name, pending, begun[pending]) for pending in begun if pending.due == firsts[name]]

    def arrived(self, hits: Iterable[Hit[S]], rules: TimeRules, cases: Cases[S]) -> UnderWay[S]:
        """The same when that has come, and is under way no more; surfaces are at their places."""
        under_way = {name: dict(begun) for name, begun in self.begun.items()}
        numbers = dict(self.numbers)
        for name, pending, hit in hits:
            left = under_way[name][pending] & (cases.everything ^ hit)
            under_way[name][pending] = left
            if left == cases.none:
                del under_way[name][pending]
            if name in rules.moving:
                numbers[name] = dict(numbers.get(name, {}))
                add(numbers[name], pending.to, hit, cases.none)
        return UnderWay(under_way, numbers)

    def without(self, stopped: S, cases: Cases[S]) -> UnderWay[S]:
        """The same with nothing under way in some cases."""
        begun: dict[str, Begun[S]] = {}
        for name, of in self.begun.items():
            for pending, where in of.items():
                left = where & (cases.everything ^ stopped)
                add(begun.setdefault(name, {}), pending, left, cases.none)
        return UnderWay({name: of for name, of in begun.items() if of}, self.numbers)

    def seen_from(self, times: Parts[S], none: S) -> dict[tuple[object, ...], S]:
        """The same without the clock: alike for what is alike at another time."""
        seen: dict[tuple[object, ...], S] = {}
        for name, begun in self.begun.items():
            for pending, cases in begun.items():
                for time, since in times.items():
                    add(seen, (name, *pending.seen_from(time)), cases & since, none)
        for name, parts in self.numbers.items():
            for number, cases in parts.items():
                add(seen, (name, number), cases, none)
        return seen


def changes_of_hits(hits: Iterable[Hit[S]]) -> list[Change[S]]:
    """The values that variables take as what was due comes."""
    return [(name, pending.value, hit) for name, pending, hit in hits]


def renewed(
    rules: TimeRules, cases: Cases[S], steps: Steps[S], times: Parts[S], before: UnderWay[S]
) -> UnderWay[S]:
    """What is under way in steady cases: what was goes on, the rest begins or stops."""
    under_way: dict[str, Begun[S]] = {}
    numbers: dict[str, Parts[S]] = {}
    renewal = _Renewal(cases, steps, times, before)
    for name, (index, seconds) in rules.delays.items():
        holds = steps.found[index]
        if holds != cases.none and (begun := renewal.of_delay(name, holds, seconds)):
            under_way[name] = begun
    for surface in rules.surfaces:
        name = surface.name
        if name in before.begun or name in before.numbers or renewal.sends(surface):
            legs = renewal.legs_of_surface(surface)
            begun, standing = renewal.carried_on(legs, *renewal.of_surface(name))
            standing.pop(0.0, None)
            if begun:
                under_way[name] = begun
            if standing:
                numbers[name] = standing
    for reading in rules.readings:
        old = before.begun.get(reading.name, {}), before.numbers.get(reading.name, {})
        begun, standing = renewal.carried_on(renewal.legs_of_reading(reading), *old)
        if begun:
            under_way[reading.name] = begun
        if standing:
            numbers[reading.name] = standing
    return UnderWay(under_way, numbers)


class _Renewal(Generic[S]):
    """What was under way in some cases, and the state that they are in now."""

    def __init__(
        self, cases: Cases[S], steps: Steps[S], times: Parts[S], before: UnderWay[S]
    ) -> None:
        self.cases, self.none, self.everything = cases, cases.none, cases.everything
        self.found, self.live = steps.found, steps.live
        self.steps, self.times, self.before = steps, times, before

    def of_delay(self, name: str, holds: S, seconds: float) -> Begun[S]:
        """Where a delay runs whose condition `holds`: on since it began, or anew."""
        where = holds & self.live & self.cases.at(name, 0)
        if where == self.none:
            return {}
        begun: Begun[S] = {}
        unbroken = where & (self.everything ^ self.steps.broken.get(name, self.none))
        for pending, running in self.before.begun.get(name, {}).items():
            going_on = running & unbroken
            add(begun, pending, going_on, self.none)
            where = where & (self.everything ^ going_on)
        for time, since in self.times.items():
            add(begun, Pending(after(time, seconds), 1, time), where & since, self.none)
        return begun

    def of_surface(self, name: str) -> tuple[Begun[S], Parts[S]]:
        """What a surface had under way, and how far beyond its place it stands everywhere else.

        One that steps have put elsewhere is wholly there.
        """
        stayed = self.everything ^ self.steps.moved.get(name, self.none)
        begun: Begun[S] = {}
        standing: Parts[S] = {}
        at_its_place = self.everything
        for pending, where in self.before.begun.get(name, {}).items():
            add(begun, pending, where & stayed, self.none)
            at_its_place = at_its_place & (self.everything ^ (where & stayed))
        for part, where in self.before.numbers.get(name, {}).items():
            add(standing, part, where & stayed, self.none)
            at_its_place = at_its_place & (self.everything ^ (where & stayed))
        add(standing, 0.0, at_its_place, self.none)
        return begun, standing

    def sends(self, surface: Surface) -> bool:
        """Whether a surface is sent elsewhere than where it is, in any case."""
        found, none = self.found, self.none
        for place, index in surface.targets:
            sent = found[index]
            if sent != none:
                elsewhere = self.everything ^ self.cases.at(surface.name, place)
                if sent & elsewhere != none:
                    return True
        return False

    # -- where to ---------------------------------------------------------------------------

    def legs_of_surface(self, surface: Surface) -> Iterator[Leg[S]]:
        """To the place next to each on the way to its target, or back to the target itself."""
        left = self.live
        for target, index in surface.targets:
            sent = self.found[index]
            if sent == self.none:
                continue
            sent = sent & left
            left = left & (self.everything ^ sent)
            for drive, step in surface.drives if sent != self.none else ():
                driven = sent & self.found[drive]
                sent = sent & (self.everything ^ driven)
                if driven == self.none:
                    continue
                for place, at in self.cases.held(surface.name):
                    here = driven & at
                    if here != self.none:
                        way = (target > place) - (target < place)
                        pace = 1 / step if step else inf
                        yield Leg(here, float(way), place + way, pace, not way)

    def legs_of_reading(self, reading: Reading) -> Iterator[Leg[S]]:
        """To the edge of each region on the way to the goal, or within its region to the goal."""
        left = self.live
        for index, goal, region_of_goal, rate in reading.rows:
            here = self.found[index]
            if here == self.none:
                continue
            here = here & left
            if here == self.none:
                continue
            left = left & (self.everything ^ here)
            for region, at in self.cases.held(reading.name):
                moving = here & at
                if moving == self.none:
                    continue
                if region == region_of_goal:
                    yield Leg(moving, goal, region, rate, True)
                else:
                    toward = region + (1 if region_of_goal > region else -1)
                    edge = reading.edges[min(region, toward)]
                    yield Leg(moving, edge, toward, rate, False)

    def carried_on(
        self, legs: Iterable[Leg[S]], begun: Begun[S], standing: Parts[S]
    ) -> tuple[Begun[S], Parts[S]]:
        """What is under way on its legs, and where the rest stands still."""
        none = self.none
        still = self.everything
        new_begun: Begun[S] = {}
        new_standing: Parts[S] = {}

        def set_off(leg: Leg[S], origin: float, time: float, where: S) -> None:
            if leg.stays and (origin == leg.to or leg.pace == inf):
                add(new_standing, leg.to, where, none)
            else:
                due = after(time, abs(leg.to - origin) / leg.pace)
                pending = Pending(due, leg.value, time, origin, leg.to, leg.pace)
                add(new_begun, pending, where, none)

        for leg in legs:
            still = still & (self.everything ^ leg.cases)
            for pending, where in begun.items():
                here = where & leg.cases
                if here == none:
                    continue
                if (pending.to, pending.value, pending.pace) == (leg.to, leg.value, leg.pace):
                    add(new_begun, pending, here, none)
                else:
                    for time, since in self.times.items():
                        set_off(leg, pending.at(time), time, here & since)
            for number, where in standing.items():
                here = where & leg.cases
                if here == none:
                    continue
                if leg.stays and number == leg.to:
                    add(new_standing, number, here, none)
                else:
                    for time, since in self.times.items():
                        set_off(leg, number, time, here & since)
        for pending, where in begun.items():
            for time, since in self.times.items():
                add(new_standing, pending.at(time), where & since & still, none)
        for number, where in standing.items():
            add(new_standing, number, where & still, none)
        return new_begun, new_standing


class Comings(Generic[S]):
    """Event after event with nothing from outside, and the cases that come back to where they were.

    `names` are the variables of the aeroplane.
    """

    def __init__(self, names: Iterable[str]) -> None:
        self._names = tuple(names)
        self._marks = Marks()
        self._events = 0
        self._state: list[tuple[tuple[int, S], ...]] | None = None
        self._seen: dict[tuple[object, ...], S] = {}
        self._came: S | None = None

    def are_many(self) -> bool:
        """Count one more event; whether there are so many that it is worth looking."""
        self._events += 1
        return self._events > MARKED_AFTER

    def again(self, cases: Cases[S], now: UnderWay[S], times: Parts[S], came: S) -> S:
        """The cases that are as they were at the mark, and in which something has come since.

        `came` are those in which something has come now: of others no more is known than before.
        """
        self._came = came if self._came is None else self._came | came
        same = self._as_at_mark(cases, now, times) & self._came
        if self._marks.is_due():
            self._came = None
            self._state = [tuple(cases.held(name)) for name in self._names]
            self._seen = now.seen_from(times, cases.none)
        return same

    def _as_at_mark(self, cases: Cases[S], now: UnderWay[S], times: Parts[S]) -> S:
        if self._state is None:
            return cases.none
        same = now.moving(cases.none)
        seen = now.seen_from(times, cases.none)
        for key in {*seen, *self._seen}:
            differs = seen.get(key, cases.none) ^ self._seen.get(key, cases.none)
            same = same & (cases.everything ^ differs)
            if same == cases.none:
                return same
        for name, held in zip(self._names, self._state, strict=True):
            for value, where in held:
                same = same & (cases.everything ^ (where ^ cases.at(name, value)))
            if same == cases.none:
                return same
        return same


def add(found: dict[K, S], key: K, where: S, none: S) -> None:
    """Note something in some cases."""
    if where != none:
        found[key] = found[key] | where if key in found else where
