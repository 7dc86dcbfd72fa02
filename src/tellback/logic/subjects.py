"""What a question is about: the formula to explain, its needs, and the statements behind it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tellback.book import conditions as c
from tellback.book.english import time_text
from tellback.book.model import (
    Indication,
    Latch,
    Means,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
    Why,
)
from tellback.logic.formula import Formula, Ref, conj, neg
from tellback.logic.picture import Picture

JOINED = c.All | c.Any | c.AtLeast | c.Held
"""Conditions that stand in brackets after `not`."""


@dataclass(frozen=True, slots=True)
class Stated:
    """A way that the book states: its name, its text, its source and its reasons."""

    name: str
    text: str
    source: str
    whys: tuple[Why, ...]
    formula: Formula


@dataclass(frozen=True, slots=True)
class Subject:
    """A condition to explain.

    `happens` is what the ways bring about; for a latch or a surface's position that is the
    change (`verb` says so: `is set`, `goes there`), for everything else the condition itself.
    `needs` are what it needs as well, `stated` what the book says of it, `inhibited` what keeps an
    indication off, or beats what changes a latch at a moment. `edges`: what is stated looks at
    something that comes on or goes out, so that no state alone tells when it happens.
    """

    text: str
    condition: c.Condition
    happens: Formula
    verb: str
    needs: tuple[Stated, ...]
    stated: tuple[Stated, ...]
    thing: Thing | None
    inhibited: tuple[Stated, ...] = ()
    edges: bool = False


class Subjects:
    """Makes subjects of conditions, for one picture."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.values = picture.system.values

    def of(self, condition: c.Condition) -> Subject:
        """The subject of a condition."""
        text = self.picture.phrase(condition)
        if isinstance(condition, c.State):
            thing = self.picture.book.thing(condition.thing)
            subject = self._of_state(text, condition, thing)
            if subject is not None:
                return subject
        if isinstance(condition, c.Not) and isinstance(condition.part, c.State):
            thing = self.picture.book.thing(condition.part.thing)
            if isinstance(thing, Latch):
                return self._of_latch(text, condition, thing, ("is cleared", thing.clears, 0))
        if isinstance(condition, c.Held):
            happens = self.picture.formula(condition.part)
            verb = f"begins {time_text(condition.seconds)} after this does"
            return Subject(text, condition, happens, verb, (), (), None)
        return Subject(text, condition, self.picture.formula(condition), "", (), (), None)

    def _of_state(self, text: str, condition: c.State, thing: Thing) -> Subject | None:
        formula = self.picture.formula(condition)
        match thing:
            case Unit() if condition.state == "running":
                needs = [*self._stated(thing, thing.needs), *self._denied(thing, thing.shed)]
                ways = self._stated(thing, thing.ways)
                return Subject(text, condition, formula, "", tuple(needs), tuple(ways), thing)
            case Means():
                ways = self._stated(thing, thing.ways)
                return Subject(text, condition, formula, "", (), tuple(ways), thing)
            case Indication() if condition.state == "shown":
                stated = (thing.needs, thing.ways, thing.inhibits)
                needed, by, off = (tuple(self._stated(thing, found)) for found in stated)
                return Subject(text, condition, formula, "", needed, by, thing, off)
            case Supply():
                rows = tuple(self._rows(thing))
                return Subject(text, condition, formula, "", (), rows, thing)
            case Latch():
                return self._of_latch(text, condition, thing, ("is set", thing.sets, 1))
            case Surface() if condition.state.startswith("at "):
                return self._of_place(text, condition, thing)
        return None

    def _of_latch(
        self,
        text: str,
        condition: c.Condition,
        latch: Latch,
        change: tuple[str, tuple[Statement, ...], int],
    ) -> Subject:
        """What changes a latch: in words, the statements that say so, and to which value."""
        verb, statements, value = change
        due = next(
            r.condition
            for r in self.picture.system.steps
            if r.variable == latch.name and r.value == value
        )
        edges = any(isinstance(n, c.Edge) for s in statements for n in c.walk(s.condition))
        stated = tuple(self._stated(latch, statements))
        if not edges:
            return Subject(text, condition, due, verb, (), stated, latch)
        beaten = latch.set_wins != bool(value)
        other_way = latch.clears if value else latch.sets
        apart = [s for s in other_way if latch.name not in _spoken_of(s.condition)]
        against = self._stated(latch, apart) if beaten else ()
        return Subject(text, condition, due, verb, (), stated, latch, tuple(against), edges)

    def _of_place(self, text: str, condition: c.State, surface: Surface) -> Subject:
        place = 2 * surface.points.index(condition.state.removeprefix("at "))
        sent = Ref((surface.name, f"sent to {place}"))
        drives = tuple(
            Stated(
                drive.name,
                drive.statement.text,
                drive.statement.source,
                drive.statement.whys,
                Ref((surface.name, f"driven by {drive.name}")),
            )
            for drive in surface.drives
        )
        return Subject(text, condition, sent, "goes there", (), drives, surface)

    def _rows(self, supply: Supply) -> Iterable[Stated]:
        for i, feed in enumerate(supply.feeds):
            statement = feed.statement
            yield Stated(
                f"from {feed.source}",
                f"from {statement.text}",
                statement.source or supply.source,
                statement.whys,
                Ref((supply.name, f"row {i}")),
            )

    def _stated(self, thing: Thing, statements: Iterable[Statement]) -> list[Stated]:
        return [
            Stated(
                s.name,
                s.text,
                s.source or thing.source,
                s.whys,
                self.picture.formula(s.condition, thing.name),
            )
            for s in statements
        ]

    def _denied(self, thing: Thing, statements: Iterable[Statement]) -> list[Stated]:
        return [
            Stated(
                "",
                f"not ({s.text})" if isinstance(s.condition, JOINED) else f"not {s.text}",
                s.source or thing.source,
                s.whys,
                neg(self.picture.formula(s.condition, thing.name)),
            )
            for s in statements
        ]


def all_needs(subject: Subject) -> Formula:
    """Everything the subject needs as well."""
    return conj(need.formula for need in subject.needs)


def _spoken_of(condition: c.Condition) -> set[str]:
    """The things whose states a condition speaks of."""
    return {node.thing for node in c.walk(condition) if isinstance(node, c.State)}
