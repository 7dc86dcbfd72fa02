"""What may be at all, for many cases side by side: an abstract interpretation of the rules.

Each variable has, in each case, a set of values that it may have; how variables hang together is
left out, and so are times. From where a case begins the sets grow by whatever may change them,
until nothing may. Then what cannot be at rest is taken out again: a latch that must be set, a
reading that must move on. All that can come about in truth, at any time or once all has settled, is
within what is left, so that what may not be so in it is never so. A case is a bit of an integer, as
a run is in `tellback.logic.abreast`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Self

from tellback.logic.formula import And, Formula, Key, Lit, Neg, Or, Ref, Some
from tellback.logic.row import Runs, any_of
from tellback.logic.run import State
from tellback.logic.solve import Graph, Valuation
from tellback.logic.symbols import changes_of
from tellback.logic.system import System
from tellback.logic.world import by_variable

Cases = Runs
"""A set of cases: bit i is case i."""

Domain = list[Cases]
"""For each value of a variable the cases in which it may have it."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """In which cases something may be so, and in which it must."""

    may: Cases
    must: Cases

    def __and__(self, other: Bounds) -> Bounds:
        return Bounds(self.may & other.may, self.must & other.must)

    def __or__(self, other: Bounds) -> Bounds:
        return Bounds(self.may | other.may, self.must | other.must)


class Domains:
    """The values that variables may have, and what follows from them.

    With `quiet` nothing is seen to come on or go out.
    """

    def __init__(
        self, graph: Graph, cases: Cases, domains: Mapping[str, Domain], quiet: bool = False
    ) -> None:
        self._graph, self.cases = graph, cases
        self.of_variable = {name: list(domain) for name, domain in domains.items()}
        everything, nothing = Bounds(cases, cases), Bounds(0, 0)
        known = dict.fromkeys(graph.system.edges(), nothing) if quiet else {}
        self._known = known.keys()
        self._values = Valuation(graph, everything, nothing, self._denied, self._literal, known)

    def _denied(self, bounds: Bounds) -> Bounds:
        return Bounds(self.cases & ~bounds.must, self.cases & ~bounds.may)

    def _literal(self, lit: Lit) -> Bounds:
        domain = self.of_variable[lit.variable]
        others = any_of(cases for i, cases in enumerate(domain) if i not in lit.values)
        return Bounds(any_of(domain[i] for i in lit.values), self.cases & ~others)

    def of(self, formula: Formula) -> Bounds:
        """Where the formula may be so, and where it must."""
        return self._values.of(formula)

    def put(self, domains: Iterable[tuple[str, Domain]]) -> bool:
        """Give variables other sets of values; whether any is another one."""
        new = [(name, domain) for name, domain in domains if domain != self.of_variable[name]]
        for name, domain in new:
            self.of_variable[name] = domain
            for key in self._graph.depending_on(name):
                if key not in self._known:
                    self._values.values.pop(key, None)
        return bool(new)

    def first_to_hold(self, rules: Iterable[tuple[int, Formula]]) -> Iterator[tuple[int, Bounds]]:
        """Each value, and where it may and must be due, by the first rule that holds."""
        may = must = self.cases
        for value, condition in rules:
            bounds = self.of(condition)
            yield value, Bounds(may & bounds.may, must & bounds.must)
            may, must = may & ~bounds.must, must & ~bounds.may


class Abstraction:
    """The values that variables may come to from where the cases begin.

    `begin` gives for each variable, of all that bear on what is asked, the cases that begin with
    each of its values.
    """

    def __init__(self, graph: Graph, cases: Cases, begin: Mapping[str, Domain]) -> None:
        self._graph = graph
        self._rules = _Rules(graph.system, begin.keys())
        self._ever = Domains(graph, cases, begin)
        while self._ever.put(list(self._rules.grown(self._ever))):
            pass

    @classmethod
    def of_one(
        cls, graph: Graph, state: State, bearing: Iterable[str], open_ones: Collection[str]
    ) -> Self:
        """One case, which begins with a state in which some variables may have any value."""
        sizes = {name: len(graph.system.variables[name].values) for name in bearing}
        return cls(
            graph,
            1,
            {
                name: [int(name in open_ones or state[name] == value) for value in range(size)]
                for name, size in sizes.items()
            },
        )

    @cached_property
    def _at_rest(self) -> Domains:
        """What is left of the sets once all has settled."""
        domains = Domains(self._graph, self._ever.cases, self._ever.of_variable, quiet=True)
        while domains.put(list(self._rules.shrunk(domains))):
            pass
        return domains

    def may_ever(self, formula: Formula) -> Cases:
        """The cases in which the formula may be so at any time."""
        return self._ever.of(formula).may

    def may_settle(self, formula: Formula) -> Cases:
        """The cases in which the formula may be so once all has settled."""
        return self._at_rest.of(formula).may

    def deciding(self, formulas: Iterable[Formula]) -> set[str]:
        """The variables that may decide these formulas, now or later, through memories too.

        What is the same in all cases for ever decides nothing, and what only that looks at neither.
        """
        system = self._graph.system
        changes = changes_of(system)
        deciding: set[str] = set()
        seen: set[Key] = set()
        waiting = list(formulas)
        while waiting:
            for leaf in self._open_leaves(waiting.pop()):
                if isinstance(leaf, Ref) and leaf.key not in seen:
                    seen.add(leaf.key)
                    waiting.append(system.values[leaf.key])
                elif isinstance(leaf, Lit) and leaf.variable not in deciding:
                    deciding.add(leaf.variable)
                    waiting += changes.get(leaf.variable, ())
        return deciding

    def _open_leaves(self, formula: Formula) -> Iterator[Lit | Ref]:
        """The literals and references that may decide a formula at once."""
        bounds = self._ever.of(formula)
        if not bounds.may or bounds.must == self._ever.cases:
            return
        match formula:
            case Lit() | Ref():
                yield formula
            case Neg(part):
                yield from self._open_leaves(part)
            case And(parts) | Or(parts) | Some(_, parts):
                for part in parts:
                    yield from self._open_leaves(part)


class _Rules:
    """What changes the variables that bear on a question."""

    def __init__(self, system: System, bearing: Collection[str]) -> None:
        steps = by_variable(rule for rule in system.steps if rule.variable in bearing)
        self._steps = {
            name: [(rule.value, rule.condition) for rule in rules] for name, rules in steps.items()
        }
        self._delays = [rule for rule in system.delays if rule.variable in bearing]
        self._lasts = [rule for rule in system.lasts if rule.variable in bearing]
        self._ways = {
            rule.variable: rule.targets for rule in system.surfaces if rule.variable in bearing
        } | {
            rule.variable: tuple((rule.regions.index(goal), when) for when, goal, _ in rule.rows)
            for rule in system.numbers
            if rule.variable in bearing
        }

    def grown(self, domains: Domains) -> Iterator[tuple[str, Domain]]:
        """The sets of values, with what may be added to them next."""
        for name, rules in self._steps.items():
            due = [(value, bounds.may) for value, bounds in domains.first_to_hold(rules)]
            yield name, _with(domains.of_variable[name], due)
        for delay in self._delays:
            due = [(1, domains.of(delay.condition).may)]
            yield delay.variable, _with(domains.of_variable[delay.variable], due)
        for last in self._lasts:
            now = domains.of(last.condition)
            due = [(0, domains.cases & ~now.must), (1, now.may)]
            yield last.variable, _with(domains.of_variable[last.variable], due)
        for name, goals in self._ways.items():
            sent = [(goal, bounds.may) for goal, bounds in domains.first_to_hold(goals)]
            yield name, _toward(domains.of_variable[name], sent)

    def shrunk(self, domains: Domains) -> Iterator[tuple[str, Domain]]:
        """The sets of values, without those that must give way to another one."""
        for name, rules in (*self._steps.items(), *self._ways.items()):
            domain = list(domains.of_variable[name])
            for goal, bounds in domains.first_to_hold(rules):
                for value in range(len(domain)):
                    if value != goal:
                        domain[value] &= ~bounds.must
            yield name, domain
        for delay in self._delays:
            waiting, over = domains.of_variable[delay.variable]
            yield delay.variable, [waiting & ~domains.of(delay.condition).must, over]
        for last in self._lasts:
            was_not, was = domains.of_variable[last.variable]
            now = domains.of(last.condition)
            yield last.variable, [was_not & ~now.must, was & now.may]


def _with(domain: Domain, due: Iterable[tuple[int, Cases]]) -> Domain:
    wider = list(domain)
    for value, cases in due:
        wider[value] |= cases
    return wider


def _toward(domain: Domain, sent: Iterable[tuple[int, Cases]]) -> Domain:
    """Where something that goes step by step may be on its way, or have come to."""
    wider = list(domain)
    for goal, cases in sent:
        for way in (range(goal + 1), range(len(domain) - 1, goal - 1, -1)):
            begun: Cases = 0
            for place in way:
                begun |= cases & domain[place]
                wider[place] |= begun
    return wider
