"""Steps: what does this procedure do? Step by step, as a whole, one left out, two swapped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tellback.book.model import Book, Procedure, Why
from tellback.logic.answers.steps_text import lines_of
from tellback.logic.by_name import by_name
from tellback.logic.facts import Change, Facts, Seen, said
from tellback.logic.impossible import EntersImpossible
from tellback.logic.limits import ANSWER_SECONDS, within
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
from tellback.logic.scene import passing, scene
from tellback.logic.trials import Trial, Trials, Tries
from tellback.refusals import Refusal


class UnknownProcedure(Refusal, ValueError):
    """The book has no procedure of that name; `mend` tells which could be meant."""


@dataclass(frozen=True, slots=True)
class StepMade:
    """A step as it was made, so many seconds after the first; it `lasts` so many more.

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
    lasts: float
    outcome: str
    barred: str
    changes: tuple[Change, ...]
    idle: bool


@dataclass(frozen=True, slots=True)
class Secured:
    """What the procedure must bring about, and whether it was so before and is so at the end.

    `since` is the number of the step from which on it is so; empty if it is not, or was so before
    the first. `passed` is after how many seconds it was no longer so that a step had brought about
    or left so; None if it is so at the end, or never was.
    """

    text: str
    before: bool
    after: bool
    since: str
    passed: float | None = None


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

    `barred` are the steps that can then no longer be made, `lost` what is then not secured. If the
    run then comes to what is stated impossible, `impossible` says so instead.
    """

    numbers: tuple[str, ...]
    differences: tuple[Difference, ...]
    barred: tuple[str, ...]
    lost: tuple[str, ...]
    impossible: str = ""

    @property
    def matters(self) -> bool:
        """Whether anything is otherwise."""
        return bool(self.differences or self.barred or self.lost or self.impossible)


@dataclass(frozen=True, slots=True)
class NotSecured:
    """Something that the procedure does not bring about, and from which states, in words."""

    text: str
    starts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """From how many states that call for it the procedure was run, and where it fell short.

    `states` were found, `runs` made from them. Up to one change `together`, these are all states
    to which a starting state and one failure, fact or reading lead; else there are more.
    `falsely`: in all of them something is shown or read falsely. `restless` are those from which
    it does not come to an end, `impossible` those from which it comes to what is stated impossible.
    `by_hand`: a control moved alone led to some.
    """

    starts: tuple[str, ...]
    states: int
    runs: int
    together: int
    falsely: bool
    not_secured: tuple[NotSecured, ...]
    restless: tuple[str, ...]
    impossible: tuple[str, ...] = ()
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class Steps:
    """What a procedure does from one state: every step, the whole, and its variations.

    `called_for` and `tried` are None for a procedure that nothing calls for. `restored` is what
    the changes at the start had taken away and the procedure gave back, `brought` what else it
    changed. Every control moved was left out once, and every two neighbours that move controls
    swapped.
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
    tried: Tried | None

    def __str__(self) -> str:
        return "\n".join(lines_of(self))


