"""How an aeroplane ends up after any choice of changes from a moment: all choices at once.

Every variable is a function of the choices (which failures, which settings). All choices begin at
the same time, so that one clock serves them all: at each time at which something is due in some of
them, it happens in those, event after event, by the rules of `time_rules` and `under_way`.
"""

from __future__ import annotations

import operator
from collections.abc import Collection, Iterable, Mapping, Sequence

from tellback.logic.compiled import conditions_of
from tellback.logic.formula import Formula, Lit
from tellback.logic.limits import TooLarge, within
from tellback.logic.run import Moment, under_way_in
from tellback.logic.solve import Graph, Valuation
from tellback.logic.space import Node, Space
from tellback.logic.system import System
from tellback.logic.time_rules import Change, Found, TimeRules
from tellback.logic.under_way import Comings, changes_of_hits, renewed

Choice = tuple[Node, ...]
"""A variable as a function of the choices: for each of its values, where it has that value."""

EVENTS = 4000
"""So many events of any choices may follow one another; where there are more, it is refused."""

SECONDS = 30.0
"""The processor time that the outcome of all choices may take."""


class ChosenCases:
    """The states of all choices, as the rules of time take them.

    `values` are those that follow from the state; `put` forgets those that it changes.
    """

    def __init__(self, graph: Graph, space: Space, state: dict[str, Choice]) -> None:
        self.everything, self.none = space.true, space.false
        self.graph, self.space, self.state = graph, space, state
        self._edges = frozenset(graph.system.edges())
        self._conditions = conditions_of(graph.system)
        self.places: Mapping[int, int] = {id(f): i for i, f in enumerate(self._conditions)}
        self.values = self._valuation()
        self._quiet = self._valuation()
        self._quiet.values |= dict.fromkeys(self._edges, space.false)

    def _valuation(self) -> Valuation[Node]:
        def literal(lit: Lit) -> Node:
            of = self.state[lit.variable]
            return self.space.any_of(of[i] for i in lit.values)

        true, false = self.space.true, self.space.false
        return Valuation(self.graph, true, false, operator.invert, literal)

    def found(self) -> Found[Node]:
        """Where each condition holds, nothing being seen to come on or go out."""
        return _Conditions(self._conditions, self._quiet)

    def with_edges(self, found: Found[Node], where: Node) -> Found[Node]:
        """The same with what comes on and goes out, if there is anything of the kind."""
        return _Conditions(self._conditions, self.values) if self._edges else found

    def at(self, name: str, value: int) -> Node:
        """The choices in which the variable has the value."""
        return self.state[name][value]

    def held(self, name: str) -> Iterable[tuple[int, Node]]:
        """The values that the variable has, each with its choices."""
        return [(v, where) for v, where in enumerate(self.state[name]) if where != self.none]

    def put(self, changes: Iterable[Change[Node]]) -> None:
        """Variables take values, each in some choices."""
        new: dict[str, list[Node]] = {}
        for name, value, where in changes:
            of = new.setdefault(name, list(self.state[name]))
            of[:] = [node & ~where for node in of]
            of[value] = of[value] | where
        self.become({name: tuple(of) for name, of in new.items()})

    def become(self, state: Mapping[str, Choice]) -> None:
        """Variables become other functions of the choices."""
        new = {name: of for name, of in state.items() if self.state[name] != of}
        self.state |= new
        for name in new:
            for key in self.graph.depending_on(name):
                self.values.values.pop(key, None)
                if key not in self._edges:
                    self._quiet.values.pop(key, None)


class _Conditions:
    """The conditions of the rules by where they stand, worked out when looked at."""

    def __init__(self, conditions: Sequence[Formula], values: Valuation[Node]) -> None:
        self._conditions, self._values = conditions, values

    def __getitem__(self, index: int) -> Node:
        return self._values.of(self._conditions[index])


class Outcome:
    """The system from a moment on, with some variables chosen freely.

    `space` is that of the choices; `chosen` gives the free variables as functions in it. Only
    the memories among `bearing` are followed. What is in `restless` never comes to rest: what is
    so in it means nothing. What leads to something stated impossible is in `impossible`.
    """

    def __init__(
        self,
        graph: Graph,
        space: Space,
        moment: Moment,
        chosen: Mapping[str, Choice],
        bearing: Collection[str],
    ) -> None:
        state: dict[str, Choice] = {
            variable.name: tuple(
                space.true if value == moment.state[variable.name] else space.false
                for value in range(len(variable.values))
            )
            for variable in graph.system.variables.values()
        }
        self._cases = ChosenCases(graph, space, {**state, **chosen})
        self._rules = TimeRules(graph.system, self._cases.places, bearing)
        self._bearing = [name for name in graph.system.variables if name in bearing]
        self._time = moment.time
        self._now = under_way_in(moment, self._rules, space.true)
        self.space = space
        self.restless = self.impossible = space.false

    @property
    def system(self) -> System:
        """The system."""
        return self._cases.graph.system

    @property
    def state(self) -> Mapping[str, Choice]:
        """Each variable as a function of the choices."""
        return self._cases.state

    @property
    def values(self) -> Valuation[Node]:
        """The values that follow from the present state."""
        return self._cases.values

    def put(self, changes: Mapping[str, Choice]) -> None:
        """Variables become other functions of the choices."""
        self._cases.become(changes)

    @within(SECONDS, "working out what follows from all choices")
    def settle(self) -> None:
        """Run on until nothing is under way but in what never comes to rest."""
        self.steady()
        comings: Comings[Node] = Comings(self._bearing)
        for _ in range(EVENTS):
            hits = self._now.next_of_all()
            if not hits:
                return
            self._cases.put(changes_of_hits(hits))
            self._time = hits[0][1].due
            self._now = self._now.arrived(hits, self._rules, self._cases)
            self.steady()
            if comings.are_many():
                came = self.space.any_of(where for _, _, where in hits)
                times = {self._time: self.space.true}
                self._stop(comings.again(self._cases, self._now, times, came))
        raise TooLarge(f"more than {EVENTS:,} events follow what may be chosen")

    def steady(self) -> None:
        """Let all that is due change, edges last, and note what is under way then."""
        live = ~self.restless
        steps = self._rules.steady(self._cases, live, self._now.begun)
        times = {self._time: self.space.true}
        self._now = renewed(self._rules, self._cases, steps, times, self._now)
        self._stop(steps.restless)
        self.impossible = self.impossible | self.values.of(self.system.impossible)

    def _stop(self, restless: Node) -> None:
        if restless != self.space.false:
            self.restless = self.restless | restless
            self._now = self._now.without(restless, self._cases)


def free(space: Space, name: str, size: int) -> Choice:
    """A variable that may have any value: a variable of the space of choices."""
    return tuple(space.literal(name, (i,)) for i in range(size))
