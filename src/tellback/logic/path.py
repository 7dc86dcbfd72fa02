"""A run to a given set of states: found among the possible states, then replayed in time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tellback.logic.formula import Formula
from tellback.logic.layers import Layers
from tellback.logic.run import Barred, Moment, State, Unsettled
from tellback.logic.space import Node
from tellback.logic.words import fault_text, literal_text, run_time_text

if TYPE_CHECKING:
    from tellback.logic.picture import Picture

TRACED = 6
"""How many ends are traced back and replayed before a run is given up."""

TRIES = 40
"""How many neighbouring states are tried when a run is traced back by one event."""


@dataclass(frozen=True, slots=True)
class Event:
    """One event of a run: an input takes a value, or (`timed`) something under way arrives."""

    variable: str
    value: int
    timed: bool


@dataclass(frozen=True, slots=True)
class Witness:
    """A run as it was replayed in time: from where, what was done and when, and where it ended.

    `events` counts what was done and what arrived in its own time.
    """

    start: str
    steps: tuple[tuple[float, str], ...]
    end: Moment = field(repr=False)
    events: int

    def __str__(self) -> str:
        if not self.steps:
            return f"{self.start}, as it stands"
        told = [
            f"{text}" if time == 0 else f"{text} (at {run_time_text(time)})"
            for time, text in self.steps
        ]
        waited = self.end.time - self.steps[-1][0]
        if waited > 0:
            told.append(f"then {run_time_text(waited)} pass")
        return f"{self.start}: " + "; ".join(told)


class Paths:
    """Finds runs in the possible states of a picture, from all starting states or one."""

    def __init__(self, picture: Picture, failures: int | None, start: str) -> None:
        self.picture = picture
        self.space = picture.symbols.space
        self.failures, self.start = failures, start
        self.starts = {n: m for n, m in picture.starts.items() if start in ("", n)}
        self.dropping = {rule.variable for rule in picture.system.steps}
        self.inputs = [v.name for v in picture.system.variables.values() if v.is_input]

    def nearest(self, node: Node) -> tuple[dict[str, int], int] | None:
        """The state of the set that differs in the fewest inputs from a starting state.

        Told with their number. Memories count only to break ties. None if the set is empty.
        """
        best: tuple[dict[str, int], int] | None = None
        for moment in self.starts.values():
            state = self.space.nearest(node, self._cost(moment.state))
            if state is None:
                return None
            departures = sum(self._moved(moment.state, n, v) for n, v in state.items())
            if best is None or departures < best[1]:
                best = state, departures
        return best

    def fewest_events(self, node: Node) -> int:
        """A number of events that no run into the set can do without.

        An input that never moves by itself takes an event of its own to differ from the start.
        """

        def cost(start: State) -> Callable[[str, int], int]:
            return lambda n, v: self._moved(start, n, v) if n not in self.dropping else 0

        least = []
        for moment in self.starts.values():
            state = self.space.nearest(node, cost(moment.state)) or {}
            least.append(sum(cost(moment.state)(n, v) for n, v in state.items()))
        return min(least)

    def _away(self, goal: Formula) -> int:
        """One event at least, where no starting state meets the goal as it stands."""
        holds = self.picture.aeroplane.holds
        return int(not any(holds(goal, moment.state) for moment in self.starts.values()))

    def _moved(self, start: State, name: str, value: int) -> int:
        return int(self.picture.system.variables[name].is_input and start[name] != value)

    def _cost(self, start: State) -> Callable[[str, int], int]:
        def cost(name: str, value: int) -> int:
            return 1000 * self._moved(start, name, value) + int(start[name] != value)

        return cost

    def direct(self, state: State, goal: Formula) -> Witness | None:
        """A run that only moves inputs, from the nearest starting states, toward a state."""
        moves = {
            name: [Event(n, v, False) for n, v in state.items() if self._moved(m.state, n, v)]
            for name, m in self.starts.items()
        }
        for name in sorted(moves, key=lambda n: len(moves[n]))[:3]:
            for order in _orders(self.picture, moves[name]):
                run = self.leanest(name, order, goal)
                if run:
                    return run
        return None

    def shortest(self, goal: Formula) -> tuple[Witness, bool] | None:
        """A run to the goal and whether it is proved that none has fewer events."""
        node = self.picture.symbols.of(goal)
        possible = self.picture.possible((), [goal], self.failures, self.start)
        nearest = self.nearest(possible.met(node))
        direct = self.direct(nearest[0], goal) if nearest else None
        if direct and direct.events <= max(self.fewest_events(node), self._away(goal)):
            return direct, True
        traced = self.traced(node, goal)
        if traced is None:
            return (direct, False) if direct else None
        run, events, exact = traced
        return run, exact and run.events <= events

    def traced(self, node: Node, goal: Formula) -> tuple[Witness, int, bool] | None:
        """A run traced back through the possible states by number of events, replayed in time.

        Gives the run, the least number of events found possible, and whether all was searched.
        """
        ends: list[tuple[int, str, dict[str, int], Layers]] = []
        exact = True
        for start, moment in self.starts.items():
            possible = self.picture.layers(goal, self.failures, start)
            exact = possible.finish() and exact
            ends += self._ends(node, start, moment.state, possible)
        ends.sort(key=lambda end: end[0])
        for _, start, state, possible in ends[:TRACED]:
            run = self._traced_from(start, state, possible, goal)
            if run is not None:
                return run, ends[0][0], exact
        return None

    def _ends(
        self, node: Node, start: str, first: State, possible: Layers
    ) -> Iterator[tuple[int, str, dict[str, int], Layers]]:
        """For each number of events, the end that takes the fewest moves of free inputs more."""
        bound = possible.names

        def cost(name: str, value: int) -> int:
            return int(name not in bound and first[name] != value)

        for depth, layer in enumerate(possible.layers):
            state = self.space.nearest(node & layer & possible.few_failures, cost)
            if state is not None:
                whole = {n: state.get(n, first[n]) for n in {*state, *bound}}
                if not self.space.holds(layer, whole):
                    whole |= self.space.pick(layer & self.space.point(state)) or {}
                yield depth + sum(cost(n, v) for n, v in whole.items()), start, whole, possible

    def _traced_from(
        self, start: str, state: dict[str, int], possible: Layers, goal: Formula
    ) -> Witness | None:
        first = self.starts[start].state
        free = [
            Event(n, v, False)
            for n, v in state.items()
            if n not in possible.names and first[n] != v
        ]
        events = self._trace({n: v for n, v in state.items() if n in possible.names}, possible)
        if events is None:
            return None
        return self.leanest(start, [*free, *events], goal) or self.leanest(
            start, [*events, *free], goal
        )

    def _trace(self, state: dict[str, int], possible: Layers) -> list[Event] | None:
        """Events that lead to a state, traced back layer by layer; None if the trace is lost."""
        layers = possible.layers
        depth = next((i for i, layer in enumerate(layers) if self.space.holds(layer, state)), 0)
        events: list[Event] = []
        for layer in reversed(layers[:depth]):
            before = self._before(state, layer)
            if before is None:
                return None
            event, state = before
            events.insert(0, event)
        return events

    def _before(self, state: dict[str, int], layer: Node) -> tuple[Event, dict[str, int]] | None:
        """A state of the layer and an event that leads from it to this state."""
        variables = self.picture.system.variables
        inputs = {n: v for n, v in state.items() if variables[n].is_input}
        for name in state:
            same = (
                inputs
                if not variables[name].is_input
                else {n: v for n, v in inputs.items() if n != name}
            )
            for candidate in self._several(layer & self.space.point(same), state):
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
                if (
                    event.variable not in under_way
                    or under_way[event.variable].value != event.value
                ):
                    return None
                after = runner.put(moment, {event.variable: event.value})
            else:
                after = runner.move(moment, {event.variable: event.value})
        except (Barred, Unsettled):
            return None
        return {n: after.state[n] for n in before}

    def _several(self, node: Node, like: State) -> Iterator[dict[str, int]]:
        """Some states of a set, those that are most like a given one first."""
        for _ in range(TRIES):
            found = self.space.nearest(node, lambda n, v: int(like[n] != v))
            if found is None:
                return
            state = {n: found.get(n, v) for n, v in like.items()}
            yield state
            node = node & ~self.space.point(state)

    def leanest(self, start: str, events: Sequence[Event], goal: Formula) -> Witness | None:
        """The events in time, without those that the run to the goal does as well without."""
        found, kept = self.replay(start, events, goal), list(events)
        for event in events if found else ():
            fewer = [other for other in kept if other is not event]
            run = self.replay(start, fewer, goal)
            if run and found and run.events <= found.events:
                found, kept = run, fewer
        return found

    def replay(
        self, start: str, events: Sequence[Event | None], goal: Formula, instants: bool = False
    ) -> Witness | None:
        """The events in time from a starting state; the run as soon as the goal holds, or None.

        None among the events lets all settle before the next. With `instants` it is enough that
        the goal, of variables, holds in the instant of an event, before what this brings about.
        """
        runner = self.picture.aeroplane
        moment = self.starts[start]
        steps: list[tuple[float, str]] = []
        count = 0
        if runner.holds(goal, moment.state):
            return Witness(start, (), moment, 0)
        impossible = self.picture.system.impossible
        for event in [*events, None]:
            try:
                for text, reached in self._carry_out(moment, event):
                    instant = self._instant(moment, event) if instants else reached.state
                    moment = reached
                    count += 1
                    if text:
                        steps.append((moment.time, text))
                    if runner.holds(impossible, moment.state) or self._too_many(moment.state):
                        return None
                    if runner.holds(goal, moment.state) or runner.holds(goal, instant):
                        return Witness(start, tuple(steps), moment, count)
            except (Barred, Unsettled):
                return None
        return None

    def _too_many(self, state: State) -> bool:
        """Whether more has failed than is allowed."""
        failed = sum(state[variable.name] > 0 for variable in self.picture.system.failures())
        return self.failures is not None and failed > self.failures

    def _instant(self, moment: Moment, event: Event | None) -> State:
        """The state in which the next event puts this one, nothing having followed from it yet."""
        if event is not None and not event.timed:
            return {**moment.state, event.variable: event.value}
        name, first = min(moment.under_way.items(), key=lambda pending: pending[1].due)
        return {**moment.state, name: first.value}

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
    yield sorted(moves, key=lambda m: kind[m], reverse=True)
