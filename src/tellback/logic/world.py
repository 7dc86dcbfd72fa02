"""Sets of states, and the sets that events lead to: symbolic images of `docs/meaning.md`.

Times are left out: any delay, surface or moving reading under way may be the next to arrive.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

from tellback.logic.formula import Lit
from tellback.logic.limits import TooLarge
from tellback.logic.run import State, Unsettled
from tellback.logic.solve import Valuation
from tellback.logic.space import Node, Space
from tellback.logic.symbols import Symbols
from tellback.logic.system import MoveRule

Event = Callable[[Node], Node]
"""From a set of states to the set that one kind of event leads to."""

Split = list[tuple[Node, dict[str, int]]]
"""A set of states in parts, each with the changes due in it."""

ROUNDS = 200

MOST_EDGES = 8
"""With more conditions than this whose beginning or end is watched, diagrams grow without bound."""

MOST_NODES_OF_RESTLESS = 50_000

MOST_NODES_OF_BOUND = 1_000
"""How large the bound on all possible states may grow; it is looked at in every answer."""

MOST_NODES_OF_REST = 20_000
"""How large what invariants leave of one set may grow."""


@dataclass(frozen=True, slots=True)
class _Due:
    """A change that is due: to which value, where its condition holds, and where it is a change."""

    value: int
    condition: Node
    change: Node


class World:
    """The variables that bear on a question, and the events that move them.

    `limit` holds in every possible state. An `opaque` world is not searched: too many of its
    memories watch conditions come and go.
    """

    def __init__(self, symbols: Symbols, chosen: frozenset[str], limit: Node) -> None:
        self.symbols = symbols
        self.space = symbols.space
        self.system = symbols.system
        self.of = symbols.of
        self.chosen = chosen
        self.limit = limit
        self.steps = by_variable(r for r in self.system.steps if r.variable in chosen)
        self.delays = [r for r in self.system.delays if r.variable in chosen]
        self.lasts = [r for r in self.system.lasts if r.variable in chosen]
        self.opaque = len(self.lasts) > MOST_EDGES

    @cached_property
    def due_quietly(self) -> dict[str, list[_Due]]:
        """What is due where no edge is seen."""
        return self._dues(self.quiet_values)

    @cached_property
    def due(self) -> dict[str, list[_Due]]:
        """What is due, edges seen."""
        return self._dues(self.symbols.values) if self.lasts else self.due_quietly

    @cached_property
    def restless(self) -> Node:
        """Where something is due though no edge is seen; TooLarge if that is past a search."""
        somewhere = self.space.false
        for due in (due for dues in self.due_quietly.values() for due in dues):
            somewhere = somewhere | due.change
            if self.space.weight(somewhere) > MOST_NODES_OF_RESTLESS:
                raise TooLarge("too much is due in too many ways to search for what can be")
        return somewhere

    @cached_property
    def quiet_values(self) -> Valuation[Node]:
        """Values in which no edge is seen."""
        if not self.lasts:
            return self.symbols.values
        space = self.space
        none = dict.fromkeys(self.system.edges(), space.false)
        return Valuation(
            self.symbols.graph, space.true, space.false, operator.invert, self.symbols.literal, none
        )

    def _dues(self, values: Valuation[Node]) -> dict[str, list[_Due]]:
        return {name: list(self._dues_of(rules, values)) for name, rules in self.steps.items()}

    def _dues_of(self, rules: Sequence[MoveRule], values: Valuation[Node]) -> Iterator[_Due]:
        parts = first_to_hold(self.space, [(r.value, values.of(r.condition)) for r in rules])
        for rule, (value, here) in zip(rules, parts, strict=True):
            yield _Due(value, here, here & ~self._is(rule.variable, value))

    def start(self, states: Sequence[State]) -> Node:
        """The starting states."""
        cubes = [self.symbols.cube({n: s[n] for n in self.chosen}) for s in states]
        return self.space.any_of(cubes) & self.limit

    def always(self) -> Node:
        """What holds in every possible state, without any search.

        Nothing is due, nothing stated impossible, no delay elapsed whose condition does not hold,
        and every last steady value is the present one; what would make the diagram too large is
        left out, which only makes the set wider.
        """
        calm = self.limit
        for part in self.invariants():
            narrower = calm & part
            if self.space.weight(narrower) < MOST_NODES_OF_BOUND:
                calm = narrower
        return calm

    def excludes(self, states: Node) -> bool:
        """Whether nothing of the set is left by what holds in every possible state."""
        left = states & self.limit
        for part in self.invariants():
            if left == self.space.false:
                return True
            narrower = left & part
            if self.space.weight(narrower) < MOST_NODES_OF_REST:
                left = narrower
        return left == self.space.false

    def invariants(self) -> Iterator[Node]:
        """What holds in every possible state besides the limit, part by part."""
        if self.opaque:
            return
        for dues in self.due_quietly.values():
            for due in dues:
                yield ~due.change
        for rule in self.lasts:
            now, noted = self.of(rule.condition), self._is(rule.variable, 1)
            yield (now & noted) | ~(now | noted)

    def _is(self, name: str, value: int) -> Node:
        return self.symbols.literal(Lit(name, frozenset({value})))

    def _set(self, states: Node, name: str, value: int) -> Node:
        return self.space.exists(states, (name,)) & self._is(name, value)

    # -- events -----------------------------------------------------------------------------

    @cached_property
    def events(self) -> tuple[Event, ...]:
        """Each input moving; each delay, surface and moving reading arriving."""
        inputs = [n for n in self.space.names if n in self.chosen and self._is_input(n)]
        moves: list[Event] = [partial(self._moved, name) for name in inputs]
        return tuple(partial(self._after, move) for move in [*moves, *self._arrivals()])

    def _is_input(self, name: str) -> bool:
        return self.system.variables[name].is_input

    def _after(self, move: Event, states: Node) -> Node:
        """The possible states that follow."""
        moved = move(states)
        if moved == self.space.false:
            return moved
        return self._steady(moved) & self.limit

    def _arrivals(self) -> Iterator[Event]:
        for delay in self.delays:
            ripe = self.of(delay.condition) & self._is(delay.variable, 0)
            yield partial(self._set_where, ripe, delay.variable, 1)
        for surface in self.system.surfaces:
            if surface.variable in self.chosen:
                for target, sent in surface.targets:
                    yield from self._toward(self.of(sent), surface.variable, target)
        for number in self.system.numbers:
            if number.variable in self.chosen:
                left = self.space.true
                for formula, goal, _ in number.rows:
                    here = left & self.of(formula)
                    left = left & ~here
                    yield from self._toward(here, number.variable, number.regions.index(goal))

    def _set_where(self, where: Node, name: str, value: int, states: Node) -> Node:
        return self._set(states & where, name, value)

    def _moved(self, name: str, states: Node) -> Node:
        """The input takes any value that no lock forbids."""
        bars = [rule for rule in self.system.bars if rule.variable == name]
        if not bars:
            return self.space.exists(states, (name,))
        moved = self.space.false
        for value in range(len(self.system.variables[name].values)):
            barred = [self.of(rule.condition) for rule in bars if rule.value == value]
            free = states & ~self.space.any_of(barred)
            moved = moved | self._set(free, name, value)
        return moved

    def _toward(self, where: Node, name: str, target: int) -> Iterator[Event]:
        """One place further on the way to a target, from each other place."""
        for place in range(len(self.system.variables[name].values)):
            if place != target:
                here = where & self._is(name, place)
                yield partial(self._set_where, here, name, place + (1 if target > place else -1))

    # -- steps ------------------------------------------------------------------------------

    def _steady(self, states: Node) -> Node:
        """The steady states that follow at once."""
        done, left = self.space.false, states
        for _ in range(ROUNDS):
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
                return done
        raise Unsettled(self.steps, timed=False)

    def _rest(self, states: Node) -> Node:
        """Steps until nothing is due, edges not counted."""
        done, left = self.space.false, states
        for _ in range(ROUNDS):
            moving = left & self.restless
            done = done | (left & ~self.restless)
            if moving == self.space.false:
                return done
            split = self._split_all(moving, self.due_quietly)
            left = self.space.any_of(self._apply(part, changes) for part, changes in split)
        raise Unsettled(self.steps, timed=False)

    def _split_all(self, states: Node, due: dict[str, list[_Due]]) -> Split:
        """The states, split by which changes are due."""
        split: Split = [(states, {})]
        for name, dues in due.items():
            split = [piece for part in split for piece in self._split(part, name, dues)]
        return split

    def _split(
        self, part: tuple[Node, dict[str, int]], name: str, dues: list[_Due]
    ) -> Iterator[tuple[Node, dict[str, int]]]:
        """Split by what is due for one variable; the first of its rules that applies counts."""
        left, changes = part
        still = self.space.false
        for due in dues:
            moving = left & due.change
            if moving != self.space.false:
                yield moving, {**changes, name: due.value}
            still = still | (left & due.condition & ~moving)
            left = left & ~due.condition
        left = left | still
        if left != self.space.false:
            yield left, changes

    def _edges(self, states: Node) -> Split:
        """Split by what edges make due, the last steady values brought up to date."""
        if not self.lasts:
            return [(states, {})]
        split = self._split_all(states, self.due)
        for rule in self.lasts:
            now, noted = self.of(rule.condition), self._is(rule.variable, 1)
            dues = [_Due(1, now, now & ~noted), _Due(0, ~now, ~now & noted)]
            split = [p for part in split for p in self._split(part, rule.variable, dues)]
        return split

    def _apply(self, states: Node, changes: dict[str, int]) -> Node:
        if not changes:
            return states
        cube = self.symbols.cube(changes)
        return self.space.exists(states, changes) & cube


def first_to_hold(space: Space, rules: Sequence[tuple[int, Node]]) -> list[tuple[int, Node]]:
    """Values in order and where each is due, no other value being due by an earlier rule."""
    return [
        (value, here & ~space.any_of(where for other, where in rules[:i] if other != value))
        for i, (value, here) in enumerate(rules)
    ]


def by_variable(rules: Iterable[MoveRule]) -> dict[str, list[MoveRule]]:
    """The rules for each variable, in order."""
    grouped: dict[str, list[MoveRule]] = {}
    for rule in rules:
        grouped.setdefault(rule.variable, []).append(rule)
    return grouped
