"""Runs of procedures from where `occasions` finds them done or called for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book.model import Procedure
from tellback.book.procedures import statements_in
from tellback.logic.alike import Alike
from tellback.logic.facts import Facts
from tellback.logic.impossible import EntersImpossible
from tellback.logic.occasions import Occasion, Occasions
from tellback.logic.picture import Picture
from tellback.logic.procedure import (
    Course,
    Made,
    carry_out,
    holds,
    is_idle,
)
from tellback.logic.run import Unsettled
from tellback.logic.words import listed, literal_text

MOST_TRIALS = 200
"""So many runs after several changes at once are made of a procedure, taken evenly from all."""

FALSE = ("reads ", "shown", "not shown")
"""How the failures begin in which something is shown or read falsely."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A run of a procedure: from where, in words, its course, and what it does not secure.

    `start` is the starting state that it began in, `text` says what changed there as well.
    `falsely`: something is shown or read falsely there.
    """

    start: str
    text: str
    falsely: bool
    course: Course
    not_secured: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tries:
    """The trials of a procedure, from states that call for it; all of them, if it has such.

    `states` is how many were found; `together`, how many changes at most lead to one: up to 1,
    no single cause is left out. `restless` are those from which it does not come to an end,
    `impossible` those from which it comes to what is stated impossible, with what that is.
    `by_hand`: a control moved alone led to some.
    """

    trials: tuple[Trial, ...]
    states: int
    together: int
    restless: tuple[str, ...]
    impossible: tuple[tuple[str, str], ...] = ()
    by_hand: bool = False


class Trials:
    """The trials of procedures on one aeroplane, each made when first asked for.

    The picture is one in which all that they look at can be asked. Trials are taken from `like`,
    those of another aeroplane, where they can but be the same.
    """

    def __init__(self, picture: Picture, like: Trials | None = None) -> None:
        self.picture = picture
        self._like = like
        self._alike = Alike(self.picture, like.picture) if like else None
        self._known: dict[str, Tries] = {}
        self._facts = Facts(self.picture)
        self._occasions = Occasions(self.picture)

    def of(self, procedure: Procedure) -> Tries:
        """The trials of one procedure."""
        if procedure.name not in self._known:
            self._known[procedure.name] = (
                self._like.of(procedure)
                if self._like and self._is_alike(procedure)
                else self._made(procedure)
            )
        return self._known[procedure.name]

    def _is_alike(self, procedure: Procedure) -> bool:
        """Whether the procedure is the same on the other aeroplane, and all it looks at."""
        stated = [self.picture.formula(s.condition) for s in statements_in(procedure)]
        there = self._like.picture.book.procedures if self._like else ()
        alike = self._alike is not None and self._alike.speaks_alike(*stated)
        return alike and procedure in there

    def is_idle(self, procedure: Procedure, trial: Trial, made: Made) -> bool:
        """Whether a step has no effect in a trial."""
        return is_idle(self._facts, procedure, trial.course, made)

    def _made(self, procedure: Procedure) -> Tries:
        found = self._occasions.of(procedure)
        by_hand = any(map(self._is_by_hand, found))
        # Not all that a control moved leads to is tried.
        together = max([2 * by_hand, *(len(occasion.changes) for occasion in found)])
        trials, restless, impossible = [], [], []
        for occasion in found if together <= 1 else _spread(found):
            text = self._text(occasion)
            try:
                course = carry_out(self.picture, procedure.steps, occasion.moment())
            except Unsettled:
                restless.append(text)
            except EntersImpossible as entered:
                impossible.append((text, entered.message))
            else:
                lost = self._not_secured(procedure, course)
                falsely = self._is_false(occasion)
                trials.append(Trial(occasion.start, text, falsely, course, lost))
        return Tries(
            tuple(trials), len(found), together, tuple(restless), tuple(impossible), by_hand
        )

    def _not_secured(self, procedure: Procedure, course: Course) -> tuple[str, ...]:
        return tuple(
            statement.text
            for statement in procedure.secures
            if not holds(self.picture, statement.condition, course.end)
        )

    def _is_by_hand(self, occasion: Occasion) -> bool:
        """Whether a control was moved and nothing else changed."""
        variables = self.picture.system.variables
        return [variables[name].kind for name in occasion.changes] == ["control"]

    def _is_false(self, occasion: Occasion) -> bool:
        variables = self.picture.system.variables
        return any(
            variables[name].kind == "failure" and variables[name].values[value].startswith(FALSE)
            for name, value in occasion.changes.items()
        )

    def _text(self, occasion: Occasion) -> str:
        system = self.picture.system
        texts = [literal_text(system, name, [value]) for name, value in occasion.changes.items()]
        after = f"{occasion.start}, after {listed(texts)}" if texts else occasion.start
        return f"{after}, gone again" if occasion.gone else after


def _spread(several: Sequence[Occasion]) -> Sequence[Occasion]:
    """As many as are tried, taken evenly from all."""
    count = len(several)
    most = min(count, MOST_TRIALS)
    return [several[i * count // most] for i in range(most)]
