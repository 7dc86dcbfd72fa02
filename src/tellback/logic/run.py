"""One aeroplane in time: from moment to moment, from event to event, without chance.

A `Moment` is steady. `move` changes inputs, `next_event` lets time pass to the next event,
`settle` to the end of all that is under way. The rules are those of `docs/meaning.md`, as
`time_rules` and `progress` have them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from tellback.logic.compiled import Computed, Evaluator
from tellback.logic.compiled import State as State
from tellback.logic.formula import Formula
from tellback.logic.pending import Pending, after
from tellback.logic.solve import Graph, Valuation
from tellback.logic.system import System
from tellback.logic.time_rules import Change, Found, Rounds, S, TimeRules
from tellback.logic.under_way import EVENTS, Comings, UnderWay, changes_of_hits, renewed
from tellback.refusals import Refusal


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
class Moment:
    """A steady state at a time: all variables, the numbers of moving readings, what is under way.

    `under_way` gives what its next event will be, for each running delay, travelling surface or
    moving reading. `beyond` is how much of the way to its next place each surface has behind it
    that is between two; negative toward the one before.
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


class OneCase:
    """The state of one aeroplane, as the rules of time take it: all of it is 1."""

    everything = 1
    none = 0

    def __init__(self, evaluator: Evaluator, state: dict[str, int]) -> None:
        self.state = state
        self._evaluator = evaluator

    def found(self) -> Found[int]:
        """Where each condition holds, nothing being seen to come on or go out."""
        return self._evaluator.conditions(self.state, quiet=True)

    def with_edges(self, found: Found[int], where: int) -> Found[int]:
        """The same with what comes on and goes out."""
        return self._evaluator.conditions(self.state, quiet=False) if found[-1] else found

    def at(self, name: str, value: int) -> int:
        """Whether the variable has the value."""
        return self.state[name] == value

    def held(self, name: str) -> Iterable[tuple[int, int]]:
        """The value of the variable."""
        return ((self.state[name], 1),)

    def put(self, changes: Iterable[Change[int]]) -> None:
        """Variables take values."""
        for name, value, where in changes:
            if where:
                self.state[name] = value


