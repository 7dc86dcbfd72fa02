"""What the checks stand on: one aeroplane, and whether a state can be, with a run to it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from tellback.book.model import Book, StartingState, Thing
from tellback.logic.formula import Formula, Lit, conj
from tellback.logic.path import Paths, Run
from tellback.logic.picture import Picture, picture_of, starting_states
from tellback.logic.run import Barred, Moment, State, Unsettled
from tellback.logic.settings import BadSetting
from tellback.logic.space import Node
from tellback.logic.words import literal_text

TRIES = 3
"""How many states of a set are tried by moving inputs before the possible states are searched."""


@dataclass(frozen=True, slots=True)
class BadStart:
    """A starting state that cannot be, and why."""

    start: StartingState
    reason: BadSetting | Unsettled | None


class Ground:
    """One aeroplane as the checks see it.

    A set of states can be if a run in time reached it, or the search of the possible states did;
    it cannot be if no possible state lies in it. Runs are kept: one often shows many things.
    """

    def __init__(self, book: Book) -> None:
        self.book = book
        self.bad_starts = tuple(_bad_starts(book))
        bad = {id(found.start) for found in self.bad_starts}
        good = tuple(s for s in starting_states(book) if id(s) not in bad)
        self.has_start = bool(good)
        sound = book if not bad else replace(book, starts=good)
        self.picture: Picture = picture_of(sound)
        self.symbols = self.picture.symbols
        self.space = self.symbols.space
        self.things: Mapping[str, Thing] = {thing.name: thing for thing in book.things}

    @cached_property
    def paths(self) -> Paths:
        """Runs from any good starting state, whatever fails."""
        return Paths(self.picture, None, "")

    @cached_property
    def seen(self) -> dict[tuple[int, ...], Run]:
        """Every state that some run has reached so far, by its values."""
        return {
            tuple(moment.state.values()): Run(name, (), moment)
            for name, moment in self.picture.starts.items()
        }

    @cached_property
    def allowed(self) -> Node:
        """States that are not stated impossible."""
        return ~self.symbols.of(self.picture.system.impossible)

    # -- whether a set of states can be -----------------------------------------------------

    def can(self, formula: Formula) -> bool | None:
        """Whether the formula holds in some possible state; None if not decided."""
        return self.can_be(self.symbols.of(formula))

    def can_be(self, node: Node) -> bool | None:
        """Whether some possible state lies in the set; None if not decided."""
        if node & self.allowed == self.space.false:
            return False
        if self._seen_in(node) or self._tried(node):
            return True
        try:
            return self.picture.possible(self.space.support(node)).meets(node)
        except Unsettled:
            return None

    def run_to(self, node: Node) -> Run | bool | None:
        """A run that ends in the set, as short as can be told; False if no possible state does.

        None if neither could be shown.
        """
        if node & self.allowed == self.space.false:
            return False
        run = self._seen_in(node) or self._tried(node)
        if run is not None:
            return run
        try:
            possible = self.picture.possible(self.space.support(node))
            if possible.meets(node) is not True:
                return possible.meets(node)
            return self._traced(node & possible.reached)
        except Unsettled:
            return None

    def _seen_in(self, node: Node) -> Run | None:
        runs = [run for run in self.seen.values() if self.space.holds(node, run.end.state)]
        return min(runs, key=lambda run: len(run.steps), default=None)

    def _tried(self, node: Node) -> Run | None:
        """A run to the set by moving inputs to where a state near a starting state has them."""
        left = node & self.allowed
        for _ in range(TRIES):
            nearest = self.paths.nearest(left)
            if nearest is None:
                return None
            for run in self._runs_toward(nearest[0]):
                if self.space.holds(node, run.end.state):
                    return run
            left = left & ~self.paths.cube(nearest[0])
        return None

    def _traced(self, node: Node) -> Run | None:
        """A run traced back through the possible states from the nearest state of the set."""
        nearest = self.paths.nearest(node)
        if nearest is None:
            return None
        goal = conj(Lit(name, frozenset({value})) for name, value in nearest[0].items())
        traced = self.paths.traced(self.paths.cube(nearest[0]), goal, nearest[0])
        return traced[0] if traced else None

    # -- runs -------------------------------------------------------------------------------

    def _runs_toward(self, state: State) -> Iterator[Run]:
        """Every moment of a run that moves inputs to where a state has them, then waits."""
        for name, moves in self._moves(state):
            for order in (moves, moves[::-1]) if len(moves) > 1 else (moves,):
                for run in self.moments(name, order):
                    self.seen.setdefault(tuple(run.end.state.values()), run)
                    yield run

    def _moves(self, state: State) -> list[tuple[str, list[tuple[str, int]]]]:
        """From each starting state, the inputs to move; the fewest first."""
        variables = self.picture.system.variables
        several = [
            (name, [(n, v) for n, v in state.items()
                    if variables[n].is_input and moment.state[n] != v])
            for name, moment in self.picture.starts.items()
        ]  # fmt: skip
        return sorted(several, key=lambda pair: len(pair[1]))[:2]

    def moments(self, start: str, moves: list[tuple[str, int]]) -> Iterator[Run]:
        """The moments of a run that makes the moves one after the other, and then waits.

        It ends early where a move cannot be made, or leads to what is stated impossible.
        """
        runner, system = self.picture.aeroplane, self.picture.system
        moment = self.picture.starts[start]
        steps: tuple[tuple[float, str], ...] = ()
        for name, value in moves:
            try:
                moment = runner.move(moment, {name: value})
            except (Barred, Unsettled):
                return
            steps = (*steps, (moment.time, literal_text(system, name, [value])))
            if not self.space.holds(self.allowed, moment.state):
                return
            yield Run(start, steps, moment)
        yield from (Run(start, steps, after) for after in self._waiting(moment))

    def _waiting(self, moment: Moment) -> Iterator[Moment]:
        """The moments that follow if nobody touches anything, as long as they are allowed."""
        try:
            for after in self.picture.aeroplane.history(moment)[1:]:
                if not self.space.holds(self.allowed, after.state):
                    return
                yield after
        except Unsettled:
            return


def _bad_starts(book: Book) -> Iterator[BadStart]:
    picture = picture_of(book)
    for start in starting_states(book):
        try:
            moment = picture.start(start)
        except (BadSetting, Unsettled) as reason:
            yield BadStart(start, reason)
            continue
        if picture.aeroplane.holds(picture.system.impossible, moment.state):
            yield BadStart(start, None)
