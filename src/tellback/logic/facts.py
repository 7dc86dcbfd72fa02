"""What can be seen of every thing at a moment, what changed between two, and through what."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import cached_property

from tellback.book.english import running_words
from tellback.book.model import (
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Row,
    Situation,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.logic.causes import Past, Stated, causes_first
from tellback.logic.formula import Formula, Key, literals, references
from tellback.logic.picture import Picture
from tellback.logic.run import Moment
from tellback.logic.solve import Valuation
from tellback.logic.translate import failure_name
from tellback.logic.words import listed, measured, range_text, when_text

FEEDER = "feeder"
"""The kind of what is told of a supply that has several sources: which of them feeds it now."""

Seen = tuple[str, str]
"""What is seen of a thing: its name, and the kind of what is told of it (a supply's feeder too)."""

FEW_GAUGES = 4
"""Where more gauges come or go together they are counted; the JSON form names them all."""


@dataclass(frozen=True, slots=True)
class Change:
    """Something that is otherwise than before: after how many seconds, and through what.

    `through` names the things, themselves changed, on which it depends directly; empty where it
    depends on what was moved itself. `shown` tells whether the crew is shown it: an indication, or
    a reading with a gauge at work. `fed_by` is what feeds a supply that comes live, where several
    may; if it stays live and another feeds it, that is a change of kind `feeder`.
    """

    seconds: float
    thing: str
    kind: str
    before: str
    after: str
    through: tuple[str, ...]
    shown: bool
    fed_by: str = ""

    @property
    def seen(self) -> Seen:
        """What of which thing is otherwise."""
        return self.thing, self.kind

    @property
    def text(self) -> str:
        """The new state in words: `left pump running`."""
        return said(self.thing, self.kind, self.after) + self.from_where

    @property
    def from_where(self) -> str:
        """What feeds a supply that comes live, as it is said after its state."""
        return f", fed by {self.fed_by}" if self.fed_by else ""

    def __str__(self) -> str:
        return changes_text([self])


def changes_text(alike: Sequence[Change]) -> str:
    """Changes that come to the same together, in words: `at once: A and B lost (through C)`."""
    one = alike[0]
    feeder = one.after if one.kind == FEEDER else one.fed_by
    behind = [name for name in one.through if name != feeder]
    through = f" (through {', '.join(behind)})" if behind else ""
    told = said(all_of([c.thing for c in alike], one.kind), one.kind, one.after)
    return f"{when_text(one.seconds)}: {told}{one.from_where}{through}"


def all_of(names: Sequence[str], kind: str) -> str:
    """Things of a kind by their names; many gauges by their number."""
    return f"{len(names)} gauges" if kind == "gauge" and len(names) > FEW_GAUGES else listed(names)


def sameness(change: Change) -> tuple[object, ...]:
    """What changes that are told together have in common; means are told one by one."""
    alone = change.thing if change.kind == "means" else ""
    return change.seconds, change.through, change.kind, change.after, change.fed_by, alone


def said(thing: str, kind: str, word: str) -> str:
    """A thing and its state in words."""
    if kind == "means":
        return thing if word == "yes" else f"not {thing}"
    if kind == FEEDER:
        return f"{thing} fed by {word}"
    if kind in ("control", "surface") and not word.startswith(("in transit", "moving")):
        return f"{thing} at {word}"
    return f"{thing} {word}"


def sources_of(supply: Supply) -> tuple[str, ...]:
    """What may feed a supply, in the order of the book, each once."""
    return tuple(dict.fromkeys(feed.source for feed in supply.feeds))


def level_words(supply: Supply) -> tuple[str, ...]:
    """What the levels of a supply are called: lost and live, where there are no more."""
    return ("lost", "live") if len(supply.levels) == 2 else supply.levels


def kind_of(thing: Thing) -> str:
    """The kind of a thing, as the book calls it; a gauge is no mere light."""
    if isinstance(thing, Indication) and thing.shows:
        return "gauge"
    return type(thing).__name__.casefold()


@dataclass(frozen=True, slots=True)
class Word:
    """Tells the state of a thing at a moment, and at which variables and values it looks."""

    tell: Callable[[Moment, Valuation[int]], str]
    looks_at: Collection[str | Key]


def _either(key: Key, so: str, not_so: str) -> Word:
    return Word(lambda moment, values: so if values[key] else not_so, [key])


def _of_variable(name: str, words: Sequence[str]) -> Word:
    return Word(lambda moment, values: words[moment.state[name]], [name])


def _first_of(words: Mapping[Key, str], otherwise: str) -> Word:
    """The word of the first value that holds."""
    return Word(
        lambda moment, values: next((words[key] for key in words if values[key]), otherwise),
        list(words),
    )


class Facts:
    """The visible state of every thing of a picture."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.system = picture.system
        self.stated = Stated(picture.system)
        self._last: tuple[Moment, Valuation[int], dict[Seen, str]] | None = None

    def at(self, moment: Moment) -> dict[str, str]:
        """The state of every thing in words (situations and outside readings are inputs)."""
        told = self.seen(moment)
        return {name: word for (name, kind), word in told.items() if kind != FEEDER}

    def seen(self, moment: Moment) -> dict[Seen, str]:
        """The state of every thing, and the feeder of each supply that may have several.

        The feeder of a supply that nothing feeds is empty.
        """
        return self._told(moment)[1]

    @property
    def all_seen(self) -> Set[Seen]:
        """All that can be told of things."""
        return self._words.keys()

    def alike(self, one: Moment, other: Moment, apart_from: Collection[str] = ()) -> bool:
        """Whether all is seen to be the same at two moments but some things."""
        here, there = (self.picture.aeroplane.values(moment.state) for moment in (one, other))
        return all(
            self._words[seen].tell(one, here) == self._words[seen].tell(other, there)
            for seen in self._touched(one, here, other, there)
            if seen[0] not in apart_from
        )

    def _told(self, moment: Moment) -> tuple[Valuation[int], dict[Seen, str]]:
        """The values at a moment, and the words; those of the last one are kept."""
        if self._last is None or self._last[0] is not moment:
            values = self.picture.aeroplane.values(moment.state)
            if self._last is None:
                before, touched = {}, set(self._words)
            else:
                before, touched = self._last[2], self._touched(*self._last[:2], moment, values)
            words = {
                seen: word.tell(moment, values) if seen in touched else before[seen]
                for seen, word in self._words.items()
            }
            self._last = moment, values, words
        return self._last[1:]

    def _touched(
        self, one: Moment, here: Valuation[int], other: Moment, there: Valuation[int]
    ) -> set[Seen]:
        """What looks at something that is not the same at two moments."""
        looked_at: list[str | Key] = [n for n in one.state if one.state[n] != other.state[n]]
        looked_at += here.otherwise(there)
        return {seen for one_thing in looked_at for seen in self.told_by.get(one_thing, ())}

    @cached_property
    def told_by(self) -> dict[str | Key, list[Seen]]:
        """For each variable and value what is told of things by looking at it."""
        found: dict[str | Key, list[Seen]] = {}
        for seen, word in self._words.items():
            for one in word.looks_at:
                found.setdefault(one, []).append(seen)
        return found

    @cached_property
    def _words(self) -> dict[Seen, Word]:
        """How to tell what is seen of each thing."""
        found: dict[Seen, Word] = {}
        for thing in self.picture.book.things:
            if not isinstance(thing, Situation):
                found[thing.name, kind_of(thing)] = self._word(thing)
            if isinstance(thing, Supply) and len(sources_of(thing)) > 1:
                feeders = {(thing.name, f"fed by {name}"): name for name in sources_of(thing)}
                found[thing.name, FEEDER] = _first_of(feeders, "")
        return found

    def _word(self, thing: Thing) -> Word:
        name = thing.name
        match thing:
            case Control(positions=positions):
                return _of_variable(name, positions)
            case Reading():
                return self._number(thing) if thing.follows else self._range(thing)
            case Means():
                return _either((name, "yes"), "yes", "no")
            case Unit():
                return _either((name, "running"), *running_words(thing.form))
            case Supply():
                lowest, *higher = level_words(thing)
                levels = {(name, f"at least {k}"): word for k, word in enumerate(higher, 1)}
                return _first_of(dict(reversed(levels.items())), lowest)
            case Surface():
                places = enumerate(self.system.variables[name].values)
                return _of_variable(name, [f"in transit {p}" if i % 2 else p for i, p in places])
            case Latch():
                return _of_variable(name, ["clear", "set"])
            case Indication():
                return _either((name, "shown"), "shown", "not shown")
        raise AssertionError(thing)

    def _number(self, reading: Reading) -> Word:
        """What a following reading indicates."""
        rows = [formula for formula, _ in self._rows[reading.name] if formula is not None]
        looks_at = {key for row in rows for key, _ in references(row)}
        variables = {lit.variable for row in rows for lit in literals(row)}
        return Word(
            lambda moment, values: measured(
                self._number_shown(reading, moment, values), reading.unit
            ),
            {*looks_at, *variables, failure_name(reading.name)},
        )

    def _range(self, reading: Reading) -> Word:
        """Between which numbers a reading from outside, or a moving one, is."""
        regions = self.system.regions[reading.name]
        texts = [range_text(regions, [i]) for i in range(len(regions.cuts) + 1)]
        return _first_of({(reading.name, f"region {i}"): t for i, t in enumerate(texts)}, "")

    def _number_shown(self, reading: Reading, moment: Moment, values: Valuation[int]) -> float:
        """A false number, that of the first row that applies, or the low end of the range."""
        mode = moment.state.get(failure_name(reading.name), 0)
        if mode:
            return float(reading.fails[mode - 1].removeprefix("reads "))
        for formula, value in self._rows[reading.name]:
            if formula is None or values.of(formula):
                return value
        return reading.low

    @cached_property
    def _rows(self) -> dict[str, list[tuple[Formula | None, float]]]:
        """For each reading that follows, when it reads what."""
        return {
            reading.name: [(self._when(row, reading.name), row.value) for row in reading.follows]
            for reading in self.picture.book.things
            if isinstance(reading, Reading)
        }

    def _when(self, row: Row, reading: str) -> Formula | None:
        return None if row.when is None else self.picture.formula(row.when.condition, reading)

    def changes(self, moments: Iterable[Moment], moved: Iterable[str] = ()) -> list[Change]:
        """Everything that changes from the first moment on, in order of time, causes first.

        `moved` are the things moved from outside; they are not told.
        """
        history = list(moments)
        moved = set(moved)
        values, before = self._told(history[0])
        past = Past(self.stated, [(history[0].time, values)], set(moved), set())
        found: list[Change] = []
        for moment in history[1:]:
            values, now = self._told(moment)
            new = [seen for seen in now if _is_new(seen, before[seen], now[seen], moved)]
            past.values.append((moment.time, values))
            for name, kind in new:
                if kind == FEEDER:
                    feeders = before[name, kind], now[name, kind]
                    past.feeders.update((name, f"fed by {source}") for source in feeders)
                else:
                    past.changed.add(name)
            causes = {seen: past.causes(seen[0], self._behind(seen)) for seen in new}
            for seen in _causes_first(causes, moved):
                found.append(
                    Change(
                        seconds=moment.time - history[0].time,
                        thing=seen[0],
                        kind=seen[1],
                        before=before[seen],
                        after=now[seen],
                        through=()
                        if causes[seen] & moved
                        else tuple(dict.fromkeys(n for n, _ in now if n in causes[seen])),
                        shown=seen[1] in ("indication", "gauge") or self._on_a_gauge(seen[0], now),
                        fed_by=""
                        if before.get((seen[0], FEEDER))
                        else now.get((seen[0], FEEDER), ""),
                    )
                )
            before = now
        return found

    def _behind(self, seen: Seen) -> Sequence[Formula]:
        """What says how it is: of a feeder, when each source delivers."""
        name, kind = seen
        if kind != FEEDER:
            return self.stated.definitions(name)
        supply = self.picture.book.thing(name)
        assert isinstance(supply, Supply)
        return [self.system.values[name, f"row {i}"] for i in range(len(supply.feeds))]

    @cached_property
    def gauges(self) -> dict[str, tuple[str, ...]]:
        """The gauges of each reading that has some."""
        found: dict[str, tuple[str, ...]] = {}
        for thing in self.picture.book.things:
            if isinstance(thing, Indication) and thing.shows:
                found[thing.shows] = (*found.get(thing.shows, ()), thing.name)
        return found

    def _on_a_gauge(self, name: str, now: Mapping[Seen, str]) -> bool:
        return any(now[gauge, "gauge"] == "shown" for gauge in self.gauges.get(name, ()))

    def depends(self, name: str) -> tuple[str, ...]:
        """The things that the definition of a thing speaks of directly, in order."""
        return self.stated.depends(name)


def _is_new(seen: Seen, before: str, now: str, moved: Collection[str]) -> bool:
    """Whether a change is told; that of a feeder, where the supply stays live."""
    stays = seen[1] != FEEDER or (before and now)
    return now != before and seen[0] not in moved and bool(stays)


def _causes_first(causes: Mapping[Seen, set[str]], moved: set[str]) -> Iterator[Seen]:
    """What is new, each after what it comes through; a feeder after the state of its supply."""
    by_name: dict[str, set[str]] = {}
    for (name, _), behind in causes.items():
        by_name.setdefault(name, set()).update(behind)
    for name in causes_first(by_name, moved):
        yield from (seen for seen in causes if seen[0] == name)
