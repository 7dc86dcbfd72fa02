"""Conditions as formulas: the meaning of every form of condition, once.

The rules are those of `docs/meaning.md`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from tellback.book import conditions as c
from tellback.book.model import (
    Book,
    Control,
    Latch,
    Row,
    Situation,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.names import Names
from tellback.book.phrases import phrase
from tellback.logic.cuts import regions_of
from tellback.logic.formula import FALSE, TRUE, Formula, Key, Lit, Ref, Some, conj, disj, neg
from tellback.logic.system import DelayRule, LastRule, MoveRule, Variable


def failure_name(thing: str) -> str:
    """The name of the variable that holds how a thing has failed."""
    return f"failure of {thing}"


class Owner(NamedTuple):
    """Whose condition it is: the thing, and for a condition of a feed row its number."""

    name: str = ""
    row: int | None = None

    def __str__(self) -> str:
        return self.name if self.row is None else f"{self.name} row {self.row}"


NOBODY = Owner()


class Translator:
    """Gives the formula of any condition whose numbers and times the book (or `extra`) has.

    Delays and edges that it meets become variables and rules.
    """

    def __init__(self, book: Book, names: Names, extra: tuple[c.Condition, ...]) -> None:
        self.book = book
        self.names = names
        self.extra = extra
        self.things = {thing.name: thing for thing in book.things}
        self.regions = regions_of(book, extra)
        self.variables: dict[str, Variable] = {}
        self.values: dict[Key, Formula] = {}
        self.delays: dict[str, DelayRule] = {}
        self.delayed: dict[str, c.Condition] = {}
        self.lasts: dict[str, LastRule] = {}
        self.steps: list[MoveRule] = []
        self.owner = NOBODY

    def _variable(
        self, name: str, kind: str, thing: str, words: tuple[str, ...], normal: int
    ) -> None:
        self.variables[name] = Variable(name, kind, thing, words, normal)

    def fault(self, thing: Thing, mode: str) -> Formula:
        """The thing has failed in that mode (or `ok`); never, if it has no such mode."""
        modes = ("ok", *thing.fails)
        if not thing.fails or mode not in modes:
            return TRUE if mode == "ok" else FALSE
        return Lit(failure_name(thing.name), frozenset({modes.index(mode)}))

    def any_of(self, statements: Iterable[Statement]) -> Formula:
        """Some statement holds."""
        return disj(self.formula(s.condition) for s in statements)

    def row(self, row: Row) -> Formula:
        """The condition of a row of a reading."""
        return self.formula(row.when.condition) if row.when else TRUE

    def formula_for(self, condition: c.Condition, owner: Owner) -> Formula:
        """The formula of a condition as its owner means it."""
        self.owner = owner
        formula = self.formula(condition)
        self.owner = NOBODY
        return formula

    def formula(self, condition: c.Condition) -> Formula:
        """The formula of a condition, as the present owner means it."""
        match condition:
            case c.All(parts):
                return conj(self.formula(p) for p in parts)
            case c.Any(parts):
                return disj(self.formula(p) for p in parts)
            case c.AtLeast(count, parts):
                return Some(count, tuple(self.formula(p) for p in parts))
            case c.Not(c.Compare() as part):
                return disj(self._outside(part))  # that it is elsewhere in its range
            case c.Not(part):
                return neg(self.formula(part))
            case c.State(name, state):
                return self._state(self.things[name], state)
            case c.FedBy(supply, source):
                key = (supply, f"fed by {source}")
                return Ref(key) if key in self.values or self._feeds(supply, source) else FALSE
            case c.Compare():
                return disj(self._within(condition))
            case c.Between():
                return self._between(condition)
            case c.Held(part, seconds):
                return self._held(condition, part, seconds)
            case c.Edge(part, rising):
                return self._edge(part, rising)

    def _feeds(self, supply: str, source: str) -> bool:
        thing = self.things[supply]
        return isinstance(thing, Supply) and any(f.source == source for f in thing.feeds)

    def _state(self, thing: Thing, state: str) -> Formula:
        match thing:
            case Control():
                if state.startswith("at "):
                    index = thing.positions.index(state.removeprefix("at "))
                    return Lit(thing.name, frozenset({index}))
            case Situation():
                return Lit(thing.name, frozenset({1}))
            case Latch():
                return Lit(thing.name, frozenset({1}))
            case Surface() if state.startswith("at "):
                index = 2 * thing.points.index(state.removeprefix("at "))
                return Lit(thing.name, frozenset({index}))
            case Supply():
                if state == "otherwise lost":
                    return self._lost_before(thing, self._row_meant(thing))
                if state == "paralleled":
                    return self._paralleled(thing)
                if state.startswith("at "):
                    return self._level(thing, state.removeprefix("at "))
        if state == "failed" and not thing.fails:
            return FALSE
        return Ref((thing.name, state))

    def _level(self, supply: Supply, word: str) -> Formula:
        level = supply.levels.index(word)
        reached = self._at_least(supply, level)
        return conj([reached, neg(self._at_least(supply, level + 1))])

    def _at_least(self, supply: Supply, level: int) -> Formula:
        if level <= 0:
            return TRUE
        return FALSE if level >= len(supply.levels) else Ref((supply.name, f"at least {level}"))

    def _between(self, between: c.Between) -> Formula:
        thing = self.things[between.thing]
        if isinstance(thing, Supply):
            low = 0 if between.low is None else thing.levels.index(between.low)
            low += 0 if between.low is None or between.low_included else 1
            top = len(thing.levels) if between.high is None else thing.levels.index(between.high)
            top += 1 if between.high is not None and between.high_included else 0
            return conj([self._at_least(thing, low), neg(self._at_least(thing, top))])
        assert isinstance(thing, Surface)
        last = 2 * len(thing.points) - 2
        first = 0 if between.low is None else 2 * thing.points.index(between.low)
        first += 0 if between.low is None or between.low_included else 1
        end = last if between.high is None else 2 * thing.points.index(between.high)
        end -= 0 if between.high is None or between.high_included else 1
        return Lit(thing.name, frozenset(range(first, end + 1))) if first <= end else FALSE

    def _held(self, whole: c.Condition, part: c.Condition, seconds: float) -> Formula:
        text = phrase(whole, self.names)
        name = self._named(text, part)
        if name not in self.variables:
            self._variable(name, "delay", text, ("running", "elapsed"), 1)
            self.values[name, "held"] = self.formula(part)
            held = Ref((name, "held"))
            self.delays[name] = DelayRule(name, held, seconds)
            self.steps.append(MoveRule(name, 0, neg(held)))
            self.delayed[name] = part
        return conj([Ref((name, "held")), Lit(name, frozenset({1}))])

    def _within(self, compared: c.Compare) -> Iterator[Formula]:
        """The regions in which a comparison holds."""
        name, low, high = compared.reading, compared.low, compared.high
        regions = self.regions[name].within(
            low, compared.low_included, high, compared.high_included
        )
        word = "true" if compared.true else "region"
        return (Ref((name, f"{word} {i}")) for i in sorted(regions))

    def _outside(self, compared: c.Compare) -> Iterator[Formula]:
        """The regions in which it does not."""
        word = "true" if compared.true else "region"
        every = range(len(self.regions[compared.reading].cuts) + 1)
        within = set(self._within(compared))
        return (one for i in every if (one := Ref((compared.reading, f"{word} {i}"))) not in within)

    def _edge(self, part: c.Condition, rising: bool) -> Formula:
        text = f"last {phrase(part, self.names)}"
        name = self._named(text, part)
        now = self.formula(part)
        if name not in self.variables:
            self._variable(name, "last", text, ("no", "yes"), 0)
            self.lasts[name] = LastRule(name, now)
            before = Lit(name, frozenset({1}))
            self.values[name, "comes on"] = conj([now, neg(before)])
            self.values[name, "goes out"] = conj([neg(now), before])
        return Ref((name, "comes on" if rising else "goes out"))

    def _named(self, text: str, part: c.Condition) -> str:
        """The name of a memory of a condition, with the owner's if it depends on whose it is."""
        return f"{text} ({self.owner})" if _speaks_of_owner(part) else text

    def _lost_before(self, supply: Supply, i: int) -> Formula:
        return conj(neg(Ref((supply.name, f"row {j}"))) for j in range(i))

    def _row_meant(self, supply: Supply) -> int:
        """The row of the supply that the owner is or feeds; behind all rows if it feeds none."""
        owner = self.owner
        if owner.name == supply.name and owner.row is not None:
            return owner.row
        for i, feed in enumerate(supply.feeds):
            on_path = {n for s in feed.through for n in c.things(s.condition)}
            if owner.name in {feed.source} | on_path:
                return i
        return len(supply.feeds)

    def _paralleled(self, supply: Supply) -> Formula:
        roots = self._roots(supply, {})
        return Some(2, tuple(self._reaches(root, supply) for root in roots))

    def _roots(self, supply: Supply, seen: dict[str, None]) -> list[str]:
        """The units from which power may come to the supply, directly or through others."""
        seen[supply.name] = None
        roots: dict[str, None] = {}
        for feed in supply.feeds:
            source = self.things[feed.source]
            if isinstance(source, Unit):
                roots[source.name] = None
            elif isinstance(source, Supply) and source.name not in seen:
                roots |= dict.fromkeys(self._roots(source, seen))
        return list(roots)

    def _reaching_rows(self, root: str, supply: Supply) -> Iterator[Formula]:
        for i, feed in enumerate(supply.feeds):
            row = Ref((supply.name, f"row {i}"))
            source = self.things[feed.source]
            if feed.source == root:
                yield row
            elif isinstance(source, Supply):
                yield conj([row, self._reaches(root, source)])

    def _reaches(self, root: str, supply: Supply) -> Formula:
        key = (supply.name, f"reached from {root}")
        if key not in self.values:
            self.values[key] = FALSE
            self.values[key] = disj(self._reaching_rows(root, supply))
        return Ref(key)


def _speaks_of_owner(condition: c.Condition) -> bool:
    return any(isinstance(n, c.State) and n.state == "otherwise lost" for n in c.walk(condition))