@within(ANSWER_SECONDS, "working out the procedure")
def steps(
    book: Book,
    procedure: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Steps:
    """What the procedure of that name does from a starting state, with changes, in time.

    Without either, from the first state found that calls for it, or else the first that it is
    done from. Raises UnknownProcedure.
    """
    told = by_name(book.procedures, procedure, "procedure", UnknownProcedure)
    picture = picture_for(book, [told], aeroplane)
    meant = next((p for p in picture.book.procedures if p.name == told.name), None)
    if meant is None:
        raise UnknownProcedure(
            f"{picture.book.aeroplane} has no “{told.name}”",
            f"It applies to {told.applies.text}: ask it of such an aeroplane.",
        )
    tries = Trials(picture).of(meant) if meant.called_for else None
    trial = _example(tries) if tries and not start and not changes else None
    if trial is not None:
        start, text, course = trial.start, trial.text, trial.course
    else:
        start = start or next(iter(meant.done_from), "")
        where = scene(picture, start, changes)
        text, course = where.text, carry_out(picture, meant.steps, where.moment)
    done = _Done(picture, meant, course)
    restored, brought = done.whole(Facts(picture).seen(scene(picture, start).moment))
    return Steps(
        procedure=meant.name,
        kind=meant.kind,
        source=meant.source,
        aeroplane=picture.book.aeroplane,
        start=text,
        called_for=is_called_for(picture, meant, course.begin) if meant.called_for else None,
        steps=tuple(map(done.told, course.made)),
        seconds=course.end.time - course.begin.time,
        secured=tuple(done.secured()),
        restored=restored,
        brought=brought,
        left_out=tuple(done.left_out()),
        swapped=tuple(done.swapped()),
        tried=_tried(picture, meant, tries) if tries else None,
    )


def _example(tries: Tries) -> Trial | None:
    """The first trial, rather one in which nothing is shown or read falsely."""
    return min(tries.trials, key=lambda trial: trial.falsely, default=None)


def _tried(picture: Picture, procedure: Procedure, tries: Tries) -> Tried:
    lost = {
        statement.text: tuple(t.text for t in tries.trials if statement.text in t.not_secured)
        for statement in procedure.secures
    }
    return Tried(
        starts=procedure.done_from or tuple(picture.starts),
        states=tries.states,
        runs=len(tries.trials),
        together=tries.together,
        falsely=bool(tries.trials) and all(trial.falsely for trial in tries.trials),
        not_secured=tuple(NotSecured(text, starts) for text, starts in lost.items() if starts),
        restless=tries.restless,
        impossible=tuple(start for start, _ in tries.impossible),
        by_hand=tries.by_hand,
    )


class _Done:
    """One course of a procedure, and what is otherwise in its variations."""

    def __init__(self, picture: Picture, procedure: Procedure, course: Course) -> None:
        self.picture = picture
        self.procedure = procedure
        self.course = course
        self.facts = Facts(picture)
        self.start = course.begin

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
            lasts=made.history[-1].time - made.history[0].time,
            outcome=made.outcome,
            barred=barred_text(self.picture, made) if made.outcome == BARRED else "",
            changes=tuple(self.facts.changes(made.history, moved_in(self.picture, step))),
            idle=is_idle(self.facts, self.procedure, self.course, made),
        )

    def secured(self) -> Iterator[Secured]:
        """What is secured, before and after."""
        made = self.course.made
        for statement in self.procedure.secures:
            so = [
                holds(self.picture, statement.condition, moment)
                for moment in (self.start, *(one.history[-1] for one in made), self.course.end)
            ]
            missing = max((i for i, met in enumerate(so) if not met), default=-1)
            since = made[missing].number if 0 <= missing < len(made) else ""
            formula = self.picture.formula(statement.condition)
            passed = passing(self.picture, self.course.path, formula)
            yield Secured(statement.text, so[0], so[-1], since, passed)

    def whole(
        self, usual: dict[Seen, str]
    ) -> tuple[tuple[Difference, ...], tuple[Difference, ...]]:
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
                yield self._variation((made.number,), (), apart_from)

    def swapped(self) -> Iterator[Variation]:
        """Every two neighbouring steps that move controls, swapped."""
        moving = {made.number for made in self.course.made if made.step.kind == "do"}
        for pair in neighbours(numbered(self.procedure.steps)):
            if moving.issuperset(pair):
                yield self._variation((), pair)

    def _variation(
        self, left_out: tuple[str, ...], swapped: tuple[str, ...], apart_from: Sequence[str] = ()
    ) -> Variation:
        numbers = left_out or swapped
        try:
            other = carry_out(
                self.picture, self.procedure.steps, self.start, left_out, swapped, self.course
            )
        except EntersImpossible as reason:
            return Variation(numbers, (), (), (), reason.message)
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

    def _said(self, found: Iterable[tuple[Seen, str, str]]) -> tuple[Difference, ...]:
        return tuple(Difference(*seen, before, after) for seen, before, after in found)
