"""Runs of the book's procedures from where `occasions` finds them done or called for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tellback.book.model import Procedure
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
    """The trials of all procedures of one aeroplane, each made when first asked for."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture_for(picture.book, picture.book.procedures)
        self._known: dict[str, tuple[Trial, ...]] = {}
        self._facts = Facts(self.picture)
        self._occasions = Occasions(self.picture)

    def of(self, procedure: Procedure) -> tuple[Trial, ...]:
        """The trials of one procedure."""
        if procedure.name not in self._known:
            occasions = _spread(self._occasions.of(procedure), MOST_TRIALS)
            self._known[procedure.name] = tuple(self._tried(procedure, occasions))
        return self._known[procedure.name]

    def is_idle(self, procedure: Procedure, trial: Trial, made: Made) -> bool:
        """Whether a step has no effect in a trial."""
        return is_idle(self._facts, procedure, trial.course, made)

    def _tried(self, procedure: Procedure, occasions: Sequence[Occasion]) -> Iterator[Trial]:
        for occasion in occasions:
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
