"""Runs in one book to a state that differs from a start in memories too.

What the memories need is done first, then what the state itself has of inputs. Every run is made
in time, so one that is found shows that the state can be; that none is found shows nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from typing import NamedTuple

from tellback.logic.diagram import Diagram, nearest_solution
from tellback.logic.formula import Formula, Lit, conj, disj, neg
from tellback.logic.path import Event, Paths, Witness
from tellback.logic.picture import Picture
from tellback.logic.run import Moment, State
from tellback.logic.system import NumberRule, PlaceRule

DEPTH = 3
"""How far back is gone for what brings about what."""

LARGEST = 4_000
"""What a memory needs is left alone if its diagram has more nodes than this."""

MOST_RUNS = 16
"""So many runs are tried for one state."""

STARTS = 3
"""From so many starting states without preparing anything."""

Events = list[Event | None]
"""Moves in order; None lets all settle."""


class Reached(NamedTuple):
    """A run, and what was to be done in it."""

    run: Witness
    events: Events


class Reaching:
    """Finds runs in the picture of one book."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.paths = Paths(picture, None, "")
        self._needed: dict[tuple[str, int, bool], Diagram | None] = {}

    def run(self, state: State, memory: str) -> Reached | None:
        """A run to these values, or None if none was found.

        If a memory that changes at once is left aside, it is enough that they are there for an
        instant, before it changes.
        """
        for start, events in islice(self._all_plans(state), MOST_RUNS):
            run = self.replay(start, events, state, memory)
            if run is not None:
                return self._shorter(Reached(run, events), state, memory)
        return None

    def _shorter(self, reached: Reached, state: State, memory: str) -> Reached:
        """The run without what it can do without."""
        for event in reached.events:
            events = [other for other in reached.events if other is not event]
            run = self.replay(reached.run.start, events, state, memory)
            if run is not None and event is not None:
                reached = Reached(run, events)
        return reached

    def replay(self, start: str, events: Events, state: State, memory: str) -> Witness | None:
        """The run that these events make, if it comes to the state."""
        if start not in self.picture.starts:
            return None
        at_once = any(rule.variable == memory for rule in self.picture.system.steps)
        return self.paths.replay(start, events, _all_of(state), at_once)

    def lasts(self, run: Witness, state: State) -> float:
        """Until when these values stay after a run, if nothing more is moved."""
        goal, runner, moment = _all_of(state), self.picture.aeroplane, run.end
        while runner.holds(goal, moment.state):
            if moment.settled:
                return math.inf
            moment = runner.next_event(moment)
        return moment.time

    def _all_plans(self, state: State) -> Iterator[tuple[str, Events]]:
        """Moves from the starting states nearest to the state, without preparing it, then with."""
        starts = self.picture.starts
        away = {
            name: sum(moment.state[n] != v for n, v in state.items())
            for name, moment in starts.items()
        }
        nearest = sorted(away, key=lambda name: away[name])
        for start in nearest[:STARTS]:
            events = self._moves(starts[start], state)
            yield start, events
            if len(events) > 1:
                yield start, events[::-1]
        for start in nearest:
            for events in self._plans(starts[start], state):
                yield start, events

    def _is_memory(self, name: str) -> bool:
        return not self.picture.system.variables[name].is_input

    # -- plans --------------------------------------------------------------------------------

    def _plans(self, first: Moment, state: State) -> Iterator[Events]:
        """Moves that may lead from a starting state to the state."""
        inputs = {n: v for n, v in state.items() if not self._is_memory(n)}
        for base in (inputs, {}):
            stages = self._stages(first, {**first.state, **base}, state, DEPTH)
            moved = {event.variable for stage in stages for event in stage if event}
            last: Events = [
                Event(name, value, False)
                for name, value in inputs.items()
                if name in moved or first.state[name] != value
            ]
            if stages:
                yield [*(event for stage in stages for event in stage), *last]
            if len(stages) > 1 or (stages and last):
                apart: Events = [event for stage in stages for event in (*stage, None)]
                yield [*apart, *last]
                yield [*last, *apart]

    def _stages(self, first: Moment, now: State, wanted: State, depth: int) -> list[Events]:
        """For each memory that must change, first what it needs, each stage a list of moves."""
        stages: list[Events] = []
        for name, value in wanted.items():
            if self._is_memory(name) and first.state[name] != value and depth:
                needed = self._nearest(first, now, name, value)
                if needed is not None:
                    stages += self._stages(first, now, needed, depth - 1)
                    stages.append(self._moves(first, needed))
        return [stage for stage in stages if stage]

    def _moves(self, first: Moment, needed: State) -> Events:
        return [
            Event(name, value, False)
            for name, value in needed.items()
            if not self._is_memory(name) and first.state[name] != value
        ]

    def _nearest(
        self, first: Moment, now: State, name: str, value: int
    ) -> Mapping[str, int] | None:
        """The state nearest to this one in which the memory goes toward the value."""
        diagram = self._due(name, value, value > now[name])

        def cost(n: str, v: int) -> int:
            return 0 if now[n] == v else self._cost(first, n, v)

        return nearest_solution(diagram, cost) if diagram else None

    def _cost(self, first: Moment, name: str, value: int) -> int:
        """Failures, and controls that are locked at the start, only if there is no other way."""
        variable = self.picture.system.variables[name]
        if variable.kind == "control" and self.picture.aeroplane.barred(first, {name: value}):
            return 50
        return 30 if variable.kind == "failure" else 10 if variable.is_input else 11

    # -- what a memory needs ------------------------------------------------------------------

    def _due(self, name: str, value: int, up: bool) -> Diagram | None:
        key = name, value, up
        if key not in self._needed:
            symbols = self.picture.symbols
            node = symbols.of(disj(self._ways(name, value, up)))
            small = symbols.space.weight(node) <= LARGEST
            self._needed[key] = symbols.space.diagram(node) if small else None
        return self._needed[key]

    def _ways(self, name: str, value: int, up: bool) -> Iterator[Formula]:
        """When the memory is due to change to the value, or goes up or down toward it."""
        system = self.picture.system
        steps = [(r.condition, r.value == value) for r in system.steps if r.variable == name]
        yield from _first_of(steps)
        yield from (r.condition for r in system.delays if r.variable == name and value)
        for place in system.surfaces:
            if place.variable == name:
                yield from _first_of(_targets(place, value, up))
        for number in system.numbers:
            if number.variable == name:
                yield from _first_of(_rows(number, value, up))


def at_one_time(
    both: tuple[Reaching, Reaching], runs: tuple[Witness, Witness], own: Mapping[int, State]
) -> bool:
    """Whether the state that two runs come to is there in both books at once."""
    last = max(run.end.time for run in runs)
    return all(
        run.end.time == last or both[side].lasts(run, own[side]) > last
        for side, run in enumerate(runs)
    )


def _all_of(state: State) -> Formula:
    return conj(Lit(name, frozenset({value})) for name, value in state.items())


def _targets(rule: PlaceRule, value: int, up: bool) -> list[tuple[Formula, bool]]:
    return [(sent, place >= value if up else place <= value) for place, sent in rule.targets]


def _rows(rule: NumberRule, value: int, up: bool) -> list[tuple[Formula, bool]]:
    goals = [(condition, rule.regions.index(goal)) for condition, goal, _ in rule.rows]
    return [(condition, goal >= value if up else goal <= value) for condition, goal in goals]


def _first_of(rows: Sequence[tuple[Formula, bool]]) -> Iterator[Formula]:
    """When the first row that holds is one of those wanted."""
    earlier: list[Formula] = []
    for condition, wanted in rows:
        if wanted:
            yield conj([condition, *map(neg, earlier)])
        earlier.append(condition)
