"""What is under way in many runs at once, and how far moving readings have got.

The rules are those of `tellback.logic.run.Aeroplane`, where a moment has one of each.
"""

from __future__ import annotations

from collections.abc import Mapping

from tellback.logic.formula import Formula
from tellback.logic.row import Begun, Numbers, Row, Runs, add, any_of, other_in
from tellback.logic.run import after
from tellback.logic.system import DelayRule, NumberRule, PlaceRule, System


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

    def numbers_at(self, row: Row, now: Numbers) -> dict[str, Numbers]:
        """Where the moving readings are at later times, before the next event of each run."""
        passed: Numbers = {}
        for begun, since in row.times.items():
            for time, until in now.items():
                add(passed, time - begun, since & until)
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
        return self._renewed(row, rule.variable, 1, "", rule.seconds, where) if where else {}

    def _renewed(
        self, row: Row, name: str, value: int, by: str, seconds: float, where: Runs
    ) -> Begun:
        """What goes on to a value in some runs, or begins there and takes so many seconds."""
        new: Begun = {}
        for what, runs in row.under_way.get(name, {}).items():
            if what[1:] == (value, by) and runs & where:
                new[what] = runs & where
                where &= ~runs
        if where:
            for time, runs in row.times.items():
                if runs & where:
                    what = after(time, seconds), value, by
                    new[what] = new.get(what, 0) | (runs & where)
        return new

    def _travelling(self, rule: PlaceRule, row: Row, live: Runs) -> Begun:
        places = self.places[rule.variable]
        begun: Begun = {}
        left = live
        for target, sent in rule.targets:
            here = left & self._holds(row, sent)
            left &= ~here
            here &= ~row.state[places[target]]
            if not here:
                continue
            for drive in rule.drives:
                driven = here & self._holds(row, drive.acts)
                here &= ~driven
                for place, at in enumerate(places):
                    moving = driven & row.state[at]
                    if moving:
                        toward = place + (1 if target > place else -1)
                        new = self._renewed(
                            row, rule.variable, toward, drive.name, drive.step, moving
                        )
                        for what, runs in new.items():
                            begun[what] = begun.get(what, 0) | runs
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
                    for time, since in row.times.items():
                        if drifting & since:
                            what = after(time, away / rate if rate else 0.0), toward, ""
                            begun[what] = begun.get(what, 0) | (drifting & since)
        return begun
