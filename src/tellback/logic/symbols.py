"""A system's values as diagrams over all its variables."""

from __future__ import annotations

import operator
from collections.abc import Iterable
from functools import cached_property

from tellback.logic.formula import Formula, Key, Lit, literals, references
from tellback.logic.solve import Graph, Valuation
from tellback.logic.space import Node, Space
from tellback.logic.system import System


class Symbols:
    """The space of all variables of a system, and its values in it."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.system: System = graph.system
        order = diagram_order(graph)
        self.space = Space([(n, len(self.system.variables[n].values)) for n in order])
        self._literals: dict[Lit, Node] = {}
        self._seen: set[str] = set()
        self.values: Valuation[Node] = Valuation(
            graph, self.space.true, self.space.false, operator.invert, self.literal
        )

    @cached_property
    def quiet_values(self) -> Valuation[Node]:
        """The values while nothing is seen to come on or go out."""
        true, false = self.space.true, self.space.false
        none = dict.fromkeys(self.system.edges(), false)
        return Valuation(self.graph, true, false, operator.invert, self.literal, none)

    def literal(self, lit: Lit) -> Node:
        """The diagram of a literal."""
        if lit not in self._literals:
            self._literals[lit] = self.space.literal(lit.variable, lit.values)
        return self._literals[lit]

    def see(self, supply: str, levels: int) -> None:
        """Give a supply a variable of its own, for answers that stop there."""
        if supply not in self._seen:
            self.space.add(supply, levels)
            self._seen.add(supply)

    def of(self, formula: Formula) -> Node:
        """The diagram of a formula."""
        return self.values.of(formula)


def diagram_order(graph: Graph, *first: Formula) -> list[str]:
    """All variables, depth first through the values that `first` and then the book need.

    Of the values that one value needs, the least deep comes first: what is left for below a deep
    one would have to be carried through all of it, and the diagrams would grow beyond measure.
    """
    order: dict[str, None] = {}
    seen: set[Key] = set()
    for formula in first:
        _visit_all(graph, formula, order, seen)
    for root in graph.system.values:
        _visit(graph, root, order, seen)
    rest = (name for name in graph.system.variables if name not in order)
    return [*order, *rest]


def _visit_all(graph: Graph, formula: Formula, order: dict[str, None], seen: set[Key]) -> None:
    """Note the variables of a formula and of all values that it needs."""
    order |= {lit.variable: None for lit in literals(formula) if lit.variable not in order}
    for key in sorted(dict.fromkeys(key for key, _ in references(formula)), key=graph.depth):
        _visit(graph, key, order, seen)


def _visit(graph: Graph, root: Key, order: dict[str, None], seen: set[Key]) -> None:
    stack = [root]
    while stack:
        key = stack.pop()
        if key in seen:
            continue
        seen.add(key)
        for lit in literals(graph.system.values[key]):
            order[lit.variable] = None
        stack.extend(sorted((child for child, _ in graph.refs(key)), key=graph.depth)[::-1])


def variables_of(graph: Graph, formulas: Iterable[Formula]) -> set[str]:
    """The variables that the formulas may depend on, by structure."""
    found: set[str] = set()
    for formula in formulas:
        found.update(lit.variable for lit in literals(formula))
        found.update(*(graph.supports[key] for key, _ in references(formula)))
    return found


def changes_of(system: System) -> dict[str, list[Formula]]:
    """For each variable, the formulas that move it or forbid a move."""
    changes: dict[str, list[Formula]] = {}
    for move in (*system.steps, *system.bars):
        changes.setdefault(move.variable, []).append(move.condition)
    conditions = [(rule.variable, rule.condition) for rule in system.delays]
    conditions += [(rule.variable, rule.condition) for rule in system.lasts]
    for name, condition in conditions:
        changes.setdefault(name, []).append(condition)
    for surface in system.surfaces:
        changes.setdefault(surface.variable, []).extend(sent for _, sent in surface.targets)
    for number in system.numbers:
        changes.setdefault(number.variable, []).extend(row[0] for row in number.rows)
    return changes


def bearing_on(graph: Graph, formula: Formula) -> set[str]:
    """The variables that may bear on a formula now or later, through memories too."""
    changes = changes_of(graph.system)
    bearing: set[str] = set()
    work = variables_of(graph, [formula])
    while work:
        name = work.pop()
        bearing.add(name)
        work |= variables_of(graph, changes.get(name, ())) - bearing
    return bearing


def steps_back(graph: Graph, names: Iterable[str]) -> dict[str, int]:
    """The variables that bear on these, and by how many steps back to them: the nearest first."""
    changes = changes_of(graph.system)
    found = dict.fromkeys(names, 0)
    keys: dict[Key, None] = {}
    formulas = [f for name in found for f in changes.get(name, ())]
    steps = 0
    while formulas:
        steps += 1
        new_keys = {key: None for f in formulas for key, _ in references(f) if key not in keys}
        fresh = {
            lit.variable: steps
            for f in formulas
            for lit in literals(f)
            if lit.variable not in found
        }
        found |= fresh
        keys |= new_keys
        formulas = [f for name in fresh for f in changes.get(name, ())]
        formulas += [graph.system.values[key] for key in new_keys]
    return found
