"""What a question is about: the formula to explain, its needs, and the statements behind it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tellback.book import conditions as c
from tellback.book.english import either, time_text
from tellback.book.model import (
    Control,
    Drive,
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
from tellback.logic.denial import denied, lasting, opposite
from tellback.logic.formula import FALSE, TRUE, Formula, Lit, Ref, conj, disj, neg
from tellback.logic.picture import Picture
from tellback.logic.said import ALL, Said, in_words, joined, said


@dataclass(frozen=True, slots=True)
class Stated:
    """A way that the book states: its name, its text, its source and its reasons.

    `said` is what it asks for, `denial` what is so where that is not met (None if that cannot be
    said). `formula` is when it does
    bring it about, `alone` when what it asks for is met, though something else may beat it.
    """

    name: str
    text: str
    source: str
    whys: tuple[Why, ...]
    formula: Formula
    said: Said
    alone: Formula
    denial: Said | None


@dataclass(frozen=True, slots=True)
class Subject:
    """A condition to explain.

    `happens` is what the ways bring about; for a latch or a surface's position that is the
    change (`verb` says so: `is set`, `goes there`), for everything else the condition itself.
    `needs` are what it needs as well, `stated` what the book says of it, `inhibited` what keeps an
    indication off, or beats what changes a latch at a moment. `edges`: what is stated looks at
    something that comes on or goes out, so that no state alone tells when it happens.

    `named` tells that the book itself says when it is so, `always` that this is whenever its needs
    are met. `through` are the means by which alone X is so, and of which the
    stated ways are. `beaten` is what keeps a stated way from its effect, `cancelled` what cancels
    an indication.
    """

    text: str
    condition: c.Condition
    happens: Formula
    verb: str = ""
    needs: tuple[Stated, ...] = ()
    stated: tuple[Stated, ...] = ()
    thing: Thing | None = None
    inhibited: tuple[Stated, ...] = ()
    edges: bool = False
    named: bool = False
    always: bool = False
    through: tuple[Stated, ...] = ()
    beaten: tuple[Stated, ...] = ()
    cancelled: tuple[Stated, ...] = ()


class Subjects:
    """Makes subjects of conditions, for one picture."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.values = picture.system.values

    def of(self, condition: c.Condition) -> Subject:
        """The subject of a condition."""
        match condition:
            case c.Held(part, seconds):
                return self._of_held(condition, self.of(part), seconds)
            case c.Not(c.State(name)):
                thing = self.picture.book.thing(name)
                if isinstance(thing, Latch):
                    return self._of_latch(condition, thing, ("is cleared", thing.clears, 0))
            case c.FedBy(name, source):
                return self._of_feeder(condition, self._supply(name), source)
            case c.Between(name, low, included, None) if low is not None:
                thing = self.picture.book.thing(name)
                if isinstance(thing, Supply):
                    level = thing.levels.index(low) + (not included)
                    return self._of_level(condition, thing, level)
            case c.State(name):
                return self._of_state(condition, self.picture.book.thing(name))
        return self._plain(condition)

    def _plain(self, condition: c.Condition) -> Subject:
        return Subject(self.picture.phrase(condition), condition, self.picture.formula(condition))

    def _of_held(self, condition: c.Held, of_part: Subject, seconds: float) -> Subject:
        """What has held for a time: the ways are those of what must hold."""
        verb = f"begins {time_text(seconds)} after this does"
        text = self.picture.phrase(condition)
        if of_part.verb:
            happens = self.picture.formula(condition.part)
            return Subject(text, condition, happens, verb)
        return replace(of_part, text=text, condition=condition, verb=verb)

    def _of_state(self, condition: c.State, thing: Thing) -> Subject:
        plain = replace(self._plain(condition), thing=thing)
        match thing:
            case Unit() if condition.state == "running":
                needs = (*self._stated(thing, thing.needs), *self._denied(thing, thing.shed))
                return self._called(replace(plain, needs=needs), thing, thing.ways)
            case Means():
                return self._called(plain, thing, thing.ways)
            case Indication() if condition.state == "shown":
                stated = (thing.needs, thing.inhibits, thing.resets)
                needed, off, resets = (tuple(self._stated(thing, found)) for found in stated)
                shown = replace(plain, needs=needed, inhibited=off, cancelled=resets)
                return self._called(shown, thing, thing.ways)
            case Supply() if condition.state == "live":
                return self._of_level(condition, thing, 1)
            case Supply() if condition.state == f"at {thing.levels[-1]}":
                return self._of_level(condition, thing, len(thing.levels) - 1)
            case Latch() if condition.state == "set":
                return self._of_latch(condition, thing, ("is set", thing.sets, 1))
            case Surface() if condition.state.startswith("at "):
                return self._of_place(condition, thing)
        return plain if isinstance(thing, Supply) else replace(plain, thing=None)

    # -- what is called by ways of its own, or by those of a means -----------------------------

    def _called(self, subject: Subject, thing: Thing, ways: Sequence[Statement]) -> Subject:
        """The subject with its ways: where a means alone is its one way, those of the means."""
        through: list[Stated] = []
        while (means := self._only_means(ways)) and means.name not in {s.text for s in through}:
            through += [replace(self._stated(thing, ways)[0], text=means.name)]
            thing, ways = means, means.ways
        stated = self._stated(thing, ways)
        if through and len(ways) == 1:  # the means itself is its name
            *through, last = through
            sources = dict.fromkeys((last.source, stated[0].source))
            source = "; ".join(one for one in sources if one)
            stated = [replace(stated[0], name=stated[0].name or last.text, source=source)]
        return replace(
            subject,
            stated=tuple(stated),
            named=True,
            always=not stated and not subject.verb,
            through=tuple(through),
        )

    def _only_means(self, ways: Sequence[Statement]) -> Means | None:
        """The means that is all there is to the one way, if that has no name of its own."""
        alone = len(ways) == 1 and not ways[0].name
        return self._means(ways[0].condition) if alone else None

    def _means(self, condition: c.Condition) -> Means | None:
        thing = self.picture.book.thing(condition.thing) if isinstance(condition, c.State) else None
        return thing if isinstance(thing, Means) else None

    def _said(self, condition: c.Condition) -> Said:
        """A condition as it is told; with what is behind it if that is one means or memory."""
        behind = self._means(condition) or self._latch(condition)
        plain = said(condition, self.picture.names)
        if behind is None:
            return plain
        ways = behind.ways if isinstance(behind, Means) else behind.sets
        if isinstance(behind, Means) and len(ways) == 1:
            return said(ways[0].condition, self.picture.names)
        names = [way.name for way in ways]
        if all(names):
            return Said(f"{plain.text} ({either(names)})")
        by = said(ways[0].condition, self.picture.names)
        return Said(f"{plain.text} (by {in_words(by)})") if len(ways) == 1 else plain

    def _latch(self, condition: c.Condition) -> Latch | None:
        """The memory that is set, if the condition says no more than that."""
        match condition:
            case c.State(name, "set"):
                thing = self.picture.book.thing(name)
                return thing if isinstance(thing, Latch) else None
        return None

    # -- memories, positions -------------------------------------------------------------------

    def _of_latch(
        self,
        condition: c.Condition,
        latch: Latch,
        change: tuple[str, tuple[Statement, ...], int],
    ) -> Subject:
        """What changes a latch: in words, the statements that say so, and to which value."""
        verb, statements, value = change
        edges = any(isinstance(n, c.Edge) for s in statements for n in c.walk(s.condition))
        other_way = latch.clears if value else latch.sets
        # in a lasting state nothing is just coming on or going out
        steady = [replace(s, condition=lasting(s.condition)) for s in other_way]
        against = self._stated(latch, steady) if latch.set_wins != bool(value) else []
        own = self._stated(latch, statements)
        due = conj([disj(one.formula for one in own), neg(disj(one.formula for one in against))])
        apart = [
            one
            for one, s in zip(against, other_way, strict=False)
            if latch.name not in _spoken_of(s.condition)
        ]
        subject = Subject(self.picture.phrase(condition), condition, due, verb, thing=latch)
        called = self._called(subject, latch, statements)
        return replace(called, beaten=tuple(apart), edges=edges)

    def _of_place(self, condition: c.State, surface: Surface) -> Subject:
        point = condition.state.removeprefix("at ")
        place = 2 * surface.points.index(point)
        drives = [(drive, self._sends(drive, point)) for drive in surface.drives]
        there = [i for i, (_, sends) in enumerate(drives) if sends != FALSE]
        stated = [self._drive(surface, drives[i][0], point, drives[i][1]) for i in there]
        # those behind the last that sends it there never keep it from doing so
        before = drives[: there[-1]] if there else []
        beaten = [self._drive(surface, drive, point, neg(sends)) for drive, sends in before]
        return Subject(
            self.picture.phrase(condition),
            condition,
            Ref((surface.name, f"sent to {place}")),
            "goes there",
            stated=tuple(stated),
            thing=surface,
            named=True,
            beaten=tuple(one for one in beaten if one.formula != FALSE),
        )

    def _sends(self, drive: Drive, point: str) -> Formula:
        """When what a drive goes to is this point."""
        if not drive.to_control:
            return TRUE if drive.to == point else FALSE
        control = self.picture.book.thing(drive.to_control)
        assert isinstance(control, Control)
        if point not in control.positions:
            return FALSE
        return Lit(control.name, frozenset({control.positions.index(point)}))

    def _drive(self, surface: Surface, drive: Drive, point: str, sends: Formula) -> Stated:
        conditions = [s.condition for s in (drive.when, *drive.needs) if s is not None]
        apart = (part for condition in conditions for part in _conjuncts(condition))
        # what is asked of the control that it goes to is so where that stands at the point
        told = [part for part in apart if c.things(part) != (drive.to_control,)]
        parts = [said(condition, self.picture.names) for condition in told]
        if drive.to_control:
            parts = [Said(f"{drive.to_control} at {point}"), *parts]
        if drive.only_toward:
            parts.append(Said(f"only toward {drive.only_toward}"))
        met = [self.picture.formula(condition, surface.name) for condition in conditions]
        statement = drive.statement
        return Stated(
            drive.name,
            statement.text,
            statement.source or surface.source,
            statement.whys,
            conj([Ref((surface.name, f"driven by {drive.name}")), sends]),
            joined(ALL, parts),
            conj([*met, sends]),
            None,
        )

    # -- supplies ------------------------------------------------------------------------------

    def _supply(self, name: str) -> Supply:
        thing = self.picture.book.thing(name)
        assert isinstance(thing, Supply)
        return thing

    def _of_level(self, condition: c.Condition, supply: Supply, level: int) -> Subject:
        """A supply that has at least a level."""
        if not 0 < level < len(supply.levels):
            return replace(self._plain(condition), thing=supply)
        rows = [self._row(supply, i, level) for i in range(len(supply.feeds))]
        return replace(
            self._plain(condition),
            needs=tuple(self._denied(supply, supply.shed)),
            stated=tuple(row for row in rows if row.formula != FALSE),
            thing=supply,
            named=True,
        )

    def _of_feeder(self, condition: c.Condition, supply: Supply, source: str) -> Subject:
        """A supply fed by one source: its rows, and those before them, which come first."""
        own = [i for i, feed in enumerate(supply.feeds) if feed.source == source]
        rows = [self._row(supply, i, 1) for i in range(own[-1] + 1 if own else 0)]
        before = [conj(neg(row.alone) for row in rows[:i]) for i in range(len(rows))]
        return replace(
            self._plain(condition),
            needs=tuple(self._denied(supply, supply.shed)),
            stated=tuple(replace(rows[i], formula=conj([rows[i].formula, before[i]])) for i in own),
            thing=supply,
            named=bool(own),
            beaten=tuple(row for i, row in enumerate(rows) if i not in own),
        )

    def _row(self, supply: Supply, i: int, level: int) -> Stated:
        """Row i of a supply as a way to at least a level."""
        feed = supply.feeds[i]
        source = self.picture.book.thing(feed.source)
        text = f"from {feed.statement.text}"
        reduced = f" ({feed.level})" if feed.level != supply.levels[-1] else ""
        parts = [Said(f"{text}{reduced}")]
        on: c.Condition = c.State(source.name, "running" if isinstance(source, Unit) else "live")
        if level > 1 and isinstance(source, Supply) and source.levels == supply.levels:
            on = c.Between(source.name, source.levels[level], True, None, False)
            parts.append(said(on, self.picture.names))
        formula = self.picture.row(supply, i, level)
        when = () if feed.when is None else (feed.when,)
        # where no row delivers, it is otherwise lost for each of them
        known = c.State(supply.name, "otherwise lost")
        path = [part for s in (*feed.through, *when) for part in _conjuncts(s.condition)]
        whole = c.All((on, *(part for part in path if part != known)))
        # nor is told for which of several rows it would be lost, or which its source has chosen
        hidden = known in c.walk(whole) or (isinstance(source, Unit) and bool(source.feeds_one))
        denial = None if hidden else denied(whole, self.picture.names)
        return Stated(
            f"from {feed.source}",
            text,
            feed.statement.source or supply.source,
            feed.statement.whys,
            formula,
            joined(ALL, parts),
            formula,
            None if denial is None else said(denial, self.picture.names),
        )

    # -- statements ----------------------------------------------------------------------------

    def _stated(self, thing: Thing, statements: Iterable[Statement]) -> list[Stated]:
        return [
            self._one(thing, s, s.text, self.picture.formula(s.condition, thing.name))
            for s in statements
        ]

    def _denied(self, thing: Thing, statements: Iterable[Statement]) -> list[Stated]:
        opposites = [(s, opposite(s.condition)) for s in statements]
        return [
            self._one(
                thing,
                replace(s, name="", condition=other),
                self.picture.phrase(other),
                neg(self.picture.formula(s.condition, thing.name)),
            )
            for s, other in opposites
        ]

    def _one(self, thing: Thing, s: Statement, text: str, formula: Formula) -> Stated:
        source = s.source or thing.source
        means = self._means(s.condition)
        whole = means.ways[0].condition if means and len(means.ways) == 1 else s.condition
        denial = said(denied(whole, self.picture.names), self.picture.names)
        told = self._said(s.condition)
        return Stated(s.name, text, source, s.whys, formula, told, formula, denial)


def all_needs(subject: Subject) -> Formula:
    """Everything the subject needs as well."""
    return conj(need.formula for need in subject.needs)


def _conjuncts(condition: c.Condition) -> tuple[c.Condition, ...]:
    return condition.parts if isinstance(condition, c.All) else (condition,)


def _spoken_of(condition: c.Condition) -> set[str]:
    """The things whose states a condition speaks of."""
    return {node.thing for node in c.walk(condition) if isinstance(node, c.State)}
