"""Steps: what does this procedure do? Step by step, as a whole, one left out, two swapped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tellback.book.model import Book, Procedure, Why
from tellback.logic.answers.steps_text import lines_of
from tellback.logic.by_name import by_name
from tellback.logic.facts import Change, Facts, kind_of, said
from tellback.logic.picture import Picture
from tellback.logic.procedure import (
    BARRED,
    Course,
    Made,
    barred_text,
    carry_out,
    differing,
    holds,
    is_called_for,
    is_idle,
    moved_in,
    neighbours,
    numbered,
    picture_for,
)
from tellback.logic.scene import scene
from tellback.refusals import Refusal


class UnknownProcedure(Refusal, ValueError):
    """The book has no procedure of that name; `mend` tells which could be meant."""


@dataclass(frozen=True, slots=True)
class StepMade:
    """A step as it was made, so many seconds after the first.

    `outcome` is empty for a control that was moved; else already so, barred, does not stay, so,
    not so, or never so. `idle`: it changes nothing, and all ends alike without it.
    """

    number: str
    kind: str
    text: str
    source: str
    note: str
    whys: tuple[Why, ...]
    from_memory: bool
    seconds: float
    outcome: str
    barred: str
    changes: tuple[Change, ...]
    idle: bool


@dataclass(frozen=True, slots=True)
class Secured:
    """What the procedure must bring about, and whether it was so before and is so at the end."""

    text: str
    before: bool
    after: bool


@dataclass(frozen=True, slots=True)
class Difference:
    """Something that ends otherwise: its state before, or as the steps stand, and after."""

    thing: str
    kind: str
    before: str
    after: str

    @property
    def text(self) -> str:
        """The state after, in words."""
        return said(self.thing, self.kind, self.after)


@dataclass(frozen=True, slots=True)
class Variation:
    """The procedure with a step left out or two swapped (`numbers`), and what ends otherwise.

    `barred` are the steps that can then no longer be made, `lost` what is then not secured.
    """

    numbers: tuple[str, ...]
    differences: tuple[Difference, ...]
    barred: tuple[str, ...]
    lost: tuple[str, ...]

    @property
    def matters(self) -> bool:
        """Whether anything is otherwise."""
        return bool(self.differences or self.barred or self.lost)


@dataclass(frozen=True, slots=True)
class Steps:
    """What a procedure does from one state: every step, the whole, and its variations.

    `called_for` is None for a procedure that nothing calls for. `restored` is what the changes at
    the start had taken away and the procedure gave back, `brought` what else it changed. Every
    control moved was left out once, and every two neighbours that move controls swapped.
    """

    procedure: str
    kind: str
    source: str
    aeroplane: str
    start: str
    called_for: bool | None
    steps: tuple[StepMade, ...]
    seconds: float
    secured: tuple[Secured, ...]
    restored: tuple[Difference, ...]
    brought: tuple[Difference, ...]
    left_out: tuple[Variation, ...]
    swapped: tuple[Variation, ...]

    def __str__(self) -> str:
        return "\n".join(lines_of(self))


def steps(
    book: Book,
    procedure: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Steps:
    """What the procedure of that name does from a starting state, with changes, in time.

    Without a start, from the first that it is done from. Raises UnknownProcedure.
    """
    told = by_name(book.procedures, procedure, "procedure", UnknownProcedure)
    picture = picture_for(book, [told], aeroplane)
    meant = next((p for p in picture.book.procedures if p.name == told.name), None)
    if meant is None:
        raise UnknownProcedure(
            f"{picture.book.aeroplane} has no “{told.name}”",
            f"It applies to {told.applies.text}: ask it of such an aeroplane.",
        )
    start = start or next(iter(meant.done_from), "")
    where = scene(picture, start, changes)
    course = carry_out(picture, meant.steps, where.moment)
    trial = _Trial(picture, meant, course)
    before = scene(picture, start).moment if changes else where.moment
    restored, brought = trial.whole(Facts(picture).at(before))
    return Steps(
        procedure=meant.name,
        kind=meant.kind,
        source=meant.source,
        aeroplane=picture.book.aeroplane,
        start=where.text,
        called_for=is_called_for(picture, meant, where.moment) if meant.called_for else None,
        steps=tuple(map(trial.told, course.made)),
        seconds=course.end.time - where.moment.time,
        secured=tuple(trial.secured()),
        restored=restored,
        brought=brought,
        left_out=tuple(trial.left_out()),
        swapped=tuple(trial.swapped()),
    )


class _Trial:
    """One course of a procedure, and what is otherwise in its variations."""

    def __init__(self, picture: Picture, procedure: Procedure, course: Course) -> None:
        self.picture = picture
        self.procedure = procedure
        self.course = course
        self.facts = Facts(picture)
        self.start = course.made[0].history[0] if course.made else course.rest[0]

    def told(self, made: Made) -> StepMade:
        """A step in words, with all that changed in it."""
        step = made.step
        return StepMade(
            number=made.number,
            kind=step.kind,
            text=step.statement.text,
            source=step.statement.source,
            note=step.note,
            whys=step.statement.whys,
            from_memory=step.from_memory,
            seconds=made.history[0].time - self.start.time,
            outcome=made.outcome,
            barred=barred_text(self.picture, made) if made.outcome == BARRED else "",
            changes=tuple(self.facts.changes(made.history, moved_in(self.picture, step))),
            idle=is_idle(self.facts, self.procedure, self.course, made),
        )

    def secured(self) -> Iterator[Secured]:
        """What is secured, before and after."""
        for statement in self.procedure.secures:
            before, after = (
                holds(self.picture, statement.condition, moment)
                for moment in (self.start, self.course.end)
            )
            yield Secured(statement.text, before, after)

    def whole(self, usual: dict[str, str]) -> tuple[tuple[Difference, ...], tuple[Difference, ...]]:
        """What is again as it was in the starting state, and what else is otherwise at the end."""
        moved = {n for made in self.course.made for n in moved_in(self.picture, made.step)}
        found = differing(self.facts, self.start, self.course.end, moved)
        restored = [d for d in found if d[2] == usual[d[0]]]
        return self._said(restored), self._said(d for d in found if d not in restored)

    def left_out(self) -> Iterator[Variation]:
        """Every control that was moved, not moved."""
        for made in self.course.made:
            if made.moves:
                apart_from = moved_in(self.picture, made.step)
                other = self._again(left_out=[made.number])
                yield self._variation((made.number,), other, apart_from)

    def swapped(self) -> Iterator[Variation]:
        """Every two neighbouring steps that move controls, swapped."""
        moving = {made.number for made in self.course.made if made.step.kind == "do"}
        for pair in neighbours(numbered(self.procedure.steps)):
            if moving.issuperset(pair):
                yield self._variation(pair, self._again(swapped=pair))

    def _again(self, left_out: Sequence[str] = (), swapped: Sequence[str] = ()) -> Course:
        return carry_out(
            self.picture, self.procedure.steps, self.start, left_out, swapped, self.course
        )

    def _variation(
        self, numbers: tuple[str, ...], other: Course, apart_from: Sequence[str] = ()
    ) -> Variation:
        found = differing(self.facts, self.course.end, other.end, apart_from)
        could = {made.number for made in self.course.made if made.outcome != BARRED}
        lost = [
            s.text
            for s in self.procedure.secures
            if holds(self.picture, s.condition, self.course.end)
            and not holds(self.picture, s.condition, other.end)
        ]
        barred = [m.number for m in other.made if m.outcome == BARRED and m.number in could]
        return Variation(numbers, self._said(found), tuple(barred), tuple(lost))

    def _said(self, found: Iterable[tuple[str, str, str]]) -> tuple[Difference, ...]:
        return tuple(
            Difference(name, kind_of(self.picture.book.thing(name)), before, after)
            for name, before, after in found
        )
