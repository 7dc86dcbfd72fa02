"""Feeds: who feeds X now, and through what? And in which order the others stand by."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tellback.book import conditions as c
from tellback.book.model import Book, Feed, Statement, Supply, Thing, Unit
from tellback.book.names import fold, near
from tellback.logic.answers.feeds_text import feeds_text
from tellback.logic.answers.missing import missing
from tellback.logic.facts import Facts, kind_of, level_words, said, sources_of
from tellback.logic.formula import Key, Lit, Ref
from tellback.logic.items import Item
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.picture import Picture, picture_of
from tellback.logic.run import Moment
from tellback.logic.scene import Scene, scene
from tellback.logic.solve import Valuation
from tellback.logic.translate import failure_name
from tellback.logic.words import fault_text
from tellback.refusals import Refusal

FEEDS, DELIVERS, READY, NOT_READY = "feeds", "delivers", "ready", "not ready"
"""How a source stands."""


class NoSupply(Refusal, ValueError):
    """Something that is no supply was asked for; `mend` tells what could be meant."""


@dataclass(frozen=True, slots=True)
class Gate:
    """A condition of a feed as the book states it, what is so of it now, and whether it is met."""

    text: str
    now: str
    met: bool


@dataclass(frozen=True, slots=True)
class Source:
    """A row of `fed by`, in the order of the book: from where, through what, and how it stands.

    `standing` is `feeds`; `delivers`, but stands behind the one that feeds, or the supply is cut
    off; `ready`, if it does not deliver, but would at once if those before it went, all else as it
    stands; or `not ready`. `on` tells whether the source itself is running or live, `elsewhere`
    which supply of its list it feeds instead. `root` is the unit at the end of the way back from
    it, as that now feeds; empty if it is off. `missing` gives, if it is not ready, what each of the
    nearest ways lacks; empty if only a failure could do it.
    """

    place: int
    source: str
    kind: str
    now: str
    on: bool
    level: str
    through: tuple[Gate, ...]
    when: Gate | None
    standing: str
    elsewhere: str
    root: str
    missing: tuple[tuple[Item, ...], ...]
    cited: str


@dataclass(frozen=True, slots=True)
class Feeding:
    """One step of the way back from the supply: what feeds it, and through what."""

    supply: str
    source: str
    kind: str
    through: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Feeds:
    """Who feeds a supply at a moment: the way back to what runs, and all its sources in order.

    `level` is what it is called, `live` or `lost`; `feeder` is empty if it is lost. `cut_off` says
    what takes it down although a source may deliver: that it has failed itself, or what sheds it.
    """

    supply: str
    aeroplane: str
    start: str
    level: str
    feeder: str
    path: tuple[Feeding, ...]
    sources: tuple[Source, ...]
    cut_off: tuple[str, ...]

    def __str__(self) -> str:
        return "\n".join(feeds_text(self))


@within(ANSWER_SECONDS, "finding what feeds it")
def feeds(
    book: Book,
    supply: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Feeds:
    """Who feeds the supply in a starting state with changes, once settled. Raises NoSupply."""
    picture = picture_of(book, aeroplane)
    found = supply_named(picture, supply)
    return feeds_at(picture, scene(picture, start, changes), found)


def supply_named(picture: Picture, text: str) -> Supply:
    """The supply of that name."""
    thing = picture.names.find(text)
    found = picture.book.thing(thing) if thing else None
    if isinstance(found, Supply):
        return found
    supplies = {fold(t.name): t.name for t in picture.book.things if isinstance(t, Supply)}
    if found is not None:
        fed = [s.name for s in _supplies(picture) if any(f.source == thing for f in s.feeds)]
        mend = f"It may feed {' or '.join(fed)}: ask of that." if fed else "Ask `why` of it."
        raise NoSupply(f"{thing} is a {kind_of(found)}, and only a supply is fed", mend)
    perhaps = " or ".join(near(fold(text), supplies))
    some = f"There are: {', '.join(supplies.values())}." if supplies else "It has none at all."
    mend = f"Did you mean {perhaps}?" if perhaps else some
    raise NoSupply(f"there is no supply “{text}” in this book", mend)


def _supplies(picture: Picture) -> Iterator[Supply]:
    return (thing for thing in picture.book.things if isinstance(thing, Supply))


def feeds_at(picture: Picture, where: Scene, supply: Supply) -> Feeds:
    """Who feeds the supply at the moment of a scene."""
    now = _Now(picture, where.moment)
    sources = tuple(now.source(supply, i) for i in range(len(supply.feeds)))
    path = tuple(now.path(supply))
    return Feeds(
        supply=supply.name,
        aeroplane=picture.book.aeroplane,
        start=where.text,
        level=now.words[supply.name],
        feeder=path[0].source if path else "",
        path=path,
        sources=sources,
        cut_off=tuple(now.cut_off(supply)),
    )


class _Now:
    """How the feeds of supplies stand at a moment."""

    def __init__(self, picture: Picture, moment: Moment) -> None:
        self.picture = picture
        self.moment = moment
        self.values = picture.aeroplane.values(moment.state)
        self.words = Facts(picture).at(moment)

    def path(self, thing: Thing) -> Iterator[Feeding]:
        """From a supply back through what feeds it to a unit, or to where it began to go round."""
        seen = set[str]()
        while isinstance(thing, Supply) and thing.name not in seen:
            seen.add(thing.name)
            i = self._feeding(thing)
            if i is None:
                return
            feed, name = thing.feeds[i], thing.name
            thing = self.picture.book.thing(feed.source)
            through = tuple(statement.text for statement in feed.through)
            yield Feeding(name, feed.source, kind_of(thing), through)

    def _feeding(self, supply: Supply) -> int | None:
        """The first row that delivers, of a supply that is live."""
        rows = range(len(supply.feeds)) if self.values[supply.name, "live"] else ()
        return next((i for i in rows if self.values[supply.name, f"row {i}"]), None)

    def source(self, supply: Supply, i: int) -> Source:
        """How one row stands."""
        feed, source = supply.feeds[i], self.picture.book.thing(supply.feeds[i].source)
        state = "running" if isinstance(source, Unit) else "live"
        standing = self._standing(supply, i)
        on = bool(self.values[source.name, state])
        return Source(
            place=i + 1,
            source=source.name,
            kind=kind_of(source),
            now=self._said(source),
            on=on,
            level=level_words(supply)[supply.levels.index(feed.level)],
            through=tuple(self._gate(supply, i, statement) for statement in feed.through),
            when=self._condition(supply, i),
            standing=standing,
            elsewhere=self._elsewhere(supply, source),
            root=self._root(source) if on else "",
            missing=tuple(self._missing(supply, i, on)) if standing == NOT_READY else (),
            cited=feed.statement.source or supply.source,
        )

    def _root(self, source: Thing) -> str:
        """The unit at the end of the way back from a source."""
        return [source.name, *(link.source for link in self.path(source))][-1]

    def _said(self, source: Thing) -> str:
        """How a source is; of one that has failed, that."""
        mode = self.moment.state.get(failure_name(source.name), 0)
        if mode:
            return fault_text(source.name, source.fails[mode - 1])
        return said(source.name, kind_of(source), self.words[source.name])

    def _missing(self, supply: Supply, i: int, on: bool) -> list[tuple[Item, ...]]:
        """What a row lacks; of a source that is off and has itself but one, what that lacks."""
        source = self.picture.book.thing(supply.feeds[i].source)
        row = Ref((supply.name, f"row {i}"))
        behind = not on and isinstance(source, Supply) and len(sources_of(source)) == 1
        apart = [supply.name, source.name] if behind else [supply.name]
        return missing(self.picture, row, self.moment, apart)

    def _condition(self, supply: Supply, i: int) -> Gate | None:
        """The condition of a row, if it has one of its own."""
        when = supply.feeds[i].when
        return None if when is None or when.condition == c.ALWAYS else self._gate(supply, i, when)

    def _standing(self, supply: Supply, i: int) -> str:
        if i == self._feeding(supply):
            return FEEDS
        if self.values[supply.name, f"row {i}"]:
            return DELIVERS
        return READY if self._takes_over(supply, i) else NOT_READY

    def _takes_over(self, supply: Supply, i: int) -> bool:
        """Whether a row would deliver at once if those before it did not, or their sources went.

        All else is as it stands, but what follows from that at once.
        """
        cut: dict[Key, int] = {(supply.name, f"row {j}"): 0 for j in range(i)}
        off = dict.fromkeys((key for feed in supply.feeds[:i] for key in self._on(feed.source)), 0)
        row = (supply.name, f"row {i}")
        return bool(cut) and any(self._given(known)[row] for known in (cut, cut | off))

    def _on(self, name: str) -> Iterator[Key]:
        """The values by which a source is on."""
        source = self.picture.book.thing(name)
        if not isinstance(source, Supply):
            yield name, "running"
            return
        yield name, "live"
        yield from ((name, f"at least {k}") for k in range(1, len(source.levels)))
        yield from ((name, f"row {i}") for i in range(len(source.feeds)))

    def _given(self, known: dict[Key, int]) -> Valuation[int]:
        """The values at the moment, if some were otherwise."""
        state = self.moment.state

        def literal(lit: Lit) -> int:
            return int(state[lit.variable] in lit.values)

        return Valuation(self.picture.graph, 1, 0, lambda bit: 1 - bit, literal, known)

    def _gate(self, supply: Supply, i: int, statement: Statement) -> Gate:
        formula = self.picture.formula(statement.condition, supply.name, i)
        met = bool(self.values.of(formula))
        condition = statement.condition if met else _denied(statement.condition)
        return Gate(statement.text, self.picture.phrase(condition), met)

    def _elsewhere(self, supply: Supply, source: Thing) -> str:
        """Which supply a source that feeds one of a list feeds instead of this one."""
        one_of = source.feeds_one if isinstance(source, Unit) else ()
        if supply.name not in one_of:
            return ""
        fed = (n for n in one_of if n != supply.name and self._delivers(n, source.name))
        return next(fed, "")

    def _delivers(self, name: str, source: str) -> bool:
        thing = self.picture.book.thing(name)
        rows: Sequence[Feed] = thing.feeds if isinstance(thing, Supply) else ()
        return any(f.source == source and self.values[name, f"row {i}"] for i, f in enumerate(rows))

    def cut_off(self, supply: Supply) -> Iterator[str]:
        """What takes a supply down, whatever its sources deliver."""
        if self.moment.state.get(failure_name(supply.name)):
            yield "as it has failed itself"
        for statement in supply.shed:
            if self.values.of(self.picture.formula(statement.condition, supply.name)):
                yield f"shed, as {self.picture.phrase(statement.condition)}"


def _denied(condition: c.Condition) -> c.Condition:
    """What is so where the condition is not."""
    return condition.part if isinstance(condition, c.Not) else c.Not(condition)
