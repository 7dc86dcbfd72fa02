"""Runs of the book's procedures from where `occasions` finds them done or called for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tellback.book.model import Procedure
from tellback.book.procedures import statements_in
from tellback.logic.alike import Alike
from tellback.logic.checks.occasions import Occasion, Occasions
from tellback.logic.facts import Facts
from tellback.logic.picture import Picture
from tellback.logic.procedure import (
    Course,
    Made,
    carry_out,
    holds,
    is_idle,
    picture_for,
)
from tellback.logic.run import Unsettled
from tellback.logic.words import listed, literal_text

MOST_TRIALS = 40
"""So many runs of a procedure are made at most, taken evenly from all there could be."""

Some = TypeVar("Some")


@dataclass(frozen=True, slots=True)
class Trial:
    """A run of a procedure: from where, in words, its course, and what it does not secure."""

    text: str
    course: Course
    not_secured: tuple[str, ...]


class Trials:
    """The trials of all procedures of one aeroplane, each made when first asked for.

    Those of `like`, another aeroplane, are taken where they can but be the same.
    """

    def __init__(self, picture: Picture, like: Trials | None = None) -> None:
        self.picture = picture_for(picture.book, picture.book.procedures)
        self._like = like
        self._alike = Alike(self.picture, like.picture) if like else None
        self._known: dict[str, tuple[Trial, ...]] = {}
        self._facts = Facts(self.picture)
        self._occasions = Occasions(self.picture)

    def of(self, procedure: Procedure) -> tuple[Trial, ...]:
        """The trials of one procedure."""
        if procedure.name not in self._known:
            self._known[procedure.name] = (
                self._like.of(procedure)
                if self._like and self._is_alike(procedure)
                else tuple(self._made(procedure))
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

    def _made(self, procedure: Procedure) -> Iterator[Trial]:
        for occasion in _spread(self._occasions.of(procedure), MOST_TRIALS):
            try:
                course = carry_out(self.picture, procedure.steps, occasion.moment())
            except Unsettled:
                continue
            yield Trial(
                self._text(occasion),
                course,
                tuple(
                    statement.text
                    for statement in procedure.secures
                    if not holds(self.picture, statement.condition, course.end)
                ),
            )

    def _text(self, occasion: Occasion) -> str:
        system = self.picture.system
        texts = [literal_text(system, name, [value]) for name, value in occasion.changes.items()]
        after = f"{occasion.start}, after {listed(texts)}" if texts else occasion.start
        return f"{after}, gone again" if occasion.gone else after


def _spread(several: Sequence[Some], most: int) -> Sequence[Some]:
    """At most so many, taken evenly from all."""
    count = len(several)
    return several if count <= most else [several[i * count // most] for i in range(most)]
