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
from tellback.logic.row import Row, Runs, bits, changes_of
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


Move = tuple[str, int]
"""What is moved, and to which of its values."""


class Multitude:
    """The runs, made when first asked for; in each so many things are moved after the first."""

    def __init__(self, abreast: Abreast, starts: Mapping[str, Moment], moves: int) -> None:
        self.abreast = abreast
        self.starts = starts
        self.moves = moves
        self.inputs = [v for v in abreast.system.variables.values() if v.is_input]
        self.of_use: dict[int, None] = {}
        """The runs that have shown something."""

    def meets(self, formula: Formula) -> bool:
        """Whether the formula holds at a moment of a run."""
        for stage in self.stages:
            met = stage.values.of(formula) & stage.possible
            if met:
                self.of_use[next(bits(met))] = None
                return True
        return False

    @cached_property
    def stages(self) -> list[Stage]:
        """All moments that are kept."""
        return list(self._made())

    @cached_property
    def firsts(self) -> list[tuple[str, str, int]]:
        """Every single move from every starting state: from where, what is moved, and where to."""
        return [
            (start, variable.name, value)
            for start, moment in self.starts.items()
            for variable in self.inputs
            for value in range(len(variable.values))
            if value != moment.state[variable.name]
        ]

    @cached_property
    def begun(self) -> list[str]:
        """From which starting state each run begins."""
        return [start for start, _, _ in self.firsts]

    @cached_property
    def rounds(self) -> list[list[Move | None]]:
        """What is moved in each run: first, then next, and so on."""
        chance = Random(0)
        company = company_of(self.abreast.system, chance)
        rounds = [[(name, value) for _, name, value in self.firsts]]
        for _ in range(self.moves):
            rounds.append([self._next(company[name], chance) for name, _ in rounds[-1]])
        return [list(moves) for moves in rounds]

    def _next(self, company: Sequence[str], chance: Random) -> Move:
        """What is moved next, and where to."""
        if chance.random() < STRANGERS:
            variable = chance.choice(self.inputs)
        else:
            variable = self.abreast.system.variables[chance.choice(company)]
        return variable.name, chance.randrange(len(variable.values))

    def _made(self) -> Iterator[Stage]:
        row = self.abreast.row([self.starts[start] for start in self.begun])
        possible = row.all & ~self.abreast.impossible(row)
        yield Stage(row, self.abreast.values(row), possible)
        for moves in self.rounds:
            changes = changes_of(dict([move] if move else []) for move in moves)
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


class Again(Multitude):
    """The runs of another aeroplane that were of use, made again with this one."""

    def __init__(self, abreast: Abreast, starts: Mapping[str, Moment], like: Multitude) -> None:
        super().__init__(abreast, starts, like.moves)
        self._like = like

    @cached_property
    def _made_again(self) -> list[int]:
        return [run for run in self._like.of_use if self._like.begun[run] in self.starts]

    @cached_property
    def begun(self) -> list[str]:
        """From which starting state each run begins."""
        return [self._like.begun[run] for run in self._made_again]

    @cached_property
    def rounds(self) -> list[list[Move | None]]:
        """What is moved in each run, where this aeroplane has it."""
        return [[self._known(moves[i]) for i in self._made_again] for moves in self._like.rounds]

    def _known(self, move: Move | None) -> Move | None:
        variable = self.abreast.system.variables.get(move[0]) if move else None
        there = move and variable and variable.is_input and move[1] < len(variable.values)
        return move if there else None


class SameRuns(Multitude):
    """The runs of another aeroplane that moves alike, with the values of this one."""

    def __init__(self, runs: Multitude, graph: Graph) -> None:
        super().__init__(runs.abreast, runs.starts, runs.moves)
        self._runs = runs
        self._graph = graph

    def _made(self) -> Iterator[Stage]:
        for stage in self._runs.stages:
            yield replace(stage, values=self.abreast.values(stage.row, self._graph))
