"""A multitude of runs from the starting states: what any of them meets can be.

From each starting state, itself among them, every input is moved to each of its values; then, in
the same runs, one thing after the other by chance, mostly one that has to do with the last. The
chance is the same every time. What none of them meets may still be: that is for a search to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from random import Random

from tellback.logic.abreast import Abreast
from tellback.logic.company import company_of
from tellback.logic.formula import Formula
from tellback.logic.kept import Kept
from tellback.logic.row import Row, Runs, bits, changes_of
from tellback.logic.run import Moment
from tellback.logic.solve import Graph, Valuation
from tellback.logic.space import Node, Space

EVENTS = 50
"""So many events may follow a move; a run that has more is given up."""

EVENTS_KEPT = 6
"""The moments after so many events of each move are kept, and the settled one."""


STRANGERS = 0.2
"""How often the next thing that is moved need not have to do with the last."""


class Where(dict[str, list[Runs]]):
    """For a variable, or a supply, the runs in which it has each of its values."""

    def __init__(self, row: Row, values: Valuation[Runs], places: Mapping[str, range]) -> None:
        self._row, self._values, self._places = row, values, places

    def __missing__(self, name: str) -> list[Runs]:
        places = self._places.get(name)
        found = self._levels(name) if places is None else [self._row.state[p] for p in places]
        self[name] = found
        return found

    def _levels(self, supply: str) -> list[Runs]:
        keys = self._values.graph.system.values
        found: list[Runs] = []
        least = self._values.true
        while (above := (supply, f"at least {len(found) + 1}")) in keys:
            found.append(least & ~self._values[above])
            least = self._values[above]
        return [*found, least]


@dataclass(frozen=True)
class Stage:
    """The moments of all runs at one time, and the runs that came there by possible states."""

    row: Row
    values: Valuation[Runs]
    possible: Runs
    where: Where


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
        self._next_moves: list[list[Move | None]] = []
        self._chance = Random(0)

    def meets(self, formula: Formula) -> bool:
        """Whether the formula holds at a moment of a run."""
        return self._shown(stage.values.of(formula) & stage.possible for stage in self.stages)

    def soon_meets(self, space: Space, node: Node) -> bool:
        """Whether a state after one move at most lies in the set."""
        soon = islice(self.stages, EVENTS_KEPT + 1)
        return self._shown(space.some_of(node, stage.where, stage.possible) for stage in soon)

    def _shown(self, several: Iterable[Runs]) -> bool:
        met = next(filter(None, several), 0)
        if met:
            self.of_use[next(bits(met))] = None
        return bool(met)

    @cached_property
    def stages(self) -> Kept[Stage]:
        """All moments that are kept."""
        return Kept(self._made())

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

    def moved(self, number: int) -> Sequence[Move | None]:
        """What is moved in each run: first, then next, and so on."""
        if number == 0:
            return [(name, value) for _, name, value in self.firsts]
        while len(self._next_moves) < number:
            before = self._next_moves[-1] if self._next_moves else self.moved(0)
            self._next_moves.append([self._next(move[0]) for move in before if move])
        return self._next_moves[number - 1]

    @cached_property
    def _company(self) -> Callable[[str], str]:
        return company_of(self.abreast.system, self._chance)

    def _next(self, name: str) -> Move:
        """What is moved after a thing, and where to."""
        chance = self._chance
        if chance.random() < STRANGERS:
            variable = chance.choice(self.inputs)
        else:
            variable = self.abreast.system.variables[self._company(name)]
        return variable.name, chance.randrange(len(variable.values))

    def _stage(self, row: Row, possible: Runs, graph: Graph | None = None) -> Stage:
        values = self.abreast.values(row, graph)
        return Stage(row, values, possible, Where(row, values, self.abreast.places))

    def _made(self) -> Iterator[Stage]:
        row = self.abreast.row([self.starts[start] for start in self.begun])
        possible = row.all & ~self.abreast.impossible(row)
        yield self._stage(row, possible)
        for moves in map(self.moved, range(self.moves + 1)):
            changes = changes_of(dict([move] if move else []) for move in moves)
            possible &= ~self.abreast.barred(row, changes)
            row = self.abreast.move(row, changes)
            for number, further in enumerate(self.abreast.history(row, EVENTS)):
                row = further
                possible &= ~(self.abreast.impossible(row) | row.lost)
                if number < EVENTS_KEPT:
                    yield self._stage(row, possible)
            if number >= EVENTS_KEPT:
                yield self._stage(row, possible)
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

    def moved(self, number: int) -> Sequence[Move | None]:
        """What is moved in each run, where this aeroplane has it."""
        moves = self._like.moved(number)
        return [self._known(moves[run]) for run in self._made_again]

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
            yield self._stage(stage.row, stage.possible, self._graph)
