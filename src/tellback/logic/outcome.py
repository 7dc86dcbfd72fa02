"""How an aeroplane ends up after any choice of changes from a moment: all choices at once.

Every variable is a function of the choices (which failures, which settings). Steps, delays,
travel and drifts run on until nothing changes; things under way at the same time are taken to
arrive together, so an answer found here is replayed in time before it is given.
"""

from __future__ import annotations

import operator
from collections.abc import Collection, Iterable, Mapping

from tellback.logic.formula import Lit
from tellback.logic.limits import Clock
from tellback.logic.run import Moment, Unsettled
from tellback.logic.solve import Graph, Valuation
from tellback.logic.space import Node, Space
from tellback.logic.system import System

Choice = tuple[Node, ...]
"""A variable as a function of the choices: for each of its values, where it has that value."""

ROUNDS = 100

SECONDS = 30.0
"""How long the outcome of all choices may take to work out."""


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
        self._clock = Clock(SECONDS)
        self.graph = graph
        self.system: System = graph.system
        self.steps = [rule for rule in self.system.steps if rule.variable in bearing]
        self.delays = [rule for rule in self.system.delays if rule.variable in bearing]
        self.lasts = [rule for rule in self.system.lasts if rule.variable in bearing]
        self.surfaces = [rule for rule in self.system.surfaces if rule.variable in bearing]
        self.numbers = [rule for rule in self.system.numbers if rule.variable in bearing]
        self.space = space
        self.state: dict[str, Choice] = {
            variable.name: self._fixed(len(variable.values), moment.state[variable.name])
            for variable in self.system.variables.values()
        }
        self.state |= chosen

    def _fixed(self, size: int, value: int) -> Choice:
        return tuple(self.space.true if i == value else self.space.false for i in range(size))

    def values(self, quiet: bool = False) -> Valuation[Node]:
        """The values that follow from the present state; `quiet` sees no edges."""

        def literal(lit: Lit) -> Node:
            self._clock.look()
            of = self.state[lit.variable]
            return self.space.any_of(of[i] for i in lit.values)

        true, false = self.space.true, self.space.false
        known = dict.fromkeys(self.system.edges(), false) if quiet else {}
        return Valuation(self.graph, true, false, operator.invert, literal, known)

    def _lasts(self) -> dict[str, Choice]:
        values = self.values()
        now = {rule.variable: values.of(rule.condition) for rule in self.lasts}
        return {name: (~node, node) for name, node in now.items()}

    def settle(self) -> Valuation[Node]:
        """Run on until nothing changes; the values then. Unsettled if that never comes."""
        for _ in range(ROUNDS):
            self._steady()
            if not self._pass_time():
                return self.values()
        raise Unsettled((), timed=True)

    def _steady(self) -> None:
        for _ in range(ROUNDS):
            while self._step(self.values(quiet=True)):
                pass
            values = self.values()
            lasts = self._lasts()
            stepped = self._step(values)
            self.state |= lasts
            if not stepped:
                return
        raise Unsettled((), timed=False)

    def _step(self, values: Valuation[Node]) -> bool:
        """All due changes together; whether there were any."""
        before = dict(self.state)
        left: dict[str, Node] = {}
        new: dict[str, list[Node]] = {}
        for rule in self.steps:
            name = rule.variable
            rest = left.setdefault(name, self.space.true)
            due = values.of(rule.condition) & rest
            left[name] = rest & ~due
            size = len(before[name])
            new.setdefault(name, [self.space.false] * size)[rule.value] |= due
        for name, nodes in new.items():
            self.state[name] = tuple(
                node | (old & left[name]) for node, old in zip(nodes, before[name], strict=True)
            )
        return any(self.state[name] != before[name] for name in new)

    def _pass_time(self) -> bool:
        """Delays elapse, surfaces arrive, moving readings go one region on; whether any did."""
        values = self.values()
        before = dict(self.state)
        for delay in self.delays:
            holds = values.of(delay.condition)
            self.state[delay.variable] = (~holds, holds)
        for surface in self.surfaces:
            sent = {place: values.of(formula) for place, formula in surface.targets}
            self._go(surface.variable, sent.items())
        for number in self.numbers:
            left, goals = self.space.true, []
            for formula, goal, _ in number.rows:
                here = values.of(formula) & left
                left = left & ~here
                goals.append((number.regions.index(goal), here))
            self._go(number.variable, goals)
        return self.state != before

    def _go(self, name: str, goals: Iterable[tuple[int, Node]]) -> None:
        """One place on toward each goal, where the aeroplane is sent there."""
        old = self.state[name]
        new = list(old)
        for goal, where in goals:
            for place, node in enumerate(old):
                moved = node & where
                if place != goal and moved != self.space.false:
                    new[place] = new[place] & ~moved
                    nearer = place + (1 if goal > place else -1)
                    new[nearer] = new[nearer] | moved
        self.state[name] = tuple(new)


def free(space: Space, name: str, size: int) -> Choice:
    """A variable that may have any value: a variable of the space of choices."""
    return tuple(space.literal(name, (i,)) for i in range(size))
