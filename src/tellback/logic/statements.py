"""Every statement and condition of a book of one aeroplane, in book order."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.conditions import Condition
from tellback.book.model import (
    Book,
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)


def statements_of(thing: Thing) -> Iterator[Statement]:
    """The statements that a thing makes, in the order of its keys."""
    match thing:
        case Control():
            yield from (s for _, s in (*thing.drops, *thing.barred))
        case Reading():
            yield from (r.when for r in (*thing.follows, *thing.moves) if r.when)
        case Means():
            yield from thing.ways
        case Unit():
            yield from (*thing.needs, *thing.ways, *thing.shed)
        case Supply():
            for feed in thing.feeds:
                yield from feed.through
                if feed.when:
                    yield feed.when
            yield from thing.shed
        case Surface():
            for drive in thing.drives:
                if drive.when:
                    yield drive.when
                yield from drive.needs
        case Latch():
            yield from (*thing.sets, *thing.clears)
        case Indication():
            yield from (*thing.ways, *thing.inhibits, *thing.resets, *thing.needs)


def all_conditions(book: Book) -> Iterator[Condition]:
    """Every condition of the book: of its things, its impossible states and its claims."""
    for thing in book.things:
        yield from (s.condition for s in statements_of(thing))
    yield from (s.condition for s in book.impossible)
    for claim in book.claims:
        yield claim.condition
        yield from claim.given
