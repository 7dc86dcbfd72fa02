"""The variables that bear on a question, the rules that move them, and what always holds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from tellback.logic.formula import Lit
from tellback.logic.solve import Valuation
from tellback.logic.space import Node, Space
from tellback.logic.symbols import Symbols
from tellback.logic.system import MoveRule

MOST_EDGES = 8
"""With more conditions than this whose beginning or end is watched, diagrams grow without bound."""

MOST_NODES_OF_BOUND = 1_000
"""How large the bound on all possible states may grow; it is looked at in every answer."""

MOST_NODES_OF_REST = 20_000
"""How large what invariants leave of one set may grow."""


class World:
    """The variables that bear on a question, with the rules for them.

    `limit` holds in every possible state, and looks at none but these variables. So does
    `few_failures`, which counts what else may have failed as well. An `opaque` world is not
    searched: too many of its memories watch conditions come and go.
    """

    def __init__(
        self, symbols: Symbols, chosen: frozenset[str], limit: Node, few_failures: Node
    ) -> None:
        self.symbols = symbols
        self.space = symbols.space
        self.system = symbols.system
        self.chosen = chosen
        self.limit = limit
        self.few_failures = few_failures
        self.steps = by_variable(r for r in self.system.steps if r.variable in chosen)
        self.delays = [r for r in self.system.delays if r.variable in chosen]
        self.lasts = [r for r in self.system.lasts if r.variable in chosen]
        self.opaque = len(self.lasts) > MOST_EDGES

    @property
    def quiet_values(self) -> Valuation[Node]:
        """Values in which no edge is seen."""
        return self.symbols.quiet_values if self.lasts else self.symbols.values

    def always(self) -> Node:
        """What holds in every possible state, without any search.

        Nothing is due, nothing stated impossible, no delay elapsed whose condition does not hold,
        and every last steady value is the present one; what would make the diagram too large is
        left out, which only makes the set wider.
        """
        calm = self.limit & self.few_failures
        for part in self.invariants():
            narrower = calm & part
            if self.space.weight(narrower) < MOST_NODES_OF_BOUND:
                calm = narrower
        return calm

    def excludes(self, states: Node) -> bool:
        """Whether nothing of the set is left by what holds in every possible state."""
        left = states & self.limit & self.few_failures
        for part in self.invariants():
            if left == self.space.false:
                return True
            narrower = left & part
            if self.space.weight(narrower) < MOST_NODES_OF_REST:
                left = narrower
        return left == self.space.false

    def invariants(self) -> Iterator[Node]:
        """What holds in every possible state besides the limits, part by part."""
        if self.opaque:
            return
        for name, rules in self.steps.items():
            due = [(rule.value, self.quiet_values.of(rule.condition)) for rule in rules]
            for value, where in first_to_hold(self.space, due):
                yield ~where | self.literal(name, value)
        for rule in self.lasts:
            now, noted = self.symbols.of(rule.condition), self.literal(rule.variable, 1)
            yield (now & noted) | ~(now | noted)

    def literal(self, name: str, value: int) -> Node:
        """Where a variable has a value."""
        return self.symbols.literal(Lit(name, frozenset({value})))


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
