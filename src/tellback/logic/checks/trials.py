"""Runs of the book's procedures: from where each is done, or is called for, as far as tried.

A procedure that something calls for is tried from its starting states if they call for it, and
after every single failure, fact or reading from outside that does, there still or gone again;
where no single one does, after one for each part of the condition, or with a control that the
condition names moved as well, or after two of those nearest to it. These are trials and no proof:
other states may call for it, too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import TypeVar

from tellback.book.conditions import All, things
from tellback.book.model import Procedure, Statement
from tellback.logic.facts import Facts
from tellback.logic.picture import Picture
from tellback.logic.procedure import (
    Course,
    Made,
    carry_out,
    holds,
    is_called_for,
    is_idle,
    picture_for,
)
from tellback.logic.run import Barred, Moment, Unsettled
from tellback.logic.words import listed, literal_text

MOST_TRIALS = 40
"""So many runs of a procedure are made at most, taken evenly from all there could be."""

MOST_TOGETHER = 150
"""So many sets of changes of one sort are tried at most from a starting state."""

FROM_OUTSIDE = ("failure", "situation", "reading")

Changes = Mapping[str, int]
Some = TypeVar("Some")


@dataclass(frozen=True, slots=True)
class Occasion:
    """A settled moment from which a procedure is tried, and how it came about.

    `gone`: what had changed is as it was before.
    """

    start: str
    changes: Changes
    moment: Moment
    gone: bool = False


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
        self._singles: dict[str, list[Occasion]] = {}

    def of(self, procedure: Procedure) -> tuple[Trial, ...]:
        """The trials of one procedure."""
        if procedure.name not in self._known:
            occasions = _spread(self._occasions(procedure), MOST_TRIALS)
            self._known[procedure.name] = tuple(self._tried(procedure, occasions))
        return self._known[procedure.name]

    def is_idle(self, procedure: Procedure, trial: Trial, made: Made) -> bool:
        """Whether a step has no effect in a trial."""
        return is_idle(self.picture, procedure, trial.course, made)

    def _tried(self, procedure: Procedure, occasions: Sequence[Occasion]) -> Iterator[Trial]:
        for occasion in occasions:
            try:
                course = carry_out(self.picture, procedure.steps, occasion.moment)
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

    # -- from where -------------------------------------------------------------------------

    def _occasions(self, procedure: Procedure) -> list[Occasion]:
        starts = [
            Occasion(name, {}, moment)
            for name, moment in self.picture.starts.items()
            if not procedure.done_from or name in procedure.done_from
        ]
        if not procedure.called_for:
            return starts
        found = []
        for start in starts:
            calls = is_called_for(self.picture, procedure, start.moment)
            after = [start] if calls else self._after_one(start)
            found += [o for o in after if is_called_for(self.picture, procedure, o.moment)]
        return found or self._first(procedure, starts)

    def _first(self, procedure: Procedure, starts: list[Occasion]) -> list[Occasion]:
        """What several changes together lead to, of the first sort that calls for it."""
        for together in (self._each_part, self._with_control, self._two_near):
            found: list[Occasion] = []
            for start in starts:
                sets = (changes for way in procedure.called_for for changes in together(way, start))
                after = self._after_several(start, islice(sets, MOST_TOGETHER))
                calling = (o for o in after if is_called_for(self.picture, procedure, o.moment))
                found += islice(calling, MOST_TRIALS // len(starts))
            if found:
                return found
        return []

    def _after_one(self, start: Occasion) -> list[Occasion]:
        """What follows every single change from outside; known from the first time on."""
        if start.start not in self._singles:
            names = self.picture.system.variables
            changes = self._changes(start.moment, names, FROM_OUTSIDE)
            self._singles[start.start] = [
                o for c in changes for o in self._there_and_gone(start, c)
            ]
        return self._singles[start.start]

    def _there_and_gone(self, start: Occasion, changes: Changes) -> Iterator[Occasion]:
        """What follows a change, and what is left when it is undone."""
        there = self._after(start, changes)
        if there is not None:
            yield there
            gone = self._after(there, {name: start.moment.state[name] for name in changes})
            if gone is not None and gone.moment.state != start.moment.state:
                yield Occasion(start.start, changes, gone.moment, gone=True)

    def _after_several(self, start: Occasion, sets: Iterable[Changes]) -> Iterator[Occasion]:
        for changes in sets:
            yield from self._there_and_gone(start, changes)

    def _each_part(self, way: Statement, start: Occasion) -> Iterator[Changes]:
        """Changes together, each of which alone brings a part of the condition about."""
        parts = way.condition.parts if isinstance(way.condition, All) else ()
        missing = [p for p in parts if not holds(self.picture, p, start.moment)]
        singles = [o for o in self._after_one(start) if not o.gone]
        bringing = [
            [o.changes for o in singles if holds(self.picture, part, o.moment)] for part in missing
        ]
        for several in product(*bringing):
            together = {name: value for changes in several for name, value in changes.items()}
            if len(together) == len(several) > 1:
                yield together

    def _with_control(self, way: Statement, start: Occasion) -> Iterator[Changes]:
        """A change from outside and a control moved that the condition names, the nearest first."""
        crew = self._changes(start.moment, things(way.condition), ("control",))
        for one, other in product(self._near(way, start), crew):
            yield {**one, **other}

    def _two_near(self, way: Statement, start: Occasion) -> Iterator[Changes]:
        """Two changes from outside, the nearest to the condition first."""
        near = self._near(way, start)
        for i, one in enumerate(near):
            yield from ({**one, **other} for other in near[:i] if one.keys() != other.keys())

    def _near(self, way: Statement, start: Occasion) -> list[Changes]:
        """Single changes from outside, those of things on which the condition hangs first."""
        facts, found = Facts(self.picture), list(things(way.condition))
        for name in found:
            found += [other for other in facts.depends(name) if other not in found]
        variables = self.picture.system.variables
        near = {name: i for i, name in enumerate(found)}
        changes = self._changes(start.moment, variables, FROM_OUTSIDE)
        bearing = [c for c in changes if variables[next(iter(c))].thing in near]
        return sorted(bearing, key=lambda c: near[variables[next(iter(c))].thing])

    def _changes(self, moment: Moment, names: Iterable[str], kinds: Sequence[str]) -> list[Changes]:
        """Every single change of those of these variables that are of the kinds."""
        variables = [v for v in self.picture.system.variables.values() if v.name in set(names)]
        return [
            {variable.name: value}
            for kind in kinds
            for variable in variables
            if variable.kind == kind
            for value in range(len(variable.values))
            if value != moment.state[variable.name]
        ]

    def _after(self, start: Occasion, changes: Changes) -> Occasion | None:
        """What follows the changes, settled; None if it cannot be or does not settle."""
        runner = self.picture.aeroplane
        try:
            moment = runner.settle(runner.move(start.moment, changes))
        except (Barred, Unsettled):
            return None
        if runner.holds(self.picture.system.impossible, moment.state):
            return None
        return Occasion(start.start, changes, moment)


def _spread(several: Sequence[Some], most: int) -> Sequence[Some]:
    """At most so many, taken evenly from all."""
    count = len(several)
    return several if count <= most else [several[i * count // most] for i in range(most)]
