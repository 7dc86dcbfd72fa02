"""The items of one aeroplane's book: what must be given before anything can be computed.

An item is an input (control, situation, outside reading, failure) or a memory (latch, delay,
surface position, moving reading, cancelled indication). A state gives each item one value, as a
tuple in the order of `Frame.items`. Readings are given by one number for each region, so a
comparison is always a comparison of numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any as Anything

from tellback.book import conditions as c
from tellback.book.model import (
    Book,
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Situation,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)

Value = str | float
State = tuple[Value, ...]
OK = "ok"


@dataclass(frozen=True)
class Owner:
    """Whose condition it is: the thing, and for a condition of a feed row its number."""

    name: str = ""
    row: int | None = None


NOBODY = Owner()


@dataclass(frozen=True)
class Region:
    """An interval of a reading that no comparison cuts, with the number that stands for it."""

    low: float
    low_included: bool
    high: float
    high_included: bool
    number: float


@dataclass(frozen=True)
class Delay:
    """`part` for `seconds`, as the owner means it."""

    part: c.Condition
    seconds: float
    owner: Owner


@dataclass(frozen=True)
class Frame:
    """A book of one aeroplane with its items and their values, and what was computed so far."""

    book: Book
    things: dict[str, Thing]
    items: dict[str, tuple[Value, ...]]
    inputs: tuple[str, ...]
    delays: dict[str, Delay]
    regions: dict[str, tuple[Region, ...]]
    questions: tuple[c.Condition, ...]
    cache: dict[Anything, Anything] = field(default_factory=dict)

    def of(self, kind: type[Thing]) -> list[Anything]:
        """All things of a kind, in the order of the book."""
        return [thing for thing in self.book.things if isinstance(thing, kind)]

    def named(self, state: State) -> dict[str, Value]:
        """The state as a mapping from item to value."""
        return dict(zip(self.items, state, strict=True))

    def with_items(self, state: State, changes: dict[str, Value]) -> State:
        """The state with some items at other values."""
        return tuple(
            changes.get(item, value) for item, value in zip(self.items, state, strict=True)
        )


def failure_of(name: str) -> str:
    """The item that says which failure the thing has."""
    return f"failure of {name}"


def cancelled(name: str) -> str:
    """The item that says whether the indication is cancelled."""
    return f"{name} cancelled"


def frame_of(book: Book, *questions: c.Condition) -> Frame:
    """The frame of a book of one aeroplane; the questions to come may cut readings further."""
    conditions = [condition for _, condition in owned_conditions(book)]
    conditions += [condition for claim in book.claims for condition in claim_conditions(claim)]
    conditions += questions
    things = {thing.name: thing for thing in book.things}
    regions = {
        thing.name: regions_of(thing, comparisons(conditions, thing.name))
        for thing in book.things
        if isinstance(thing, Reading)
    }
    inputs = input_items(book, regions)
    delays = delays_of(book, questions)
    memories = memory_items(book, regions, delays)
    return Frame(book, things, inputs | memories, tuple(inputs), delays, regions, questions)


def input_items(book: Book, regions: dict[str, tuple[Region, ...]]) -> dict[str, tuple[Value, ...]]:
    """Controls, situations, outside readings and failures with their values."""
    items: dict[str, tuple[Value, ...]] = {}
    for thing in book.things:
        match thing:
            case Control():
                items[thing.name] = thing.positions
            case Situation():
                items[thing.name] = ("no", "yes")
            case Reading() if not thing.follows and not thing.moves:
                items[thing.name] = numbers(regions[thing.name])
    for thing in book.things:
        if thing.fails:
            items[failure_of(thing.name)] = (OK, *thing.fails)
    return items


def memory_items(
    book: Book, regions: dict[str, tuple[Region, ...]], delays: dict[str, Delay]
) -> dict[str, tuple[Value, ...]]:
    """Latches, surfaces, moving readings, cancelled indications and delays with their values."""
    items: dict[str, tuple[Value, ...]] = {}
    for thing in book.things:
        match thing:
            case Latch():
                items[thing.name] = ("clear", "set")
            case Surface():
                items[thing.name] = places(thing)
            case Reading() if thing.moves:
                items[thing.name] = numbers(regions[thing.name])
            case Indication() if thing.resets:
                items[cancelled(thing.name)] = ("no", "yes")
    items |= dict.fromkeys(delays, ("no", "yes"))
    return items


def numbers(regions: tuple[Region, ...]) -> tuple[Value, ...]:
    """The number that stands for each region."""
    return tuple(region.number for region in regions)


def places(surface: Surface) -> tuple[str, ...]:
    """The places of a surface in order of travel: points, and the gaps between them."""
    result = [surface.points[0]]
    for before, after in zip(surface.points, surface.points[1:], strict=False):
        result += [f"between {before} and {after}", after]
    return tuple(result)


def delays_of(book: Book, questions: tuple[c.Condition, ...]) -> dict[str, Delay]:
    """One delay for each distinct condition, time and (if it matters) owner."""
    found: dict[Delay, None] = {}
    for owner, condition in [*owned_conditions(book), *((NOBODY, q) for q in questions)]:
        for node in c.walk(condition):
            if isinstance(node, c.Held):
                found[delay_of(node, owner)] = None
    return {f"delay {number}": delay for number, delay in enumerate(found, 1)}


def delay_of(node: c.Held, owner: Owner) -> Delay:
    """The delay that the node speaks of: the owner counts only for `otherwise lost`."""
    by_owner = any(isinstance(n, c.State) and n.state == "otherwise lost" for n in c.walk(node))
    return Delay(node.part, node.seconds, owner if by_owner else NOBODY)


def owned_conditions(book: Book) -> Iterator[tuple[Owner, c.Condition]]:
    """Every condition of the book with its owner."""
    for thing in book.things:
        for owner, statement in owned_statements(thing):
            yield owner, statement.condition
    for statement in book.impossible:
        yield NOBODY, statement.condition


def claim_conditions(claim: Anything) -> tuple[c.Condition, ...]:
    """The conditions in a claim."""
    return (claim.condition, *claim.given)


def owned_statements(thing: Thing) -> Iterator[tuple[Owner, Statement]]:
    """Every statement of a thing; those of a feed row with the number of the row."""
    owner = Owner(thing.name)
    for statement in plain_statements(thing):
        yield owner, statement
    if isinstance(thing, Supply):
        for number, feed in enumerate(thing.feeds):
            for statement in (*feed.through, *optional(feed.when)):
                yield Owner(thing.name, number), statement


def plain_statements(thing: Thing) -> tuple[Statement, ...]:
    """The statements of a thing that belong to no feed row."""
    match thing:
        case Control():
            return tuple(statement for _, statement in (*thing.drops, *thing.barred))
        case Reading():
            return tuple(s for row in (*thing.follows, *thing.moves) for s in optional(row.when))
        case Means():
            return thing.ways
        case Unit():
            return (*thing.needs, *thing.ways, *thing.shed)
        case Supply():
            return thing.shed
        case Surface():
            return tuple(s for d in thing.drives for s in (*optional(d.when), *d.needs))
        case Latch():
            return (*thing.sets, *thing.clears)
        case Indication():
            return (*thing.ways, *thing.inhibits, *thing.resets, *thing.needs)
    return ()


def optional(statement: Statement | None) -> tuple[Statement, ...]:
    """The statement, if there is one."""
    return () if statement is None else (statement,)


def comparisons(conditions: list[c.Condition], reading: str) -> list[c.Compare]:
    """Every comparison of the reading, each once."""
    found: dict[c.Compare, None] = {}
    for condition in conditions:
        for node in c.walk(condition):
            if isinstance(node, c.Compare) and node.reading == reading:
                found[node] = None
    return list(found)


def regions_of(reading: Reading, compared: list[c.Compare]) -> tuple[Region, ...]:
    """The range cut at every number compared, with neighbours merged that none tells apart."""
    bounds = [bound for node in compared for bound in (node.low, node.high) if bound is not None]
    cuts = sorted({b for b in bounds if reading.low <= b <= reading.high})
    edges = sorted({reading.low, *cuts, reading.high})
    pieces: list[Region] = []
    for low, high in zip(edges, [*edges[1:], None], strict=True):
        pieces.append(Region(low, True, low, True, low))
        if high is not None:
            pieces.append(Region(low, False, high, False, (low + high) / 2))
    merged = pieces[:1]
    for piece in pieces[1:]:
        if all(within(merged[-1].number, node) == within(piece.number, node) for node in compared):
            merged[-1] = joined(merged[-1], piece)
        else:
            merged.append(piece)
    return tuple(merged)


def joined(first: Region, second: Region) -> Region:
    """One region of two neighbours, standing for both by the number in the middle."""
    low, high = first.low, second.high
    return Region(low, first.low_included, high, second.high_included, (low + high) / 2)


def within(number: float, node: c.Compare) -> bool:
    """Whether the number lies in the range of a comparison."""
    above = node.low is None or number > node.low or (node.low_included and number == node.low)
    below = node.high is None or number < node.high or (node.high_included and number == node.high)
    return above and below


def region_with(frame: Frame, reading: str, number: float) -> Region:
    """The region of the reading in which the number lies; ValueError outside its range."""
    for region in frame.regions[reading]:
        if (number > region.low or (region.low_included and number == region.low)) and (
            number < region.high or (region.high_included and number == region.high)
        ):
            return region
    raise ValueError(f"{reading} has no region with {number}")
