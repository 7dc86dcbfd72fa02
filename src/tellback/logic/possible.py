"""The states that can be: reached from a starting state, inputs moving one at a time.

Exact and symbolic, with one abstraction: any delay, surface or moving reading under way may be
the next to arrive, whatever the times. That can only add states, so what holds in all of them is
proved; a run found through them is replayed in time before anything is called false.

Inputs that no memory, lock or impossible statement ever looks at are free and left out.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from tellback.logic.formula import FALSE, Formula, Lit, Or
from tellback.logic.run import State, Unsettled
from tellback.logic.solve import Valuation
from tellback.logic.space import Node
from tellback.logic.symbols import Symbols, variables_of
from tellback.logic.system import MoveRule

Split = list[tuple[Node, dict[str, int]]]


@dataclass(frozen=True)
class Possible:
    """The possible states, over `names` alone (everything else is free).

    `exact` is False where the search was given up: then `states` is only known to contain them.
    `layers` holds, for each number of events, the states first reached then.
    """

    states: Node
    names: frozenset[str]
    exact: bool
    layers: tuple[Node, ...] = ()


class Search:
    """Finds the possible states of the variables that bear on a question."""

    def __init__(self, symbols: Symbols, starts: Sequence[State], failures: int | None) -> None:
        self.symbols = symbols
        self.space = symbols.space
        self.system = symbols.system
        self.starts = starts
        self.failures = failures
        self._supports: dict[str, frozenset[str]] = {}

    # -- what bears on the question ---------------------------------------------------------

    def bearing(self, names: Iterable[str]) -> frozenset[str]:
        """The variables whose past bears on these: closed under changes, locks and impossibles."""
        chosen: set[str] = set()
        work = [n for n in names if self._has_past(n)]
        while work:
            name = work.pop()
            if name in chosen:
                continue
            chosen.add(name)
            work.extend(self._looked_at(name) - chosen)
        return frozenset(chosen)

    def _has_past(self, name: str) -> bool:
        return not self.system.variables[name].is_input or bool(self._looked_at(name))

    def _looked_at(self, name: str) -> frozenset[str]:
        """The variables that the changes and locks of this one look at."""
        if name not in self._supports:
            found = set(variables_of(self.symbols.graph, self._rules(name)))
            for part in impossible_parts(self.system.impossible):
                support = variables_of(self.symbols.graph, [part])
                if name in support:
                    found |= support
            self._supports[name] = frozenset(found)
        return self._supports[name]

    def _rules(self, name: str) -> Iterator[Formula]:
        system = self.system
        for move in (*system.steps, *system.bars):
            if move.variable == name:
                yield move.condition
        for timed in (*system.delays, *system.lasts):
            if timed.variable == name:
                yield timed.condition
        for surface in system.surfaces:
            if surface.variable == name:
                yield from (formula for _, formula in surface.targets)
        for number in system.numbers:
            if number.variable == name:
                yield from (formula for formula, _, _ in number.rows)

    # -- the search -------------------------------------------------------------------------

    def over(self, names: Iterable[str], seconds: float = 3.0, layered: bool = False) -> Possible:
        """The possible states as far as they concern `names`; given up after some seconds."""
        chosen = self.bearing(names)
        limit = self._limit(chosen)
        if not chosen:
            return Possible(limit, chosen, True)
        world = _World(self, chosen, limit)
        deadline = time.monotonic() + seconds
        frontier = reached = world.start()
        layers = [reached]
        while frontier != self.space.false:
            if time.monotonic() > deadline:
                return Possible(world.always(), chosen, False)
            fresh = self.space.false
            for image in world.events(frontier):
                new = image & ~reached & ~fresh
                fresh = fresh | new
                if not layered:
                    frontier = frontier | new
            reached = reached | fresh
            frontier = fresh
            layers.append(fresh)
        return Possible(reached, chosen, True, tuple(layers[:-1]))

    def _limit(self, chosen: frozenset[str]) -> Node:
        """States that are not stated impossible and have no more failures than allowed."""
        parts = impossible_parts(self.system.impossible)
        here = [p for p in parts if variables_of(self.symbols.graph, [p]) <= chosen]
        limit = self.space.all_of(~self.symbols.of(part) for part in here)
        return limit & self.few_failures()

    def few_failures(self) -> Node:
        """No more failures than allowed."""
        if self.failures is None:
            return self.space.true
        failed = [self.space.literal(v.name, range(1, len(v.values))) for v in self.system.failures()]
        return ~self.space.at_least(self.failures + 1, failed)


def impossible_parts(impossible: Formula) -> tuple[Formula, ...]:
    """The impossible statements one by one."""
    if isinstance(impossible, Or):
        return impossible.parts
    return (impossible,) if impossible != FALSE else ()


class _World:
    """The events of the variables that bear on a question, as images of sets of states."""

    def __init__(self, search: Search, chosen: frozenset[str], limit: Node) -> None:
        self.search = search
        self.space = search.space
        self.system = search.system
        self.chosen = chosen
        self.limit = limit
        self.of: Callable[[Formula], Node] = search.symbols.of
        self.steps = _by_variable(r for r in self.system.steps if r.variable in chosen)
        self.delays = [r for r in self.system.delays if r.variable in chosen]
        self.lasts = [r for r in self.system.lasts if r.variable in chosen]
        self.quiet = self._quiet() if self.lasts else search.symbols.values

    def _quiet(self) -> Valuation[Node]:
        """Values in which every last steady value is the present one: no edge is seen."""
        symbols = self.search.symbols
        present = {rule.variable: symbols.of(rule.condition) for rule in self.lasts}

        def literal(lit: Lit) -> Node:
            if lit.variable not in present:
                return symbols.literal(lit)
            now = present[lit.variable]
            yes = now if 1 in lit.values else self.space.false
            return yes | (~now if 0 in lit.values else self.space.false)

        return Valuation(symbols.graph, self.space.true, self.space.false, lambda n: ~n, literal)

    def start(self) -> Node:
        """The starting states."""
        symbols = self.search.symbols
        cubes = [symbols.cube({n: s[n] for n in self.chosen}) for s in self.search.starts]
        return self.space.any_of(cubes) & self.limit

    def always(self) -> Node:
        """What holds in every possible state without a search: nothing due, nothing impossible."""
        calm = self.limit
        for rule in self.system.steps:
            if rule.variable in self.chosen:
                due = self.quiet.of(rule.condition)
                calm = calm & ~(due & self._is_not(rule.variable, rule.value))
        return calm

    def _is(self, name: str, value: int) -> Node:
        return self.space.literal(name, (value,))

    def _is_not(self, name: str, value: int) -> Node:
        return ~self._is(name, value)

    def _set(self, states: Node, name: str, value: int) -> Node:
        return self.space.exists(states, (name,)) & self._is(name, value)

    # -- events -----------------------------------------------------------------------------

    def events(self, states: Node) -> Iterator[Node]:
        """For each kind of event, the possible states it leads to."""
        for moved in self._moves(states):
            if moved != self.space.false:
                yield self._steady(moved) & self.limit

    def _moves(self, states: Node) -> Iterator[Node]:
        for name in self.system.variables:
            if name in self.chosen and self.system.variables[name].is_input:
                yield self._moved(states, name)
        for delay in self.delays:
            ripe = states & self.of(delay.condition) & self._is(delay.variable, 0)
            yield self._set(ripe, delay.variable, 1)
        for surface in self.system.surfaces:
            if surface.variable in self.chosen:
                for target, sent in surface.targets:
                    yield from self._toward(states & self.of(sent), surface.variable, target)
        for number in self.system.numbers:
            if number.variable in self.chosen:
                left = states
                for formula, goal, _ in number.rows:
                    here = left & self.of(formula)
                    left = left & ~here
                    yield from self._toward(here, number.variable, number.regions.index(goal))

    def _moved(self, states: Node, name: str) -> Node:
        """The input takes any value that no lock forbids."""
        if self.system.variables[name].kind == "failure" and self.search.failures == 0:
            return self.space.false
        bars = [rule for rule in self.system.bars if rule.variable == name]
        if not bars:
            return self.space.exists(states, (name,))
        moved = self.space.false
        for value in range(len(self.system.variables[name].values)):
            barred = [self.of(rule.condition) for rule in bars if rule.value == value]
            free = states & ~self.space.any_of(barred)
            moved = moved | self._set(free, name, value)
        return moved

    def _toward(self, states: Node, name: str, target: int) -> Iterator[Node]:
        """One place further on the way to a target, from wherever it is."""
        for place in range(len(self.system.variables[name].values)):
            if place != target:
                here = states & self._is(name, place)
                if here != self.space.false:
                    yield self._set(here, name, place + (1 if target > place else -1))

    # -- steps ------------------------------------------------------------------------------

    def _steady(self, states: Node) -> Node:
        """The steady states that follow at once."""
        done, left = self.space.false, states
        for _ in range(200):
            resting = self._rest(left)
            changed = self.space.false
            for part, changes in self._edges(resting):
                after = self._apply(part, changes)
                stepped = any(name in self.steps for name in changes)
                if stepped:
                    changed = changed | after
                else:
                    done = done | after
            left = changed
            if left == self.space.false:
                return self._reset_delays(done)
        raise Unsettled(self.steps, timed=False)

    def _rest(self, states: Node) -> Node:
        """Steps until nothing is due, edges not counted."""
        done, left = self.space.false, states
        for _ in range(200):
            split = self._due(left, self.quiet)
            done = done | self.space.any_of(part for part, changes in split if not changes)
            left = self.space.any_of(self._apply(p, changes) for p, changes in split if changes)
            if left == self.space.false:
                return done
        raise Unsettled(self.steps, timed=False)

    def _due(self, states: Node, values: Valuation[Node]) -> Split:
        """The states, split by which changes are due."""
        split: Split = [(states, {})]
        for name, rules in self.steps.items():
            conditions = [(rule.value, values.of(rule.condition)) for rule in rules]
            split = [piece for part in split for piece in self._split(part, name, conditions)]
        return split

    def _split(
        self, part: tuple[Node, dict[str, int]], name: str, conditions: list[tuple[int, Node]]
    ) -> Iterator[tuple[Node, dict[str, int]]]:
        left, changes = part
        for value, condition in conditions:
            due = left & condition
            left = left & ~condition
            moving = due & self._is_not(name, value)
            if moving != self.space.false:
                yield moving, {**changes, name: value}
            left = left | (due & ~moving) if len(conditions) == 1 else left
            if len(conditions) > 1 and (still := due & ~moving) != self.space.false:
                yield still, changes
        if left != self.space.false:
            yield left, changes

    def _edges(self, states: Node) -> Split:
        """Split by what edges make due, the last steady values brought up to date."""
        if not self.lasts:
            return [(states, {})]
        split = self._due(states, self.search.symbols.values)
        for rule in self.lasts:
            now = self.of(rule.condition)
            conditions = [(1, now), (0, ~now)]
            split = [p for part in split for p in self._split(part, rule.variable, conditions)]
        return split

    def _apply(self, states: Node, changes: dict[str, int]) -> Node:
        if not changes:
            return states
        cube = self.search.symbols.cube(changes)
        return self.space.exists(states, changes) & cube

    def _reset_delays(self, states: Node) -> Node:
        for rule in self.delays:
            condition = self.of(rule.condition)
            broken = states & ~condition
            states = (states & condition) | self._set(broken, rule.variable, 0)
        return states


def _by_variable(rules: Iterable[MoveRule]) -> dict[str, list[MoveRule]]:
    grouped: dict[str, list[MoveRule]] = {}
    for rule in rules:
        grouped.setdefault(rule.variable, []).append(rule)
    return grouped
