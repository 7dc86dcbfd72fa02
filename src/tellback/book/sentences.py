"""A type book as English sentences, for reading against the manual."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Any as Anything

from tellback.book.conditions import ALWAYS, State
from tellback.book.english import (
    article,
    capital,
    clause,
    granted,
    in_brackets,
    listed,
    reason,
    running_words,
    the,
    time_text,
)
from tellback.book.limits import bound_text
from tellback.book.model import (
    Book,
    Claim,
    Control,
    Drive,
    Feed,
    Indication,
    Latch,
    Limit,
    Means,
    Reading,
    Row,
    Situation,
    StartingState,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.names import Names, names_of
from tellback.book.numbers import number_text
from tellback.book.rates import rate_text
from tellback.book.sentences_in_order import procedure_text, scenario_text


def sentences(book: Book) -> tuple[str, ...]:
    """The book under headings: a paragraph for each thing, and what is said of all together."""
    names = names_of(book)
    found: list[str] = []
    for chapter in book.chapters:
        things = [t for t in book.things if t.place.file == chapter.place.file]
        title = f"Chapter {chapter.number}, {chapter.title}"
        found += _under(title, (paragraph(thing, names) for thing in things))
    found += _under("Groups", (_group(name, group) for name, group in book.groups.items()))
    found += _under("Starting states", map(_start, book.starts))
    found += _under("What can never be", map(_impossible(names), book.impossible))
    found += _under("What is claimed", map(_claim, book.claims))
    found += _under("Procedures", (procedure_text(p, names) for p in book.procedures))
    found += _under("Scenarios", (scenario_text(s, names) for s in book.scenarios))
    for title, limits in groupby(book.limits, lambda limit: limit.title):
        found += _under(f"Limits: {title}", (_limit(limit, names) for limit in limits))
    return tuple(found)


def _under(heading: str, paragraphs: Iterable[str]) -> list[str]:
    told = list(paragraphs)
    return [heading.upper(), *told] if told else []


def paragraph(thing: Thing, names: Names) -> str:
    """All that the book says of a thing."""
    parts = _Sentences(thing, names).all()
    return " ".join(capital(part) + "." for part in parts)


class _Sentences:
    """The sentences of one thing, in the order in which one would tell them."""

    def __init__(self, thing: Thing, names: Names) -> None:
        self.thing = thing
        self.names = names

    def all(self) -> list[str]:
        thing = self.thing
        ends = [f"It can fail: {listed(thing.fails)}"] if thing.fails else []
        ends += [f"Note: {thing.note.rstrip('.')}"] if thing.note else []
        return [self._opening(), *_OF[type(thing)](self, thing), *map(reason, thing.whys), *ends]

    def _opening(self) -> str:
        thing = self.thing
        form = thing.form or self.names.things[thing.name].form
        name = f"“{thing.name}”" if isinstance(thing, Means | Situation) else the(thing.name)
        also = f", also called {listed(thing.also)}" if thing.also else ""
        fitted = f", on {thing.applies.text} only" if thing.applies.text else ""
        return f"{name}: {article(form)} {form}{also}{fitted}{in_brackets(thing.source)}"

    def when(self, lead: str, statements: Sequence[Statement]) -> list[str]:
        """`lead` with all its conditions in one sentence; the reasons after it."""
        if not statements:
            return []
        parts = [self._one(statement) for statement in statements]
        whys = [reason(why) for statement in statements for why in statement.whys]
        return [f"{lead} {', or '.join(parts)}", *whys]

    def _one(self, statement: Statement) -> str:
        if statement.condition == ALWAYS:
            return "always"
        name = f"({statement.name}) " if statement.name else ""
        own = in_brackets(statement.source) if statement.source != self.thing.source else ""
        fitted = f" (on {statement.applies.text})" if statement.applies.text else ""
        return f"{name}when {clause(statement.condition, self.names)}{fitted}{own}"

    def needs(self, statements: Sequence[Statement]) -> list[str]:
        """What it needs, in one sentence."""
        return [f"it needs {listed(map(self._need, statements))}"] if statements else []

    def _need(self, statement: Statement) -> str:
        match statement.condition:
            case State(name, "live"):
                return the(name)
        return f"that {clause(statement.condition, self.names)}"

    # -- kinds of thing -------------------------------------------------------------------------

    def control(self, thing: Control) -> list[str]:
        found = [f"its positions are {listed(thing.positions)}, normally {thing.normally}"]
        found += ["it is guarded"] * thing.guarded
        found += [f"let go at {start} it returns to {end}" for start, end in thing.springs]
        for position, statement in thing.drops:
            found += self.when(f"it drops to {position}", [statement])
        for position, statement in thing.barred:
            found += self.when(f"it cannot go to {position}", [statement])
        return found

    def reading(self, thing: Reading) -> list[str]:
        unit = "" if thing.unit == "none" else f" {thing.unit}"
        found = [f"it goes from {number_text(thing.low)} to {number_text(thing.high)}{unit}"]
        start = f"{number_text(thing.normally)}{unit}"
        if thing.moves:
            found.append(f"it starts at {start}")
        elif not thing.follows:
            found.append(f"it comes from outside and is normally {start}")
        found += self._rows("it reads", thing.follows, unit)
        return found + self._rows("it moves to", thing.moves, unit)

    def _rows(self, lead: str, rows: Iterable[Row], unit: str) -> list[str]:
        found: list[str] = []
        for row in rows:
            rate = f" at {rate_text(row.rate, unit.strip())}" if row.rate else ""
            text = f"{'otherwise ' if found else ''}{lead} {number_text(row.value)}{unit}{rate}"
            found += self.when(text, [row.when]) if row.when else [text]
        return found

    def situation(self, thing: Situation) -> list[str]:
        return [f"it comes from outside and is normally {'so' if thing.normally else 'not so'}"]

    def means(self, thing: Means) -> list[str]:
        return self.when("it is so", thing.ways)

    def unit(self, thing: Unit) -> list[str]:
        on = running_words(thing.form)[0]
        runs = "it runs" if on == "running" else f"it is {on}"
        found = self.needs(thing.needs)
        found += self.when(runs, thing.ways) or [f"{runs} whenever it is available"]
        found += self.when("it is shed", thing.shed)
        if thing.feeds_one:
            found.append(f"it feeds one of {listed(thing.feeds_one)}: the first otherwise lost")
        return found

    def supply(self, thing: Supply) -> list[str]:
        found = []
        if thing.levels != ("lost", "normal"):
            found.append(f"its levels are {listed(thing.levels)}")
        found += [self._feed(thing, feed, i) for i, feed in enumerate(thing.feeds, 1)]
        return found + self.when("it is shed", thing.shed)

    def _feed(self, thing: Supply, feed: Feed, number: int) -> str:
        text = f"feeder {number} is {the(feed.source)}"
        if feed.through:
            text += f", where {listed(clause(s.condition, self.names) for s in feed.through)}"
        if feed.when is not None and feed.when.condition != ALWAYS:
            text += f", {self._one(feed.when)}"
        level = f", which gives {feed.level}" if feed.level != thing.levels[-1] else ""
        own = in_brackets(feed.statement.source)
        return text + level + (own if own and own not in text else "")

    def surface(self, thing: Surface) -> list[str]:
        found = [f"its points are {listed(thing.points)}, and it starts at {thing.starts_at}"]
        for number, drive in enumerate(thing.drives, 1):
            found += self._drive(drive, number)
        return found

    def _drive(self, drive: Drive, number: int) -> list[str]:
        to = drive.to or f"where {the(drive.to_control)} is set"
        toward = f", only toward {drive.only_toward}" if drive.only_toward else ""
        takes = f" in {time_text(drive.takes)} for the whole travel" if drive.takes else ""
        lead = f"drive {number} ({drive.name}) takes it to {to}{toward}{takes}"
        text = self.when(lead, [drive.when]) if drive.when else [lead]
        if drive.needs:
            text.append(f"drive {number} needs {listed(map(self._need, drive.needs))}")
        return text

    def latch(self, thing: Latch) -> list[str]:
        found = self.when("it is set", thing.sets) + self.when("it is cleared", thing.clears)
        return [*found, f"{'setting' if thing.set_wins else 'clearing'} wins"]

    def indication(self, thing: Indication) -> list[str]:
        found = [f"its level is {thing.level}"] if thing.level else []
        found += self.needs(thing.needs)
        found += self.when("it is shown", thing.ways)
        found += self.when("it is inhibited", thing.inhibits)
        found += self.when("it is cancelled", thing.resets)
        return found + ([f"it shows {the(thing.shows)}"] if thing.shows else [])


_OF: dict[type[Thing], Callable[[_Sentences, Anything], list[str]]] = {
    Control: _Sentences.control,
    Reading: _Sentences.reading,
    Situation: _Sentences.situation,
    Means: _Sentences.means,
    Unit: _Sentences.unit,
    Supply: _Sentences.supply,
    Surface: _Sentences.surface,
    Latch: _Sentences.latch,
    Indication: _Sentences.indication,
}


def _impossible(names: Names) -> Callable[[Statement], str]:
    def text(statement: Statement) -> str:
        said = clause(statement.condition, names)
        return f"It can never be that {said}{in_brackets(statement.source)}."

    return text


def _claim(claim: Claim) -> str:
    given = f", given {listed(granted(claim))}" if granted(claim) else ""
    start = f", from {claim.start}" if claim.start else ""
    return f"{capital(claim.text)}{given}{start}{in_brackets(claim.source)}."


def _limit(limit: Limit, names: Names) -> str:
    of = f"{listed(map(the, limit.of))} " if limit.of else ""
    verb = "" if not limit.of else "is " if len(limit.of) == 1 else "are "
    when = f" when {clause(limit.when.condition, names)}" if limit.when else ""
    parts = [
        f"{limit.name}: {of}{verb}{bound_text(limit)}{when}"
        + (f" ({limit.case})" if limit.case else "")
        + (", from memory" if limit.from_memory else "")
        + (f", on {limit.applies.text} only" if limit.applies.text else "")
        + in_brackets(limit.source)
    ]
    parts += map(reason, limit.whys)
    parts += [f"Note: {limit.note.rstrip('.')}"] if limit.note else []
    return " ".join(capital(part) + "." for part in parts)


def _group(name: str, members: Sequence[str]) -> str:
    return f"{capital(name)}: {listed(members)}."


def _start(start: StartingState) -> str:
    settings = ", ".join(f"{thing} {state}" for thing, state in start.settings)
    return f"{capital(start.name)}: {settings or 'all is normal'}."
