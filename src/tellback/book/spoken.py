"""Which things a thing, a statement or a procedure speaks of."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.conditions import things
from tellback.book.model import Indication, Procedure, Statement, Supply, Surface, Thing, Unit
from tellback.book.procedures import statements_in
from tellback.book.stated import statements_of


def named_with(statement: Statement) -> frozenset[str]:
    """The things that a statement speaks of."""
    return frozenset(things(statement.condition))


def named_by(thing: Thing) -> frozenset[str]:
    """The things that a thing speaks of, in its statements or besides."""
    stated = (named_with(statement) for statement in statements_of(thing))
    return frozenset(_besides(thing)).union(*stated) - {thing.name, ""}


def _besides(thing: Thing) -> Iterator[str]:
    match thing:
        case Supply():
            yield from (feed.source for feed in thing.feeds)
        case Unit():
            yield from thing.feeds_one
        case Surface():
            yield from (drive.to_control for drive in thing.drives)
        case Indication():
            yield thing.shows


def named_in_procedure(procedure: Procedure) -> frozenset[str]:
    """The things that a procedure speaks of."""
    return frozenset().union(*map(named_with, statements_in(procedure)))
