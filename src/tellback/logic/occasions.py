"""From where a procedure is tried: the states, as far as tried, in which it is called for.

These are its starting states if they call for it, and what every single failure, fact or reading
from outside leads to that does, there still or gone again; where no single one does, what one for
each part of the condition does, or a control that the condition names moved, alone or with one of
them, or two of those nearest to it. Other states may call for it, too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import islice, product

from tellback.book.conditions import All, Condition, things
from tellback.book.model import Procedure, Statement
from tellback.logic.abreast import Abreast
from tellback.logic.facts import Facts
from tellback.logic.formula import Formula
from tellback.logic.picture import Picture
from tellback.logic.procedure import holds, is_called_for
from tellback.logic.row import MovesOfRuns, Row, Runs, any_of, bits, changes_of
from tellback.logic.run import Moment
from tellback.logic.solve import Valuation

MOST_TOGETHER = 1000
"""So many sets of changes of one sort are tried at most from a starting state."""

FROM_OUTSIDE = ("failure", "situation", "reading")

Changes = Mapping[str, int]
Set = tuple[str, Changes]
"""A starting state, and what is changed in it."""


@dataclass(frozen=True, slots=True)
class Occasion:
    """A settled moment from which a procedure is tried, and how it came about.

    `moment` gives it when asked, for it takes time. `gone`: what had changed is as it was before.
    """

    start: str
    changes: Changes
    moment: Callable[[], Moment]
    gone: bool = False


class Occasions:
    """The occasions of all procedures of one aeroplane."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self._abreast = picture.abreast
        self._facts = Facts(picture)

    def of(self, procedure: Procedure) -> list[Occasion]:
        """From where a procedure is tried."""
        starts = [
            Occasion(name, {}, partial(self.picture.starts.__getitem__, name))
            for name in self.picture.starts
            if not procedure.done_from or name in procedure.done_from
        ]
        if not procedure.called_for:
            return starts
        calling = {s.start: s for s in starts if is_called_for(self.picture, procedure, s.moment())}
        after: dict[str, list[Occasion]] = {}
        for occasion in self._singles.calling(self._formulas(procedure)):
            after.setdefault(occasion.start, []).append(occasion)
        found = [
            occasion
            for s in starts
            for occasion in ([calling[s.start]] if s.start in calling else after.get(s.start, []))
        ]
        return found or self._after_several(procedure, starts)

    def _formulas(self, procedure: Procedure) -> list[Formula]:
        return [self.picture.formula(way.condition) for way in procedure.called_for]

    @cached_property
    def _singles(self) -> _Afterwards:
        """What follows every single change from outside, from every starting state."""
        names = tuple(self.picture.system.variables)
        return self._after(
            (name, change)
            for name, moment in self.picture.starts.items()
            for change in self._changes(moment, names, FROM_OUTSIDE)
        )

    def _after(self, sets: Iterable[Set]) -> _Afterwards:
        return _Afterwards(self.picture, self._abreast, tuple(sets))

    def _after_several(self, procedure: Procedure, starts: list[Occasion]) -> list[Occasion]:
        """What several changes together lead to, of the first sort that calls for it."""
        for together in (self._each_part, self._with_control, self._two_near):
            after = self._after(
                (start.start, changes)
                for start in starts
                for way in procedure.called_for
                for changes in islice(together(way, start), MOST_TOGETHER)
            )
            found = list(after.calling(self._formulas(procedure)))
            if found:
                return found
        return []

    def _each_part(self, way: Statement, start: Occasion) -> Iterator[Changes]:
        """Changes together, each of which alone brings a part of the condition about."""
        parts = way.condition.parts if isinstance(way.condition, All) else ()
        missing = [p for p in parts if not holds(self.picture, p, start.moment())]
        for several in product(*(self._bringing(part, start) for part in missing)):
            together = {name: value for changes in several for name, value in changes.items()}
            if len(together) == len(several) > 1:
                yield together

    def _bringing(self, part: Condition, start: Occasion) -> list[Changes]:
        return self._singles.bringing(self.picture.formula(part), start.start)

    def _with_control(self, way: Statement, start: Occasion) -> Iterator[Changes]:
        """A control moved that the condition names: alone, or with a change from outside.

        The nearest of these first.
        """
        crew = self._changes(start.moment(), things(way.condition), ("control",))
        yield from crew
        for one, other in product(self._near(way, start), crew):
            yield {**one, **other}

    def _two_near(self, way: Statement, start: Occasion) -> Iterator[Changes]:
        """Two changes from outside, the nearest to the condition first."""
        near = self._near(way, start)
        for i, one in enumerate(near):
            yield from ({**one, **other} for other in near[:i] if one.keys() != other.keys())

    def _near(self, way: Statement, start: Occasion) -> list[Changes]:
        """Single changes from outside, those of things on which the condition hangs first."""
        found = list(things(way.condition))
        for name in found:
            found += [other for other in self._facts.depends(name) if other not in found]
        variables = self.picture.system.variables
        near = {name: i for i, name in enumerate(found)}
        changes = self._changes(start.moment(), variables, FROM_OUTSIDE)
        bearing = [c for c in changes if variables[next(iter(c))].thing in near]
        return sorted(bearing, key=lambda c: near[variables[next(iter(c))].thing])

    def _changes(self, moment: Moment, names: Iterable[str], kinds: Sequence[str]) -> list[Changes]:
        """Every single change of those of these variables that are of the kinds."""
        among = set(names)
        variables = [v for v in self.picture.system.variables.values() if v.name in among]
        return [
            {variable.name: value}
            for kind in kinds
            for variable in variables
            if variable.kind == kind
            for value in range(len(variable.values))
            if value != moment.state[variable.name]
        ]


