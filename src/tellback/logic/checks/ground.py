"""What the checks stand on: one aeroplane, and whether a state can be, with a run to it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from tellback.book.model import Book, Claim, StartingState, Thing
from tellback.logic.alike import Alike
from tellback.logic.answers.claims import Verdict, verdict_on
from tellback.logic.formula import Formula, Lit, conj
from tellback.logic.guided import GuidedRuns
from tellback.logic.multitude import Again, Multitude, SameRuns
from tellback.logic.path import Paths, Witness
from tellback.logic.picture import Picture, picture_of, starting_states
from tellback.logic.procedure import picture_for
from tellback.logic.run import Unsettled
from tellback.logic.settings import BadSetting
from tellback.logic.space import Node
from tellback.logic.trials import Trials

MOVES = 12
"""So many things are moved in each of very many runs after the first one."""

PATIENCE = 200_000
"""The effort of search, as `tellback.logic.possible` counts it, that one question may take."""


@dataclass(frozen=True, slots=True)
class BadStart:
    """A starting state that cannot be, and why; None: the book states it impossible."""

    start: StartingState
    reason: BadSetting | Unsettled | None


class Ground:
    """One aeroplane as the checks see it.

    A set of states can be if a run in time reached it, or the search of the possible states did;
    it cannot be if no possible state lies in it. What is asked is asked of `like`, another
    aeroplane checked before, where that is all the same; where it is not, the runs that showed
    something there are made again.
    """

    def __init__(self, book: Book, like: Ground | None = None) -> None:
        self.book = book
        self.bad_starts = tuple(_bad_starts(book))
        bad = {found.start.name for found in self.bad_starts}
        good = tuple(s for s in starting_states(book) if s.name not in bad)
        self.has_start = bool(good)
        self.picture: Picture = picture_of(replace(book, starts=good) if bad else book)
        self.symbols = self.picture.symbols
        self.space = self.symbols.space
        self._known: dict[Formula, bool | None] = {}
        self._apart: dict[tuple[Formula, str, int, int], bool | None] = {}
        self._verdicts: dict[Claim, Verdict] = {}
        self._like = like
        self.things: Mapping[str, Thing] = {thing.name: thing for thing in book.things}

    @cached_property
    def allowed(self) -> Node:
        """States that are not stated impossible."""
        return ~self.symbols.of(self.picture.system.impossible)

    @cached_property
    def runs(self) -> GuidedRuns:
        """The runs made so far."""
        runs = self.picture.guided
        if self._like:
            runs.follow(self._like.runs)
        return runs

    @cached_property
    def trials(self) -> Trials:
        """The runs of the procedures."""
        book = self.picture.book
        picture = picture_for(book, book.procedures)
        return Trials(picture, self._like.trials if self._like else None)

    @cached_property
    def _alike(self) -> Alike | None:
        return Alike(self.picture, self._like.picture) if self._like else None

    def _asked_of(self, *formulas: Formula) -> Ground:
        """The aeroplane of which to ask what these formulas tell the whole of."""
        if self._like and self._alike and self._alike.speaks_alike(*formulas):
            return self._like
        return self

    @cached_property
    def multitude(self) -> Multitude:
        """Very many runs, to show what can be."""
        if not self._like:
            return Multitude(self.picture.abreast, self.picture.starts, MOVES)
        if self._asked_of() is self._like:
            return SameRuns(self._like.multitude, self.picture.graph)
        return Again(self.picture.abreast, self.picture.starts, self._like.multitude)

    def can(self, formula: Formula) -> bool | None:
        """Whether the formula holds in some possible state; None if not decided."""
        asked = self._asked_of(formula)
        if asked is not self:
            return asked.can(formula)
        if formula not in self._known:
            met = self.multitude.meets(formula)
            self._known[formula] = met or self.can_be(self.symbols.of(formula))
        return self._known[formula]

    def can_differ(self, formula: Formula, name: str, one: int, other: int) -> bool | None:
        """Whether two values of a variable ever make a difference to a formula.

        That is, whether in some possible state with one of them the formula holds with only one of
        them, all else being equal; None if not decided.
        """
        asked = self._asked_of(formula)
        if asked is not self:
            return asked.can_differ(formula, name, one, other)
        key = formula, name, one, other
        if key not in self._apart:
            node, space = self.symbols.of(formula), self.space
            with_one, with_other = (space.assume(node, name, value) for value in (one, other))
            change = (with_one & ~with_other) | (with_other & ~with_one)
            self._apart[key] = self.can_be(change & space.literal(name, (one, other)))
        return self._apart[key]

    def verdict(self, claim: Claim) -> Verdict:
        """The verdict on a claim of the book."""
        picture = self.picture
        asked = self._asked_of(*(picture.formula(c) for c in (claim.condition, *claim.given)))
        if asked is not self:
            return asked.verdict(claim)
        if claim not in self._verdicts:
            self._verdicts[claim] = verdict_on(picture, claim)
        return self._verdicts[claim]

    def can_be(self, node: Node) -> bool | None:
        """Whether some possible state lies in the set; None if not decided."""
        if node & self.allowed == self.space.false:
            return False
        if self.runs.met(node) or self.multitude.soon_meets(self.space, node):
            return True
        if self.runs.quickly_to(node):
            return True
        return self._searched(node)

    def run_to(self, node: Node) -> Witness | bool | None:
        """A run that ends in the set, with few moves; False if no possible state lies in it.

        None if neither could be shown.
        """
        if node & self.allowed == self.space.false:
            return False
        run = self.runs.to(node) or self.runs.into(node)
        if run is not None:
            return run
        found = self._searched(node)
        return self._traced(node) if found else found

    def _searched(self, node: Node) -> bool | None:
        """Whether the search of the possible states meets the set; None if it takes too long."""
        try:
            return self.picture.possible(self.space.support(node)).meets(node, PATIENCE)
        except Unsettled:
            return None

    def _traced(self, node: Node) -> Witness | None:
        """A run traced back through the possible states from the state nearest to a start."""
        paths = Paths(self.picture, None, "")
        possible = self.picture.possible(self.space.support(node))
        nearest = paths.nearest(possible.met(node))
        if nearest is None:
            return None
        goal = conj(Lit(name, frozenset({value})) for name, value in nearest[0].items())
        traced = paths.traced(self.space.point(nearest[0]), goal)
        return traced[0] if traced else None


def _bad_starts(book: Book) -> Iterator[BadStart]:
    picture = picture_of(book)
    for start in starting_states(book):
        try:
            moment = picture.starts[start.name]
        except (BadSetting, Unsettled):
            reason = _fault(picture, start)
            if reason is not None:
                yield BadStart(start, reason)
                continue
            moment = picture.start(start)
        if picture.aeroplane.holds(picture.system.impossible, moment.state):
            yield BadStart(start, None)


def _fault(picture: Picture, start: StartingState) -> BadSetting | Unsettled | None:
    """Why this one of the starting states cannot be."""
    try:
        picture.start(start)
    except (BadSetting, Unsettled) as reason:
        return reason
    return None
