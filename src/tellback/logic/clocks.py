"""What is under way in many runs at once, and how far moving readings have got.

The rules are those of `tellback.logic.run.Aeroplane`, where a moment has one of each.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tellback.logic.formula import Formula
from tellback.logic.row import Begun, Numbers, Row, Runs, add, any_of, other_in
from tellback.logic.system import DelayRule, NumberRule, PlaceRule, System
from tellback.logic.travel import after, gone_on


class Clocks:
    """The delays, surfaces and moving readings of a system.

    `places` is where each variable stands in a row, `at` where the condition of a rule does.
    """

    def __init__(self, system: System, places: Mapping[str, range], at: Mapping[int, int]) -> None:
        self.system = system
        self.places = places
        self._at = at
        timed = [rule.variable for rule in system.delays]
        timed += [rule.variable for rule in system.surfaces]
        timed += [rule.variable for rule in system.numbers]
        self._order = {name: i for i, name in enumerate(timed)}

    def _holds(self, row: Row, condition: Formula) -> Runs:
        return row.found[self._at[id(condition)]]

    def order(self, name: str) -> int:
        """Which of several things that are due at the same time comes first: the lowest."""
        return self._order[name]

    def numbers_after(self, row: Row, passed: Numbers) -> dict[str, Numbers]:
        """Where the moving readings are after so many seconds, before the next event of a run."""
        return {rule.variable: self._moved(rule, row, passed) for rule in self.system.numbers}

    def _moved(self, rule: NumberRule, row: Row, passed: Numbers) -> Numbers:
        """The numbers of a reading after some seconds have passed in some runs."""
        numbers = row.numbers[rule.variable]
        moved: Numbers = {}
        left = any_of(passed.values())
        for condition, goal, rate in rule.rows:
            here = left & self._holds(row, condition)
            left &= ~here
            for number, runs in numbers.items():
                way, moving = goal - number, here & runs
                if not way or not moving:
                    continue
                for seconds, of in passed.items():
                    step = min(abs(way), rate * seconds)
                    add(moved, number + (step if way > 0 else -step), moving & of)
        return other_in(numbers, moved, any_of(moved.values()))

    # -- where surfaces are -----------------------------------------------------------------

    def _going(
        self, rule: PlaceRule, row: Row, live: Runs
    ) -> Iterator[tuple[int, int, float, Runs]]:
        """From which place a surface goes which way, in how long to the next, and in which runs.

        1 or -1; 0 where it has been sent there.
        """
        left = live
        for target, sent in rule.targets:
            here = left & self._holds(row, sent)
            left &= ~here
            for drive in rule.drives if here else ():
                driven = here & self._holds(row, drive.acts)
                here &= ~driven
                for place, at in enumerate(self.places[rule.variable]):
                    if going := driven & row.state[at]:
                        yield place, (target > place) - (target < place), drive.step, going

    def beyond_after(self, row: Row, passed: Numbers) -> dict[str, Numbers]:
        """How far surfaces are beyond their places after so many seconds."""
        found = dict(row.beyond)
        for rule in self.system.surfaces:
            name = rule.variable
            if name in row.under_way or name in row.beyond:
                found[name] = self._gone_on(rule, row, passed)
        return found

    def _gone_on(self, rule: PlaceRule, row: Row, passed: Numbers) -> Numbers:
        old = row.beyond.get(rule.variable, {})
        moved: Numbers = {}
        gone: Runs = 0
        for _, way, step, runs in self._going(rule, row, any_of(passed.values())):
            gone |= runs
            for beyond, there in _with_zero(old, runs):
                for seconds, of in passed.items():
                    add(moved, gone_on(beyond, way, step, seconds), there & of)
        return _without_zero(other_in(old, moved, gone))

    def still_beyond(self, row: Row, before: list[Runs]) -> dict[str, Numbers]:
        """How far surfaces are beyond their places after steps; those moved at once are not."""
        found = {}
        for rule in self.system.surfaces:
            if numbers := row.beyond.get(rule.variable):
                places = self.places[rule.variable]
                stayed = any_of(before[at] & row.state[at] for at in places)
                for _, _, step, runs in self._going(rule, row, stayed):
                    stayed &= -1 if step else ~runs
                if kept := other_in(numbers, {}, ~stayed):
                    found[rule.variable] = kept
        return found

    # -- what is under way ------------------------------------------------------------------

    def under_way(self, row: Row, live: Runs) -> dict[str, Begun]:
        """What is under way in a steady row: what was goes on, the rest begins."""
        found = {
            **{rule.variable: self._waiting(rule, row, live) for rule in self.system.delays},
            **{rule.variable: self._travelling(rule, row, live) for rule in self.system.surfaces},
            **{rule.variable: self._drifting(rule, row, live) for rule in self.system.numbers},
        }
        return {name: begun for name, begun in found.items() if begun}

    def _waiting(self, rule: DelayRule, row: Row, live: Runs) -> Begun:
        where = live & row.state[self.places[rule.variable][0]]
        where &= self._holds(row, rule.condition)
        begun: Begun = {}
        for what, runs in row.under_way.get(rule.variable, {}).items():
            if runs & where:
                begun[what] = runs & where
                where &= ~runs
        _begin(begun, row, rule.seconds, 1, where)
        return begun

    def _travelling(self, rule: PlaceRule, row: Row, live: Runs) -> Begun:
        begun: Begun = {}
        beyond = row.beyond.get(rule.variable, {})
        for place, way, step, runs in self._going(rule, row, live):
            for part, there in _with_zero(beyond, runs) if way else ():
                _begin(begun, row, (1 - way * part) * step, place + way, there)
        return begun

    def _drifting(self, rule: NumberRule, row: Row, live: Runs) -> Begun:
        places = self.places[rule.variable]
        begun: Begun = {}
        left = live
        for condition, goal, rate in rule.rows:
            here = left & self._holds(row, condition)
            left &= ~here
            wanted = rule.regions.index(goal)
            here &= ~row.state[places[wanted]]
            if not here:
                continue
            for region, at in enumerate(places):
                toward = region + (1 if wanted > region else -1)
                for number, runs in row.numbers[rule.variable].items():
                    drifting = here & row.state[at] & runs
                    if not drifting:
                        continue
                    away = abs(rule.regions.cuts[min(region, toward)][0] - number)
                    _begin(begun, row, away / rate if rate else 0.0, toward, drifting)
        return begun


def _begin(begun: Begun, row: Row, seconds: float, value: int, where: Runs) -> None:
    """Note what is to come to a value after so many seconds in some runs."""
    for time, since in row.times.items() if where else ():
        if runs := since & where:
            what = after(time, seconds), value
            begun[what] = begun.get(what, 0) | runs


def _with_zero(beyond: Numbers, runs: Runs) -> Iterator[tuple[float, Runs]]:
    """How far beyond its place a surface is in some runs; 0 where nothing is noted."""
    for part, there in beyond.items():
        if there & runs:
            yield part, there & runs
            runs &= ~there
    if runs:
        yield 0.0, runs


def _without_zero(beyond: Numbers) -> Numbers:
    return {part: runs for part, runs in beyond.items() if part}