class _Afterwards:
    """What follows sets of changes once all has settled, and what is left when they are undone."""

    def __init__(self, picture: Picture, abreast: Abreast, sets: Sequence[Set]) -> None:
        self._abreast = abreast
        self._sets = sets
        starts = [picture.starts[start] for start, _ in sets]
        row = abreast.row(starts)
        made = changes_of(changes for _, changes in sets)
        undone = changes_of(
            {name: start.state[name] for name in changes}
            for start, (_, changes) in zip(starts, sets, strict=True)
        )
        self._there = self._settled(row, made)
        self._back = self._settled(abreast.anew(self._there[0]), undone)
        self._left = self._there[1] & self._back[1] & abreast.differing(row, self._back[0])

    def _settled(self, row: Row, changes: MovesOfRuns) -> tuple[Row, Runs]:
        """The settled row after the changes, and the runs in which that can be."""
        barred = self._abreast.barred(row, changes)
        row, possible = self._abreast.settle_possibly(self._abreast.move(row, changes))
        return row, possible & ~(barred | row.lost)

    @cached_property
    def _values(self) -> tuple[Valuation[Runs], Valuation[Runs]]:
        return self._abreast.values(self._there[0]), self._abreast.values(self._back[0])

    def calling(self, formulas: Sequence[Formula]) -> Iterator[Occasion]:
        """The moments at which one of the formulas holds."""
        there, back = (
            any_of(values.of(formula) for formula in formulas) for values in self._values
        )
        there &= self._there[1]
        back &= self._left
        for run in bits(there | back):
            start, changes = self._sets[run]
            if there >> run & 1:
                yield Occasion(start, changes, partial(self._abreast.moment, self._there[0], run))
            if back >> run & 1:
                moment = partial(self._abreast.moment, self._back[0], run)
                yield Occasion(start, changes, moment, gone=True)

    def bringing(self, formula: Formula, start: str) -> list[Changes]:
        """The changes from a starting state that bring about that the formula holds."""
        runs = self._values[0].of(formula) & self._there[1]
        return [self._sets[run][1] for run in bits(runs) if self._sets[run][0] == start]
