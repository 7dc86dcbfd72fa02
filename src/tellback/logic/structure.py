"""A formula as a circuit of the failures that decide it, where nothing else does."""

from __future__ import annotations

from collections.abc import Mapping

from tellback.logic.circuit import FALSE, TRUE, Circuit
from tellback.logic.formula import And, Formula, Key, Lit, Neg, Or, Ref, Some, references
from tellback.logic.run import State
from tellback.logic.solve import Graph

LARGEST_CIRCLE = 40
"""Larger circles of values are not unrolled, as that takes gates by the square."""

Mode = tuple[str, int]
"""A failure variable and one of its values but 0."""


class Structure:
    """The values of a system as terms of a circuit.

    `chosen` gives the failure variables that may have any of so many values; each mode is an event.
    All other variables are as in `state`.
    """

    def __init__(self, graph: Graph, state: State, chosen: Mapping[str, int]) -> None:
        self._graph, self._state = graph, state
        self.circuit = Circuit()
        self._event = {
            (name, mode): self.circuit.event()
            for name, size in chosen.items()
            for mode in range(1, size)
        }
        self._sizes = chosen
        self._terms: dict[Key, int] = {}

    @property
    def modes(self) -> dict[int, Mode]:
        """What each event of the circuit stands for."""
        return {term >> 1: mode for mode, term in self._event.items()}

    def of(self, formula: Formula) -> int | None:
        """The term of a formula; None if it rests on a circle that is not unrolled here."""
        wanted = [key for key, _ in references(formula)]
        for component in self._graph.components(wanted, self._terms):
            rounds = 1
            if self._graph.is_circle(component):
                rounds = len(component)
                if rounds > LARGEST_CIRCLE or self._graph.has_negation(component):
                    return None
            # Each round brings the least fixed point at least one value nearer.
            self._terms |= dict.fromkeys(component, FALSE)
            for _ in range(rounds):
                for key in component:
                    self._terms[key] = self._term(self._graph.system.values[key])
        return self._term(formula)

    def _term(self, formula: Formula) -> int:
        match formula:
            case Lit(variable, values):
                return self._literal(variable, values)
            case Ref(key):
                return self._terms[key]
            case Neg(part):
                return self._term(part) ^ 1
            case And(parts):
                return self.circuit.all_of(map(self._term, parts))
            case Or(parts):
                return self.circuit.any_of(map(self._term, parts))
            case Some(count, parts):
                return self.circuit.at_least(count, [self._term(part) for part in parts])

    def _literal(self, variable: str, values: frozenset[int]) -> int:
        if variable not in self._sizes:
            return TRUE if self._state[variable] in values else FALSE
        modes = range(1, self._sizes[variable])
        if 0 in values:
            others = (self._event[variable, mode] for mode in modes if mode not in values)
            return self.circuit.any_of(others) ^ 1
        return self.circuit.any_of(self._event[variable, mode] for mode in modes if mode in values)
