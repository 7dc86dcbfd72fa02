"""A run to a given set of states: found among the possible states, then replayed in time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tellback.logic.formula import Formula
from tellback.logic.possible import Possible
from tellback.logic.picture import Picture
from tellback.logic.run import Barred, Moment, State, Unsettled
from tellback.logic.space import Node
from tellback.logic.words import fault_text, literal_text, seconds_text

TRIES = 40
"""How many neighbouring states are tried when a run is traced back by one event."""


@dataclass(frozen=True, slots=True)
class Event:
    """One event of a run: an input takes a value (`time` None), or something under way arrives."""

    variable: str
    value: int
    timed: bool


@dataclass(frozen=True, slots=True)
class Run:
    """A run as it was replayed in time: from where, what was done and when, and where it ended."""

    start: str
    steps: tuple[tuple[float, str], ...]
    end: Moment

    def __str__(self) -> str:
        if not self.steps:
            return f"{self.start}, as it stands"
        told = [f"{text}" if time == 0 else f"{text} (at {seconds_text(time)})"
                for time, text in self.steps]
        return f"{self.start}: " + "; ".join(told)


class Paths:
    """Finds runs in the possible states of a picture."""

    def __init__(self, picture: Picture, possible: Possible) -> None:
        self.picture = picture
        self.space = picture.symbols.space
        self.possible = possible

    def direct(self, state: State, goal: Formula) -> Run | None:
        """A run that only moves inputs, from the nearest starting state, toward a state."""
        inputs = [v.name for v in self.picture.system.variables.values() if v.is_input]
        starts = sorted(
            self.picture.starts.items(),
            key=lambda s: sum(s[1].state[n] != state.get(n, s[1].state[n]) for n in inputs),
        )
        for name, moment in starts[:3]:
            moves = [
                Event(n, state[n], False)
                for n in inputs
                if n in state and state[n] != moment.state[n]
            ]
            for order in _orders(self.picture, moves):
                run = self.replay(name, order, goal)
                if run:
                    return run
        return None

    def traced(self, state: Mapping[str, int], goal: Formula) -> Run | None:
        """A run traced back through the layers of the possible states, replayed in time."""
        names = self.possible.names
        free = [Event(n, v, False) for n, v in state.items() if n not in names]
        bound = {n: v for n, v in state.items() if n in names}
        trace = self._trace(bound)
        if trace is None:
            return None
        start, events = trace
        moment = self.picture.starts[start]
        free = [e for e in free if moment.state[e.variable] != e.value]
        return self.replay(start, [*free, *events], goal) or self.replay(
            start, [*events, *free], goal
        )

    def _trace(self, state: dict[str, int]) -> tuple[str, list[Event]] | None:
        layers = self.possible.layers
        depth = next(
            (i for i, layer in enumerate(layers) if self.space.holds(layer, state)), None
        )
        if depth is None:
            return None
        events: list[Event] = []
        while depth > 0:
            before = self._before(state, layers[depth - 1])
            if before is None:
                return None
            event, state = before
            events.insert(0, event)
            depth -= 1
        names = self.possible.names
        for name, moment in self.picture.starts.items():
            if all(moment.state[n] == state[n] for n in names):
                return name, events
        return None

    def _before(self, state: dict[str, int], layer: Node) -> tuple[Event, dict[str, int]] | None:
        """A state of the layer and an event that leads from it to this state."""
        variables = self.picture.system.variables
        inputs = {n: v for n, v in state.items() if variables[n].is_input}
        for name in self.possible.names:
            same = inputs if not variables[name].is_input else {
                n: v for n, v in inputs.items() if n != name
            }
            near = layer & self.space.all_of(self.space.literal(n, (v,)) for n, v in same.items())
            for candidate in self._several(near):
                for event in self._events(name, state, candidate):
                    if self._after(candidate, event) == state:
                        return event, candidate
        return None

    def _events(self, name: str, state: State, before: State) -> Iterator[Event]:
        variable = self.picture.system.variables[name]
        if variable.is_input:
            if state[name] != before[name]:
                yield Event(name, state[name], False)
        elif variable.kind == "delay" and not before[name]:
            yield Event(name, 1, True)
        elif variable.kind in ("place", "number"):
            for value in (before[name] - 1, before[name] + 1):
                if 0 <= value < len(variable.values):
                    yield Event(name, value, True)

    def _after(self, before: dict[str, int], event: Event) -> dict[str, int] | None:
        """The steady state that follows, times aside; None if the event cannot be."""
        runner = self.picture.aeroplane
        normal = {v.name: v.normal for v in self.picture.system.variables.values()}
        whole = {**normal, **before}
        moment = Moment(0.0, whole, {r.variable: r.starts_at for r in runner.system.numbers}, {})
        try:
            if event.timed:
                under_way = runner.resume(moment).under_way
                if event.variable not in under_way or under_way[event.variable][1] != event.value:
                    return None
                after = runner.put(moment, {event.variable: event.value})
            else:
                after = runner.move(moment, {event.variable: event.value})
        except (Barred, Unsettled):
            return None
        return {n: after.state[n] for n in before}

    def _several(self, node: Node) -> Iterator[dict[str, int]]:
        for _ in range(TRIES):
            found = self.space.pick(node)
            if found is None:
                return
            normal = self.picture.system.variables
            state = {n: found.get(n, normal[n].normal) for n in self.possible.names}
            if not self.space.holds(node, state):
                return
            yield state
            node = node & ~self.space.all_of(
                self.space.literal(n, (v,)) for n, v in state.items()
            )

    def replay(self, start: str, events: Sequence[Event], goal: Formula) -> Run | None:
        """The events in time from a starting state; the run as soon as the goal holds, or None."""
        runner = self.picture.aeroplane
        moment = self.picture.starts[start]
        steps: list[tuple[float, str]] = []
        if runner.holds(goal, moment.state):
            return Run(start, (), moment)
        impossible = self.picture.system.impossible
        for event in [*events, None]:
            try:
                for text, moment in self._carry_out(moment, event):
                    if text:
                        steps.append((moment.time, text))
                    if runner.holds(impossible, moment.state):
                        return None
                    if runner.holds(goal, moment.state):
                        return Run(start, tuple(steps), moment)
            except (Barred, Unsettled):
                return None
        return None

    def _carry_out(self, moment: Moment, event: Event | None) -> Iterator[tuple[str, Moment]]:
        """The moments of one event; without an event, those until settled."""
        runner = self.picture.aeroplane
        if event is not None and not event.timed:
            if moment.state[event.variable] != event.value:
                yield self._text(event), runner.move(moment, {event.variable: event.value})
            return
        for _ in range(200):
            if moment.settled or (event and moment.state[event.variable] == event.value):
                return
            moment = runner.next_event(moment)
            yield "", moment

    def _text(self, event: Event) -> str:
        system = self.picture.system
        variable = system.variables[event.variable]
        word = variable.values[event.value]
        match variable.kind:
            case "control":
                return f"{variable.thing} to {word}"
            case "failure":
                if event.value == 0:
                    return f"{variable.thing} works again"
                return fault_text(variable.thing, word)
        return literal_text(system, event.variable, [event.value])


def _orders(picture: Picture, moves: list[Event]) -> Iterator[list[Event]]:
    """A few orders in which inputs may be moved: outside first, crew first, failures first."""
    rank = {"situation": 0, "reading": 1, "control": 2, "failure": 3}
    kind = {m: rank[picture.system.variables[m.variable].kind] for m in moves}
    yield sorted(moves, key=lambda m: kind[m])
    yield sorted(moves, key=lambda m: -kind[m])
    yield sorted(moves, key=lambda m: (kind[m] + 2) % 4)
    yield [*reversed(sorted(moves, key=lambda m: kind[m]))]
