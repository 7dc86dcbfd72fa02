"""The parts of each kind of thing: the entries under a key, and what they come to.

Another kind of thing (a procedure, say) joins in with a function here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from tellback.book.conditions import ALWAYS
from tellback.book.english import running_words, time_text
from tellback.book.model import (
    Control,
    Drive,
    Indication,
    Latch,
    Means,
    Reading,
    Row,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.numbers import number_text
from tellback.book.rates import rate_text
from tellback.logic.formula import FALSE, TRUE, Formula, Lit, Ref, conj, disj, neg
from tellback.logic.picture import Picture

ANY, ALL, IN_ORDER = "any", "all", "in order"


@dataclass(frozen=True, slots=True)
class Entry:
    """One statement of a part with the formula of its condition, and its text in full.

    `beside` is what stands with the condition and matters as well: a level, a target, a time. In a
    part whose order counts, `counts` is when the entry holds and none before it does.
    """

    statement: Statement
    formula: Formula
    text: str
    name: str = ""
    beside: tuple[str, ...] = ()
    counts: Formula = FALSE


@dataclass(frozen=True, slots=True)
class Outcome:
    """Something that a part brings about: in words, and the words for when it does not."""

    so: str
    not_so: str
    when: Formula


@dataclass(frozen=True, slots=True)
class Part:
    """What stands under one key of a thing, joined by `any` or `all`, or in an order that counts.

    `value` is what stands there if that is no statement; `without` is what no entry comes to.

    What the things in `own` do is followed further when it is compared; `memory` is the variable
    that the part changes, if it changes one. `matters` is when what an
    indication or a unit comes to is then shown or runs: all else that it needs for that is so.
    """

    key: str
    entries: tuple[Entry, ...]
    joins: str
    outcomes: tuple[Outcome, ...]
    own: frozenset[str]
    memory: str = ""
    value: str = ""
    without: Formula = FALSE
    matters: Formula = TRUE


def parts_of(picture: Picture, thing: Thing) -> Iterator[Part]:
    """All parts of a thing, also those without entries."""
    make = _Maker(picture, thing.name)
    match thing:
        case Control():
            return _of_control(make, thing)
        case Reading():
            return _of_reading(make, thing)
        case Means():
            return iter([make.any("when", thing.ways, "it is so", "it is not so")])
        case Unit():
            return _of_unit(make, thing)
        case Supply():
            return _of_supply(make, thing)
        case Surface():
            return iter([_drives(make, thing)])
        case Latch():
            return _of_latch(make, thing)
        case Indication():
            return _of_indication(make, thing)
    return iter([])


class _Maker:
    """Makes the parts of one thing."""

    def __init__(self, picture: Picture, name: str) -> None:
        self.picture = picture
        self.name = name

    def entry(self, statement: Statement) -> Entry:
        formula = self.picture.formula(statement.condition, self.name)
        name = f"{statement.name}: " if statement.name else ""
        return Entry(statement, formula, f"{name}{one_line(statement.text)}", statement.name)

    def any(
        self,
        key: str,
        statements: Iterable[Statement],
        so: str,
        not_so: str,
        memory: str = "",
        without: Formula = FALSE,
    ) -> Part:
        entries = tuple(map(self.entry, statements))
        when = disj(e.formula for e in entries) if entries else without
        outcome = Outcome(so, not_so, when)
        return Part(key, entries, ANY, (outcome,), frozenset(), memory, without=without)

    def met(self, needs: Iterable[Statement]) -> Formula:
        """All of these are met."""
        return conj(self.picture.formula(need.condition, self.name) for need in needs)

    def all(self, key: str, statements: Iterable[Statement], so: str, not_so: str) -> Part:
        entries = tuple(map(self.entry, statements))
        when = conj(e.formula for e in entries)
        return Part(key, entries, ALL, (Outcome(so, not_so, when),), frozenset(), without=TRUE)

    def in_order(
        self, key: str, entries: Iterable[Entry], outcomes: Iterable[Outcome], memory: str = ""
    ) -> Part:
        own = frozenset({self.name})
        rows: list[Entry] = []
        for entry in entries:
            earlier = [neg(row.formula) for row in rows]
            rows.append(replace(entry, counts=conj([entry.formula, *earlier])))
        return Part(key, tuple(rows), IN_ORDER, tuple(outcomes), own, memory)

    def value(
        self,
        key: str,
        value: str,
        outcomes: Iterable[Outcome],
        memory: str = "",
        own: frozenset[str] = frozenset(),
    ) -> Part:
        return Part(key, (), IN_ORDER, tuple(outcomes), own | {self.name}, memory, value)


def _of_control(make: _Maker, control: Control) -> Iterator[Part]:
    for position in control.positions:
        drops = [s for p, s in control.drops if p == position]
        key = f"drops to {position} when"
        yield make.any(
            key, drops, f"it drops to {position}", f"it does not drop to {position}", control.name
        )
        barred = [s for p, s in control.barred if p == position]
        key = f"cannot go to {position} when"
        yield make.any(key, barred, f"it is locked out of {position}", f"it can go to {position}")


def _of_unit(make: _Maker, unit: Unit) -> Iterator[Part]:
    run = {"closed": "close", "open": "open"}.get(running_words(unit.form)[0], "run")
    needs = make.all("needs", unit.needs, "its needs are met", "its needs are not met")
    called = f"it is called to {run}"
    not_called = f"it is not called to {run}"
    ways = make.any("runs when", unit.ways, called, not_called, without=TRUE)
    shed = make.any("shed when", unit.shed, "it is shed", "it is not shed")
    met, wanted, kept = needs.outcomes[0].when, ways.outcomes[0].when, neg(shed.outcomes[0].when)
    yield replace(needs, matters=conj([wanted, kept]))
    yield replace(ways, matters=conj([met, kept]))
    yield replace(shed, matters=conj([met, wanted]))
    fed = [
        supply
        for supply in make.picture.book.things
        if isinstance(supply, Supply) and any(feed.source == unit.name for feed in supply.feeds)
    ]
    outcomes = [
        Outcome(f"it feeds {s.name}", f"it does not feed {s.name}", _rows_from(unit, s))
        for s in fed
    ]
    own = frozenset(supply.name for supply in fed)
    yield make.value("feeds one", ", ".join(unit.feeds_one), outcomes, own=own)


def _rows_from(unit: Unit, supply: Supply) -> Formula:
    rows = (i for i, feed in enumerate(supply.feeds) if feed.source == unit.name)
    return disj(Ref((supply.name, f"row {i}")) for i in rows)


def _of_latch(make: _Maker, latch: Latch) -> Iterator[Part]:
    yield make.any("set when", latch.sets, "it is set", "it is not set", latch.name)
    yield make.any("cleared when", latch.clears, "it is cleared", "it is not cleared", latch.name)
    both = conj(
        disj(make.picture.formula(s.condition, latch.name) for s in several)
        for several in (latch.sets, latch.clears)
    )
    wins = Outcome("setting wins", "clearing wins", both if latch.set_wins else FALSE)
    yield make.value("set wins", "yes" if latch.set_wins else "no", [wins], latch.name)


def _of_indication(make: _Maker, indication: Indication) -> Iterator[Part]:
    yield make.all("needs", indication.needs, "its needs are met", "its needs are not met")
    needs = make.met(indication.needs)
    ways = make.any("shown when", indication.ways, "it is brought on", "it is not brought on")
    held_back = make.any(
        "inhibited when", indication.inhibits, "it is inhibited", "it is not inhibited"
    )
    free = neg(disj(entry.formula for entry in held_back.entries))
    shown = disj(entry.formula for entry in ways.entries)
    yield replace(ways, matters=conj([needs, free]))
    yield replace(held_back, matters=conj([needs, shown]))
    cancelled = f"{indication.name} cancelled"
    yield make.any(
        "reset when", indication.resets, "it can be reset", "it cannot be reset", cancelled
    )


# -- rows, in order -----------------------------------------------------------------------------


def _of_supply(make: _Maker, supply: Supply) -> Iterator[Part]:
    entries = [_feed_entry(make, supply, i) for i in range(len(supply.feeds))]
    yield make.in_order("fed by", entries, _feeding(make, supply))
    yield make.any("shed when", supply.shed, "it is shed", "it is not shed")


def _feed_entry(make: _Maker, supply: Supply, i: int) -> Entry:
    feed = supply.feeds[i]
    less = f" delivers {feed.level}" if feed.level != supply.levels[-1] else ""
    formula = make.picture.formula(feed.statement.condition, supply.name, i)
    text = one_line(feed.statement.text) + less
    return Entry(feed.statement, formula, text, feed.source, (feed.level,))


def _feeding(make: _Maker, supply: Supply) -> Iterator[Outcome]:
    rows = [Ref((supply.name, f"row {i}")) for i in range(len(supply.feeds))]
    feeder: dict[str, list[Formula]] = {}
    for i, feed in enumerate(supply.feeds):
        feeder.setdefault(feed.source, []).append(conj([rows[i], *map(neg, rows[:i])]))
    for source, ways in feeder.items():
        yield Outcome(f"{source} feeds it", f"{source} does not feed it", disj(ways))
    for level in range(2, len(supply.levels)):
        word = supply.levels[level]
        reached = disj(_delivers(make, supply, i, level) for i in range(len(rows)))
        yield Outcome(f"it gets {word}", f"it gets less than {word}", reached)


def _delivers(make: _Maker, supply: Supply, i: int, level: int) -> Formula:
    """Row i delivers at least this level."""
    feed = supply.feeds[i]
    if supply.levels.index(feed.level) < level:
        return FALSE
    source = make.picture.book.thing(feed.source)
    same = isinstance(source, Supply) and source.levels == supply.levels
    full = Ref((source.name, f"at least {level}")) if same else TRUE
    return conj([Ref((supply.name, f"row {i}")), full])


def _of_reading(make: _Maker, reading: Reading) -> Iterator[Part]:
    if reading.follows:
        rows = (*reading.follows, Row(reading.low, None))
        outcomes = _first_of(make, rows, partial(_reads, reading.unit))
        entries = [_row_entry(make, reading, row) for row in reading.follows]
        yield make.in_order("follows", entries, outcomes)
    if reading.moves:
        outcomes = _first_of(make, reading.moves, partial(_moves, reading.unit))
        entries = [_row_entry(make, reading, row) for row in reading.moves]
        yield make.in_order("moves", entries, outcomes, reading.name)


def _row_entry(make: _Maker, reading: Reading, row: Row) -> Entry:
    value = _number(reading.unit, row.value)
    rate = f" at {rate_text(row.rate, reading.unit)}" if row.rate else ""
    always = Statement(ALWAYS, "always", reading.place, source=reading.source)
    when = row.when or always
    text = f"{value}{rate} when {one_line(when.text)}" if row.when else f"{value}{rate}"
    return Entry(when, make.picture.formula(when.condition, reading.name), text, "", (value, rate))


def _first_of(
    make: _Maker, rows: Iterable[Row], words: Callable[[Row], tuple[str, str]]
) -> list[Outcome]:
    """For each value and rate, when the first row that applies has it."""
    found: dict[tuple[str, str], list[Formula]] = {}
    earlier: list[Formula] = []
    for row in rows:
        applies = make.picture.formula(row.when.condition, make.name) if row.when else TRUE
        found.setdefault(words(row), []).append(conj([applies, *map(neg, earlier)]))
        earlier.append(applies)
    return [Outcome(so, not_so, disj(ways)) for (so, not_so), ways in found.items()]


def _reads(unit: str, row: Row) -> tuple[str, str]:
    value = _number(unit, row.value)
    return f"it reads {value}", f"it does not read {value}"


def _moves(unit: str, row: Row) -> tuple[str, str]:
    goal = f"to {_number(unit, row.value)} at {rate_text(row.rate, unit)}"
    return f"it moves {goal}", f"it does not move {goal}"


def _number(unit: str, value: float) -> str:
    return number_text(value) if unit == "none" else f"{number_text(value)} {unit}"


def one_line(text: str) -> str:
    """A text as on one line; a condition that always holds goes without saying."""
    return " ".join(text.split()).removesuffix(" when always")


def _drives(make: _Maker, surface: Surface) -> Part:
    found: dict[tuple[str, float], list[Formula]] = {}
    for drive in surface.drives:
        acts = Ref((surface.name, f"driven by {drive.name}"))
        for point, chosen in _targets(make, surface, drive):
            found.setdefault((point, drive.takes), []).append(conj([acts, chosen]))
    outcomes = [
        Outcome(f"it is sent to {where}", f"it is not sent to {where}", disj(ways))
        for (point, takes), ways in found.items()
        for where in [f"{point} in {time_text(takes)}" if takes else f"{point} at once"]
    ]
    entries = [_drive_entry(make, drive) for drive in surface.drives]
    return make.in_order("drives", entries, outcomes, surface.name)


def _drive_entry(make: _Maker, drive: Drive) -> Entry:
    beside = [f"takes {time_text(drive.takes)}"] if drive.takes else []
    beside += [f"only toward {drive.only_toward}"] if drive.only_toward else []
    needs = [f"needs {' and '.join(n.text for n in drive.needs)}"] if drive.needs else []
    to = f"to {drive.to or drive.to_control}"
    when = one_line(f"{to} when {drive.when.text}") if drive.when else to
    text = f"{drive.name}: {', '.join([when, *needs, *beside])}"
    formula = make.picture.formula(drive.statement.condition, make.name)
    return Entry(drive.statement, formula, text, drive.name, (to, *beside))


def _targets(make: _Maker, surface: Surface, drive: Drive) -> Iterator[tuple[str, Formula]]:
    if not drive.to_control:
        yield drive.to, TRUE
        return
    control = make.picture.book.thing(drive.to_control)
    assert isinstance(control, Control)
    for i, position in enumerate(control.positions):
        if position in surface.points:
            yield position, Lit(control.name, frozenset({i}))
