"""A multitude of runs from the starting states: what any of them meets can be.

From each starting state, itself among them, every input is moved to each of its values; then, in
the same runs, one thing after the other by chance, mostly one that has to do with the last. The
chance is the same every time. What none of them meets may still be: that is for a search to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from random import Random

from tellback.logic.abreast import Abreast
from tellback.logic.company import company_of
from tellback.logic.formula import Formula
from tellback.logic.row import Row, Runs, changes_of
from tellback.logic.run import Moment
from tellback.logic.solve import Graph, Valuation

EVENTS = 50
"""So many events may follow a move; a run that has more is given up."""

EVENTS_KEPT = 6
"""The moments after so many events of each move are kept, and the settled one."""


STRANGERS = 0.2
"""How often the next thing that is moved need not have to do with the last."""


@dataclass(frozen=True, slots=True)
class Stage:
    """The moments of all runs at one time, and the runs that came there by possible states."""

    row: Row
    values: Valuation[Runs]
    possible: Runs


class Multitude:
    """The runs, made when first asked for; in each so many things are moved after the first."""

    def __init__(self, abreast: Abreast, starts: Mapping[str, Moment], moves: int) -> None:
        self.abreast = abreast
        self.starts = starts
        self.moves = moves
        self.inputs = [v for v in abreast.system.variables.values() if v.is_input]

    def meets(self, formula: Formula) -> bool:
        """Whether the formula holds at a moment of a run."""
        return any(stage.values.of(formula) & stage.possible for stage in self.stages)

    @cached_property
    def stages(self) -> list[Stage]:
        """All moments that are kept."""
        return list(self._made())

    @cached_property
    def firsts(self) -> list[tuple[str, str, int]]:
        """The first move of each run: from where, what is moved, and to which of its values."""
        return [
            (start, variable.name, value)
            for start, moment in self.starts.items()
            for variable in self.inputs
            for value in range(len(variable.values))
            if value != moment.state[variable.name]
        ]

    def _made(self) -> Iterator[Stage]:
        chance = Random(0)
        company = company_of(self.abreast.system, chance)
        row = self.abreast.row([self.starts[start] for start, _, _ in self.firsts])
        possible = row.all & ~self.abreast.impossible(row)
        yield Stage(row, self.abreast.values(row), possible)
        moves = [(name, value) for _, name, value in self.firsts]
        for _ in range(self.moves + 1):
            changes = changes_of({name: value} for name, value in moves)
            possible &= ~self.abreast.barred(row, changes)
            row = self.abreast.move(row, changes)
            for number, further in enumerate(self.abreast.history(row, EVENTS)):
                row = further
                possible &= ~(self.abreast.impossible(row) | row.lost)
                if number < EVENTS_KEPT:
                    yield Stage(row, self.abreast.values(row), possible)
            if number >= EVENTS_KEPT:
                yield Stage(row, self.abreast.values(row), possible)
            row = self.abreast.anew(row)
            moves = [self._next(company[name], chance) for name, _ in moves]

    def _next(self, company: Sequence[str], chance: Random) -> tuple[str, int]:
        """What is moved next, and where to."""
        if chance.random() < STRANGERS:
            variable = chance.choice(self.inputs)
        else:
            variable = self.abreast.system.variables[chance.choice(company)]
        return variable.name, chance.randrange(len(variable.values))


class SameRuns(Multitude):
    """The runs of another aeroplane that moves alike, with the values of this one."""

    def __init__(self, runs: Multitude, graph: Graph) -> None:
        super().__init__(runs.abreast, runs.starts, runs.moves)
        self._runs = runs
        self._graph = graph

    def _made(self) -> Iterator[Stage]:
        for stage in self._runs.stages:
            yield replace(stage, values=self.abreast.values(stage.row, self._graph))
