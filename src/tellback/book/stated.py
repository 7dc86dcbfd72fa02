"""All statements of a thing, whatever its kind, and their rewriting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

from tellback.book.model import (
    Control,
    Drive,
    Feed,
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

Rewrite = Callable[[Statement], Statement | None]
Part = TypeVar("Part", bound=Thing | Row | Feed | Drive)


def having(part: Part, **fields: Any) -> Part:
    """The part with these fields; the same object if all of them are as they were."""
    if all(getattr(part, name) == new for name, new in fields.items()):
        return part
    return replace(part, **fields)


def statements_of(thing: Thing) -> tuple[Statement, ...]:
    """Every statement of a thing once, in the order of its keys."""
    found: list[Statement] = []

    def keep(statement: Statement) -> Statement:
        if not any(statement is other for other in found):
            found.append(statement)
        return statement

    rewritten(thing, keep)
    return tuple(found)


def rewritten(thing: Thing, rewrite: Rewrite) -> Thing:
    """The thing with every statement rewritten; one that becomes None is left out.

    A row, feed or drive without its statement goes too; what it needs or goes through only loses
    the statement.
    """
    match thing:
        case Control():
            return having(
                thing,
                drops=_placed(thing.drops, rewrite),
                barred=_placed(thing.barred, rewrite),
            )
        case Reading():
            return having(
                thing, follows=_rows(thing.follows, rewrite), moves=_rows(thing.moves, rewrite)
            )
        case Means():
            return having(thing, ways=_each(thing.ways, rewrite))
        case Unit():
            return having(
                thing,
                needs=_each(thing.needs, rewrite),
                ways=_each(thing.ways, rewrite),
                shed=_each(thing.shed, rewrite),
            )
        case Supply():
            return having(
                thing, feeds=_feeds(thing.feeds, rewrite), shed=_each(thing.shed, rewrite)
            )
        case Surface():
            return having(thing, drives=_drives(thing.drives, rewrite))
        case Latch():
            return having(
                thing, sets=_each(thing.sets, rewrite), clears=_each(thing.clears, rewrite)
            )
        case Indication():
            return having(
                thing,
                ways=_each(thing.ways, rewrite),
                inhibits=_each(thing.inhibits, rewrite),
                resets=_each(thing.resets, rewrite),
                needs=_each(thing.needs, rewrite),
            )
    return thing


def _each(statements: tuple[Statement, ...], rewrite: Rewrite) -> tuple[Statement, ...]:
    return tuple(new for old in statements if (new := rewrite(old)) is not None)


def _placed(
    pairs: tuple[tuple[str, Statement], ...], rewrite: Rewrite
) -> tuple[tuple[str, Statement], ...]:
    return tuple((place, new) for place, old in pairs if (new := rewrite(old)) is not None)


def _rows(rows: tuple[Row, ...], rewrite: Rewrite) -> tuple[Row, ...]:
    found = []
    for row in rows:
        when = rewrite(row.when) if row.when else None
        if when is not None or row.when is None:
            found.append(having(row, when=when))
    return tuple(found)


def _feeds(feeds: tuple[Feed, ...], rewrite: Rewrite) -> tuple[Feed, ...]:
    found = []
    for feed in feeds:
        statement = rewrite(feed.statement)
        if statement is not None:
            path = _each(feed.through, rewrite)
            when = rewrite(feed.when) if feed.when else None
            found.append(having(feed, through=path, when=when, statement=statement))
    return tuple(found)


def _drives(drives: tuple[Drive, ...], rewrite: Rewrite) -> tuple[Drive, ...]:
    found = []
    for drive in drives:
        statement = rewrite(drive.statement)
        if statement is not None:
            needs = _each(drive.needs, rewrite)
            when = rewrite(drive.when) if drive.when else None
            found.append(having(drive, needs=needs, when=when, statement=statement))
    return tuple(found)
