"""One aeroplane in time: from moment to moment, from event to event, without chance.

A `Moment` is steady. `move` changes inputs, `next_event` lets time pass to the next event,
`settle` to the end of all that is under way. The rules are those of `docs/meaning.md`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from tellback.logic.formula import Formula, Lit
from tellback.logic.limits import look
from tellback.logic.solve import Graph, Valuation
from tellback.logic.system import DelayRule, MoveRule, NumberRule, PlaceRule, System
from tellback.logic.travel import after, going_of, gone_on
from tellback.refusals import Refusal

State = Mapping[str, int]

ROUNDS = 50
"""How often delays and surfaces of a starting state are put where they belong."""


class Unsettled(Refusal):
    """The aeroplane does not come to rest: changes repeat without end. `names` take part in it."""

    def __init__(self, names: Iterable[str], timed: bool) -> None:
        self.names = tuple(names)
        self.timed = timed
        told = f": {', '.join(self.names[:6])}" if self.names else ""
        super().__init__(
            f"the aeroplane does not come to rest, as changes repeat without end{told}",
            "Look in the book at what brings these about and what ends them. If the aeroplane does "
            "so, write a scenario: its run tells what comes in each round.",
        )


class Barred(Refusal):
    """A control cannot be moved there now."""

    def __init__(self, control: str, position: str) -> None:
        self.control, self.position = control, position
        super().__init__(
            f"{control} cannot go to {position} in this state",
            f"See `cannot go to {position} when` of {control} in the book.",
        )


@dataclass(frozen=True, slots=True)
class Pending:
    """Something under way: when its next event is due, and to which value."""

    due: float
    value: int


@dataclass(frozen=True, slots=True)
class Moment:
    """A steady state at a time: all variables, the numbers of moving readings, what is under way.

    `under_way` gives what its next event will be, for each running delay, travelling surface or
    moving reading. `beyond` is how much of the way to its next place each surface has behind it
    that stands between two; negative toward the one before.
    """

    time: float
    state: State
    numbers: Mapping[str, float]
    under_way: Mapping[str, Pending]
    beyond: Mapping[str, float] = field(default_factory=dict)

    @property
    def settled(self) -> bool:
        """Nothing is under way."""
        return not self.under_way


class Aeroplane:
    """A system prepared for running; evaluations are kept, states are plain data."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.system: System = graph.system
        self._steps: dict[str, list[MoveRule]] = {}
        for rule in self.system.steps:
            self._steps.setdefault(rule.variable, []).append(rule)
        variables = self.system.variables
        self._controls = [name for name in self._steps if variables[name].kind == "control"]
        lasts = (rule.variable for rule in self.system.lasts)
        self._memories = (*self._steps, *lasts)
        self._kept: tuple[State, Valuation[int]] | None = None

    # -- values -----------------------------------------------------------------------------

    def values(self, state: State, quiet: bool = False) -> Valuation[int]:
        """The values that follow in a state, as 1 and 0; `quiet` sees no edges.

        Those of the last steady state are kept: a run asks for them again and again.
        """
        if not quiet and self._kept is not None and self._kept[0] is state:
            return self._kept[1]
        return self._worked_out(state, quiet)

    def _worked_out(self, state: State, quiet: bool) -> Valuation[int]:
        def literal(lit: Lit) -> int:
            return int(state[lit.variable] in lit.values)

        known = dict.fromkeys(self.system.edges(), 0) if quiet else {}
        return Valuation(self.graph, 1, 0, _flip, literal, known)

    def holds(self, formula: Formula, state: State) -> bool:
        """Whether the formula holds in the state."""
        return bool(self.values(state).of(formula))

    # -- starting ---------------------------------------------------------------------------

    def start(self, settings: Mapping[str, int], numbers: Mapping[str, float]) -> Moment:
        """A starting state: the settings, all else normal, run until settled; its time is 0.

        Delays have elapsed where their condition holds, surfaces are where they are sent, and
        nothing comes on or goes out in the first steps. No control drops before the latches are
        where they belong.
        """
        state = {v.name: v.normal for v in self.system.variables.values()}
        state |= dict.fromkeys((rule.variable for rule in self.system.delays), 0) | dict(settings)
        numbers = {**{r.variable: r.starts_at for r in self.system.numbers}, **numbers}
        for _ in range(ROUNDS):
            put = self._at_rest(state, settings)
            if all(state[name] == value for name, value in put.items()):
                break
            state |= put
        self._rest(state, set(), kept=self._controls)
        self._rest(state, set())
        values = self.values(state)
        state |= {rule.variable: values.of(rule.condition) for rule in self.system.lasts}
        settled = self.settle(self._steady(Moment(0.0, state, numbers, {})))
        return replace(settled, time=0.0)

    def _at_rest(self, state: State, settings: Mapping[str, int]) -> dict[str, int]:
        """Where delays and surfaces are if the state has long been so."""
        values = self.values(state)
        put = {rule.variable: values.of(rule.condition) for rule in self.system.delays}
        for rule in self.system.surfaces:
            if rule.variable not in settings:
                for place, sent in rule.targets:
                    if values.of(sent):
                        put[rule.variable] = place
        return put

    # -- events -----------------------------------------------------------------------------

    def barred(self, moment: Moment, changes: Mapping[str, int]) -> tuple[str, int] | None:
        """The first change that a lock forbids, or None."""
        values = self.values(moment.state)
        for rule in self.system.bars:
            wanted = changes.get(rule.variable)
            moves = wanted == rule.value and moment.state[rule.variable] != wanted
            if moves and values.of(rule.condition):
                return rule.variable, rule.value
        return None

    def move(self, moment: Moment, changes: Mapping[str, int]) -> Moment:
        """Inputs take other values at once; Barred if a lock forbids one of them."""
        forbidden = self.barred(moment, changes)
        if forbidden:
            name, value = forbidden
            raise Barred(name, self.system.variables[name].values[value])
        return self._steady(replace(moment, state={**moment.state, **changes}))

    def put(self, moment: Moment, changes: State) -> Moment:
        """Memories take other values, as if their time had come."""
        return self._steady(replace(moment, state={**moment.state, **changes}))

    def resume(self, moment: Moment) -> Moment:
        """The same steady state with what is under way in it."""
        return self._under_way(moment, self.values(moment.state))

    def next_event(self, moment: Moment) -> Moment:
        """Time passes to the next event under way; the moment itself if it is settled."""
        if moment.settled:
            return moment
        name, first = min(moment.under_way.items(), key=lambda pending: pending[1].due)
        numbers = self._numbers_at(moment, first.due)
        beyond = self._beyond_at(moment, first.due)
        beyond.pop(name, None)
        state = {**moment.state, name: first.value}
        under_way = {n: pending for n, pending in moment.under_way.items() if n != name}
        return self._steady(Moment(first.due, state, numbers, under_way, beyond))

    def later(self, moment: Moment, seconds: float) -> list[Moment]:
        """All moments from this one to that so many seconds later, if nobody touches anything."""
        end = after(moment.time, seconds)
        moments = [moment]
        while any(pending.due <= end for pending in moments[-1].under_way.values()):
            moments.append(self.next_event(moments[-1]))
        return [*moments, self.waited(moments[-1], end)]

    def waited(self, moment: Moment, time: float) -> Moment:
        """The same state at a later time, before the next event under way."""
        return replace(
            moment,
            time=time,
            numbers=self._numbers_at(moment, time),
            beyond=self._beyond_at(moment, time),
        )

    def settle(self, moment: Moment, limit: int = 500) -> Moment:
        """The settled moment that follows if nobody touches anything; Unsettled if none does."""
        return self.history(moment, limit)[-1]

    def history(self, moment: Moment, limit: int = 500) -> list[Moment]:
        """All moments from this one to the settled one."""
        moments = [moment]
        while not moments[-1].settled:
            if len(moments) > limit:
                raise Unsettled(sorted(moments[-1].under_way), timed=True)
            moments.append(self.next_event(moments[-1]))
        return moments

    # -- steps ------------------------------------------------------------------------------

    def _steady(self, moment: Moment) -> Moment:
        """Let all that is due change, edges last, and note what is under way then."""
        state = dict(moment.state)
        broken: set[str] = set()
        seen: set[tuple[int, ...]] = set()
        while True:
            values = self._aloud(self._rest(state, broken), state)
            due = self._due(values, state)
            lasts = self._lasts(values)
            if not due:
                break
            state |= lasts
            state |= due
            self._once(state, seen, due)
        if not lasts.items() <= state.items():
            values = self._noted(values, state, lasts)
        self._kept = state, values
        kept = {n: p for n, p in moment.under_way.items() if n not in broken}
        steady = replace(moment, state=state, under_way=kept)
        if moment.beyond:
            steady = replace(steady, beyond=self._still_beyond(moment, state, values))
        return self._under_way(steady, values)

    def _rest(
        self, state: dict[str, int], broken: set[str], kept: Iterable[str] = ()
    ) -> Valuation[int]:
        """Steps until nothing is due, edges not counted; notes which delays break on the way.

        What is `kept` stays as it is. The values at the end, without edges.
        """
        seen: set[tuple[int, ...]] = set()
        while True:
            look()
            values = self.values(state, quiet=True)
            broken.update(self._broken(values))
            due = self._due(values, state)
            for name in kept:
                due.pop(name, None)
            if not due:
                return values
            state |= due
            self._once(state, seen, due)

    def _aloud(self, quiet: Valuation[int], state: State) -> Valuation[int]:
        """The values of a state with its edges, given those without."""
        return self.values(state)

    def _noted(
        self, values: Valuation[int], state: dict[str, int], lasts: Mapping[str, int]
    ) -> Valuation[int]:
        """Note in the state the last steady values; the values that it has then."""
        state |= lasts
        return self.values(state)

    def _once(self, state: State, seen: set[tuple[int, ...]], due: Iterable[str]) -> None:
        """Note the state; Unsettled if it was there before."""
        mark = tuple(state[name] for name in self._memories)
        if mark in seen:
            raise Unsettled(due, timed=False)
        seen.add(mark)

    def _broken(self, values: Valuation[int]) -> Iterable[str]:
        """The delays whose condition does not hold."""
        return [rule.variable for rule in self.system.delays if not values.of(rule.condition)]

    def _lasts(self, values: Valuation[int]) -> dict[str, int]:
        """What edges compare with in the next steady state."""
        return {rule.variable: values.of(rule.condition) for rule in self.system.lasts}

    def _due(self, values: Valuation[int], state: State) -> dict[str, int]:
        due = {}
        for name, rules in self._steps.items():
            for rule in rules:
                if values.of(rule.condition):
                    if state[name] != rule.value:
                        due[name] = rule.value
                    break
        return due

    def _under_way(self, moment: Moment, values: Valuation[int]) -> Moment:
        """The moment with what is under way in it: what was goes on, the rest begins."""
        pending = (
            *(self._waiting(rule, moment) for rule in self._running(values)),
            *(self._travelling(rule, values, moment) for rule in self._sent(values, moment.state)),
            *(self._drifting(rule, values, moment) for rule in self.system.numbers),
        )
        return replace(moment, under_way={name: p for name, p in pending if p is not None})

    def _running(self, values: Valuation[int]) -> Iterable[DelayRule]:
        """The delays whose condition holds, elapsed or not."""
        return [rule for rule in self.system.delays if values.of(rule.condition)]

    def _sent(self, values: Valuation[int], state: State) -> Iterable[PlaceRule]:
        """The surfaces that something sends elsewhere."""
        return [
            rule
            for rule in self.system.surfaces
            if any(t != state[rule.variable] and values.of(sent) for t, sent in rule.targets)
        ]

    def _waiting(self, rule: DelayRule, moment: Moment) -> tuple[str, Pending | None]:
        name = rule.variable
        if moment.state[name]:
            return name, None
        return name, moment.under_way.get(name) or Pending(after(moment.time, rule.seconds), 1)

    def _travelling(
        self, rule: PlaceRule, values: Valuation[int], moment: Moment
    ) -> tuple[str, Pending | None]:
        place = moment.state[rule.variable]
        going = going_of(rule, values, place)
        if going is None or not going[0]:
            return rule.variable, None
        way, step = going
        left = 1 - way * moment.beyond.get(rule.variable, 0.0)
        return rule.variable, Pending(after(moment.time, left * step), place + way)

    def _drifting(
        self, rule: NumberRule, values: Valuation[int], moment: Moment
    ) -> tuple[str, Pending | None]:
        name, region = rule.variable, moment.state[rule.variable]
        row = next((r for r in rule.rows if values.of(r[0])), None)
        if row is None or rule.regions.index(row[1]) == region:
            return name, None
        _, goal, rate = row
        toward = region + (1 if rule.regions.index(goal) > region else -1)
        edge = rule.regions.cuts[min(region, toward)][0]
        away = abs(edge - moment.numbers[name])
        return name, Pending(after(moment.time, away / rate if rate else 0.0), toward)

    def _numbers_at(self, moment: Moment, time: float) -> dict[str, float]:
        """Where the moving readings are at a later time, before the next event."""
        numbers = dict(moment.numbers)
        values = self.values(moment.state)
        for rule in self.system.numbers:
            row = next((r for r in rule.rows if values.of(r[0])), None)
            if row:
                _, goal, rate = row
                way = goal - numbers[rule.variable]
                move = min(abs(way), rate * (time - moment.time))
                numbers[rule.variable] += move if way > 0 else -move
        return numbers

    def _beyond_at(self, moment: Moment, time: float) -> dict[str, float]:
        """How far surfaces are beyond their places at a later time, before the next event."""
        beyond = dict(moment.beyond)
        values = self.values(moment.state)
        for rule in self.system.surfaces:
            name = rule.variable
            if name in beyond or name in moment.under_way:
                going = going_of(rule, values, moment.state[name])
                if going:
                    beyond[name] = gone_on(beyond.get(name, 0.0), *going, time - moment.time)
        return {name: part for name, part in beyond.items() if part}

    def _still_beyond(
        self, moment: Moment, state: State, values: Valuation[int]
    ) -> dict[str, float]:
        """How far surfaces are beyond their places after steps; one moved at once is at its own."""
        beyond = {}
        for rule in self.system.surfaces:
            name = rule.variable
            if name in moment.beyond and state[name] == moment.state[name]:
                going = going_of(rule, values, state[name])
                if going is None or going[1]:
                    beyond[name] = moment.beyond[name]
        return beyond


def _flip(bit: int) -> int:
    return 1 - bit