class Aeroplane:
    """A system prepared for running; the values of the last state are kept, states are plain data.

    Only the memories `bearing` on something are followed, if that is given: the others stay.
    """

    def __init__(self, evaluator: Evaluator, bearing: Collection[str] | None = None) -> None:
        self.evaluator = evaluator
        self.graph: Graph = evaluator.graph
        self.system: System = evaluator.graph.system
        self.rules = TimeRules(self.system, evaluator.at, bearing)
        variables = self.system.variables
        self._controls = {n for n, _, _ in self.rules.steps if variables[n].kind == "control"}
        self._surfaces = {surface.name for surface in self.rules.surfaces}
        self._kept: tuple[State, Computed] | None = None

    def following(self, bearing: Collection[str]) -> Aeroplane:
        """The same with only the memories that bear on something: the others stay as they are."""
        return Aeroplane(self.evaluator, bearing)

    # -- values -----------------------------------------------------------------------------

    def values(self, state: State) -> Valuation[int]:
        """The values that follow in a state, as 1 and 0.

        Those of the last steady state are kept: a run asks for them again and again.
        """
        if self._kept is not None and self._kept[0] is state:
            return self._kept[1]
        return Computed(self.evaluator, state, quiet=False)

    def holds(self, formula: Formula, state: State) -> bool:
        """Whether the formula holds in the state."""
        return bool(self.values(state).of(formula))

    def due(self, state: State) -> dict[str, int]:
        """What is due to change in a state at once, nothing coming on or going out."""
        case = OneCase(self.evaluator, dict(state))
        return {name: value for name, value, _ in self.rules.due(case.found(), case, 1)}

    # -- starting ---------------------------------------------------------------------------

    def start(self, settings: Mapping[str, int], numbers: Mapping[str, float]) -> Moment:
        """A starting state: the settings, all else normal, run until settled; its time is 0.

        Delays have elapsed where their condition holds, surfaces are where they are sent, and
        nothing comes on or goes out in the first steps. No control drops before the latches are
        where they belong. Unsettled if it never comes to rest.
        """
        state = {v.name: v.normal for v in self.system.variables.values()}
        state |= dict.fromkeys((rule.variable for rule in self.system.delays), 0) | dict(settings)
        case = OneCase(self.evaluator, state)
        rounds = Rounds(case)
        while changes := self.rules.put_at_rest(case, settings):
            self._once(rounds, changes)
        for kept in (self._controls, set()):
            rounds = Rounds(case)
            while changes := [
                change for change in self.rules.due(case.found(), case, 1) if change[0] not in kept
            ]:
                self._once(rounds, changes)
        case.put(self.rules.noted(case.found(), case, 1))
        starts = {r.variable: r.starts_at for r in self.system.numbers}
        standing = {name: {float(number): 1} for name, number in {**starts, **numbers}.items()}
        settled = self.settle(self._steady(0.0, state, UnderWay({}, standing)))
        return replace(settled, time=0.0)

    def _once(self, rounds: Rounds[int], changes: list[Change[int]]) -> None:
        if rounds.put(changes):
            raise Unsettled(sorted({name for name, _, _ in changes}), timed=False)

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
        return self.put(moment, changes)

    def put(self, moment: Moment, changes: State) -> Moment:
        """Variables take other values, memories as if their time had come."""
        now = under_way_in(moment, self.rules, 1)
        under_way = {name: begun for name, begun in now.begun.items() if name not in changes}
        numbers = {n: p for n, p in now.numbers.items() if n not in self._surfaces & {*changes}}
        for name in now.begun.keys() & changes.keys() & moment.numbers.keys():
            numbers[name] = {moment.numbers[name]: 1}
        state = {**moment.state, **changes}
        return self._steady(moment.time, state, UnderWay(under_way, numbers))

    def resume(self, moment: Moment) -> Moment:
        """The same steady state with what is under way in it."""
        return self._steady(moment.time, dict(moment.state), under_way_in(moment, self.rules, 1))

    def next_event(self, moment: Moment) -> Moment:
        """Time passes to the next event under way; the moment itself if it is settled."""
        now = under_way_in(moment, self.rules, 1)
        case = OneCase(self.evaluator, dict(moment.state))
        hits = now.next_of_each(self.rules, 1, case)
        if not hits:
            return moment
        case.put(changes_of_hits(hits))
        return self._steady(hits[0][1].due, case.state, now.arrived(hits, self.rules, case))

    def later(self, moment: Moment, seconds: float) -> list[Moment]:
        """All moments from this one to that so many seconds later, if nobody touches anything."""
        end = after(moment.time, seconds)
        moments = [moment]
        while any(pending.due <= end for pending in moments[-1].under_way.values()):
            moments.append(self.next_event(moments[-1]))
        return [*moments, self.waited(moments[-1], end)]

    def waited(self, moment: Moment, time: float) -> Moment:
        """The same state at a later time, before the next event under way."""
        return self._moment(time, moment.state, under_way_in(moment, self.rules, 1))

    def settle(self, moment: Moment) -> Moment:
        """The settled moment that follows if nobody touches anything; Unsettled if none does."""
        return self.history(moment)[-1]

    def history(self, moment: Moment) -> list[Moment]:
        """All moments from this one to the settled one; Unsettled if there is none."""
        moments = [moment]
        comings: Comings[int] = Comings(self.system.variables)
        while not moments[-1].settled:
            moments.append(self.next_event(moments[-1]))
            again = comings.are_many() and self._comes_again(comings, moments[-1])
            if again or len(moments) > EVENTS:
                raise Unsettled(sorted(moments[-1].under_way), timed=True)
        return moments

    def _comes_again(self, comings: Comings[int], moment: Moment) -> bool:
        case = OneCase(self.evaluator, dict(moment.state))
        return bool(comings.again(case, under_way_in(moment, self.rules, 1), {moment.time: 1}, 1))

    # -- steps ------------------------------------------------------------------------------

    def _steady(self, time: float, state: dict[str, int], before: UnderWay[int]) -> Moment:
        """Let all that is due change, edges last, and note what is under way then."""
        case = self._case(state)
        steps = self.rules.steady(case, 1, before.begun)
        if steps.restless:
            raise Unsettled(sorted(steps.names), timed=False)
        now = renewed(self.rules, case, steps, {time: 1}, before)
        # Nothing comes on or goes out in a steady state, so its values are those without edges.
        assert isinstance(steps.found, list)
        self._kept = state, Computed(self.evaluator, state, quiet=True, conditions=steps.found)
        return self._moment(time, state, now)

    def _case(self, state: dict[str, int]) -> OneCase:
        return OneCase(self.evaluator, state)

    def _moment(self, time: float, state: State, now: UnderWay[int]) -> Moment:
        under_way = {name: next(iter(begun)) for name, begun in now.begun.items() if begun}
        numbers = {name: next(iter(parts)) for name, parts in now.numbers.items() if parts}
        at = {name: pending.at(time) for name, pending in under_way.items()}
        numbers |= at
        return Moment(
            time,
            state,
            {rule.name: numbers[rule.name] for rule in self.rules.readings},
            under_way,
            {name: numbers[name] for name in self._surfaces & numbers.keys() if numbers[name]},
        )


def under_way_in(moment: Moment, rules: TimeRules, everything: S) -> UnderWay[S]:
    """What the rules have under way in a moment, and the numbers of the rest, for all cases."""
    numbers = {
        name: {number: everything}
        for standing in (moment.numbers, moment.beyond)
        for name, number in standing.items()
        if name not in moment.under_way and name in rules.order
    }
    begun = {name: {p: everything} for name, p in moment.under_way.items() if name in rules.order}
    return UnderWay(begun, numbers)
