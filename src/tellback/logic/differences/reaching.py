"""Runs in one book to a state that differs from a start in memories too.

What the memories need is done first, then what the state itself has of inputs. Every run is made
in time, so one that is found shows that the state can be; that none is found shows nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from tellback.logic.formula import Formula, Lit, conj, disj, neg
from tellback.logic.path import Event, Paths, Run
from tellback.logic.picture import Picture
from tellback.logic.run import State
from tellback.logic.system import NumberRule, PlaceRule

DEPTH = 3
"""How far back is gone for what brings about what."""

STARTS = 3
"""From how many starting states a run is tried, those nearest to the state first."""

Events = list[Event | None]
"""Moves in order; None lets all settle."""


class Reaching:
    """Finds runs in the picture of one book."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.paths = Paths(picture, None, "")
        self._needed: dict[tuple[str, int, bool], Formula] = {}

    def run(self, state: State) -> Run | None:
        """A run to these values, or None if none was found."""
        goal = conj(Lit(name, frozenset({value})) for name, value in state.items())
        direct = self.paths.direct(state, goal)
        if direct is not None or not any(map(self._is_memory, state)):
            return direct
        firsts = {name: moment.state for name, moment in self.picture.starts.items()}
        away = {n: sum(first[k] != v for k, v in state.items()) for n, first in firsts.items()}
        for start in sorted(away, key=lambda name: away[name])[:STARTS]:
            for events in self._plans(firsts[start], state):
                run = self.paths.replay(start, events, goal)
                if run is not None:
                    return run
        return None

    def _is_memory(self, name: str) -> bool:
        return not self.picture.system.variables[name].is_input

    # -- plans --------------------------------------------------------------------------------

    def _plans(self, first: State, state: State) -> Iterator[Events]:
        """Moves that may lead from a starting state to the state."""
        inputs = {n: v for n, v in state.items() if not self._is_memory(n)}
        last: Events = [Event(n, v, False) for n, v in inputs.items()]
        for base in (inputs, {}):
            stages = self._stages(first, {**first, **base}, state, DEPTH)
            if stages:
                together: Events = [event for stage in stages for event in stage]
                apart: Events = [event for stage in stages for event in (*stage, None)]
                yield [*together, *last]
                yield [*apart, *last]
                yield [*last, *apart]

    def _stages(self, first: State, now: State, wanted: State, depth: int) -> list[Events]:
        """For each memory that must change, first what it needs, each stage a list of moves."""
        stages: list[Events] = []
        for name, value in wanted.items():
            if self._is_memory(name) and first[name] != value and depth:
                needed = self._nearest(now, name, value)
                if needed is not None:
                    stages += self._stages(first, now, needed, depth - 1)
                    stages.append(self._moves(needed))
        return [stage for stage in stages if stage]

    def _moves(self, needed: State) -> Events:
        return [
            Event(name, value, False)
            for name, value in needed.items()
            if not self._is_memory(name)
        ]

    def _nearest(self, now: State, name: str, value: int) -> Mapping[str, int] | None:
        """The state nearest to this one in which the memory goes toward the value."""
        node = self.picture.symbols.of(self._due(name, value, value > now[name]))
        variables = self.picture.system.variables

        def cost(n: str, v: int) -> int:
            if now[n] == v:
                return 0
            return 30 if variables[n].kind == "failure" else 10 if variables[n].is_input else 11

        return self.picture.symbols.space.nearest(node, cost)

    # -- what a memory needs ------------------------------------------------------------------

    def _due(self, name: str, value: int, up: bool) -> Formula:
        key = name, value, up
        if key not in self._needed:
            self._needed[key] = disj(self._ways(name, value, up))
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
