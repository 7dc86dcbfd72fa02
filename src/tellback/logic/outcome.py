"""How an aeroplane ends up after any choice of changes from a moment: all choices at once.

Every variable is a function of the choices (which failures, which settings). All choices begin at
the same time, so that one clock serves them all: at each time at which something is due in some of
them, it happens in those, event after event, as in `tellback.logic.run` for a single one.
"""

from __future__ import annotations

import operator
from collections.abc import Collection, Mapping

from tellback.logic.formula import Lit
from tellback.logic.limits import within
from tellback.logic.run import Moment, Unsettled
from tellback.logic.solve import Graph, Valuation
from tellback.logic.space import Node, Space
from tellback.logic.system import System
from tellback.logic.under_way import Choice, UnderWay

ROUNDS = 100
"""How often steps may follow one another before they are taken to repeat without end."""

EVENTS = 2000
"""How many events may follow one another before the aeroplane is taken never to rest."""

SECONDS = 30.0
"""The processor time that the outcome of all choices may take."""


class Outcome:
    """The system from a moment on, with some variables chosen freely.

    `space` is that of the choices; `chosen` gives the free variables as functions in it. Only
    the memories among `bearing` are followed.
    """

    def __init__(
        self,
        graph: Graph,
        space: Space,
        moment: Moment,
        chosen: Mapping[str, Choice],
        bearing: Collection[str],
    ) -> None:
        self.graph = graph
        self.system: System = graph.system
        self.steps = [rule for rule in self.system.steps if rule.variable in bearing]
        self.lasts = [rule for rule in self.system.lasts if rule.variable in bearing]
        self._edges = frozenset(self.system.edges())
        self.space = space
        self.state: dict[str, Choice] = {
            variable.name: self._fixed(len(variable.values), moment.state[variable.name])
            for variable in self.system.variables.values()
        }
        self.state |= chosen
        self.values = self._valuation()
        self._quiet = self._valuation()
        self._quiet.values |= dict.fromkeys(self._edges, space.false)
        self._under_way = UnderWay(self.system, space, moment, bearing)

    def _fixed(self, size: int, value: int) -> Choice:
        return tuple(self.space.true if i == value else self.space.false for i in range(size))

    def _valuation(self) -> Valuation[Node]:
        """The values that follow from the present state; `put` forgets those that it changes."""

        def literal(lit: Lit) -> Node:
            of = self.state[lit.variable]
            return self.space.any_of(of[i] for i in lit.values)

        true, false = self.space.true, self.space.false
        return Valuation(self.graph, true, false, operator.invert, literal)

    def put(self, changes: Mapping[str, Choice]) -> bool:
        """Variables become other functions of the choices; whether any is another one."""
        new = {name: of for name, of in changes.items() if self.state[name] != of}
        self.state |= new
        for name in new:
            for key in self.graph.depending_on(name):
                self.values.values.pop(key, None)
                if key not in self._edges:
                    self._quiet.values.pop(key, None)
        return bool(new)

    @within(SECONDS, "working out what follows from all choices")
    def settle(self) -> Valuation[Node]:
        """Run on until nothing is under way; the values then. Unsettled if that never comes."""
        self.steady()
        for _ in range(EVENTS):
            name = self._under_way.pass_time(self.values)
            if name is None:
                return self.values
            self.put({name: self._under_way.arrive(name, self.state[name])})
            self.steady()
        raise Unsettled((), timed=True)

    def steady(self) -> None:
        """Let all that is due change, edges last, and note what is under way then."""
        for _ in range(ROUNDS):
            self._rest()
            now = {rule.variable: self.values.of(rule.condition) for rule in self.lasts}
            due = self._due(self.values)
            self.put({name: (~node, node) for name, node in now.items()})
            if not self.put(due):
                self._under_way.note(self.values, self.state)
                return
        raise Unsettled((), timed=False)

    def _rest(self) -> None:
        """Steps until nothing is due, edges not counted; delays break on the way."""
        for _ in range(ROUNDS):
            self._under_way.interrupt(self._quiet)
            if not self.put(self._due(self._quiet)):
                return
        raise Unsettled((), timed=False)

    def _due(self, values: Valuation[Node]) -> dict[str, Choice]:
        """The variables after all that is due; of several rules the first that holds counts."""
        left: dict[str, Node] = {}
        new: dict[str, list[Node]] = {}
        for rule in self.steps:
            name = rule.variable
            rest = left.setdefault(name, self.space.true)
            due = values.of(rule.condition) & rest
            left[name] = rest & ~due
            moved = new.setdefault(name, [self.space.false] * len(self.state[name]))
            moved[rule.value] = moved[rule.value] | due
        return {
            name: tuple(
                node | (old & left[name]) for node, old in zip(nodes, self.state[name], strict=True)
            )
            for name, nodes in new.items()
        }


def free(space: Space, name: str, size: int) -> Choice:
    """A variable that may have any value: a variable of the space of choices."""
    return tuple(space.literal(name, (i,)) for i in range(size))
