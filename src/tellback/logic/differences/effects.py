"""The two columns of effects: on flight characteristics, and on procedures."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from tellback.book.model import Book, Supply, Surface
from tellback.book.spoken import named_by, named_in_procedure
from tellback.logic.differences.endings import ends
from tellback.logic.differences.levels import level_of
from tellback.logic.differences.procedures import STEP
from tellback.logic.differences.rows import Row
from tellback.logic.differences.sides import Sides
from tellback.logic.words import listed

NONE = "none"
MOST_NAMED = 6
"""So many procedures are named; of more the number is told."""


def flight_characteristics(sides: Sides, row: Row) -> str:
    """Whether flight characteristics may change: the book tells of systems only.

    Named are the surfaces whose drives speak of what differs, or of a supply that it feeds.
    """
    if level_of_row(row) == "A" or row.kind in ("indication", "procedure"):
        return NONE
    items = _items(row)
    surfaces = dict.fromkeys(
        name for book in (sides.book_a, sides.book_b) for name in _surfaces(book, items)
    )
    if not surfaces:
        return "none told by the book"
    return f"to be assessed: it bears on {listed(surfaces)}"


def level_of_row(row: Row) -> str:
    """The highest level of what is told in a row."""
    return max(map(level_of, row.all))


def _items(row: Row) -> frozenset[str]:
    return frozenset(row.items) | {found.item for found in row.with_it}


def _surfaces(book: Book, items: Collection[str]) -> Iterator[str]:
    fed = {
        thing.name
        for thing in book.things
        if isinstance(thing, Supply) and any(feed.source in items for feed in thing.feeds)
    }
    for thing in book.things:
        if isinstance(thing, Surface) and (thing.name in items or named_by(thing) & {*items, *fed}):
            yield thing.name


def procedures(sides: Sides, row: Row) -> str:
    """Which procedures differ with it, and which speak of it in either book."""
    if level_of_row(row) == "A":
        return NONE
    if row.kind == "procedure":
        return _of_procedure(sides, row)
    if row.kind == "limit":
        return "to be assessed: the crew keeps it"
    told = [f"{found.item} {_CHANGE.get(found.what, 'changed')}" for found in row.with_it
            if found.kind == "procedure"]  # fmt: skip
    told += [
        f"to be read again: {text}"
        for text in _speaking(sides, _items(row), {found.item for found in row.with_it})
    ]
    return "; ".join(told) or "no procedure in the books speaks of it"


def _of_procedure(sides: Sides, row: Row) -> str:
    """As the row tells, and how it ends otherwise if its steps have changed."""
    pair = sides.procedures.get(row.items[0])
    stepped = any(found.key == STEP for found in row.own)
    ending = ends(sides, *pair) if pair and stepped else ""
    return f"as told; {ending}" if ending else "as told"


_CHANGE = {"added": "is new", "removed": "is gone"}


def _speaking(sides: Sides, items: Collection[str], but: Collection[str]) -> Iterator[str]:
    """The procedures that speak of the items, on one line, and which book alone has one."""
    books = (sides.book_a, sides.book_b)
    speaking: dict[str, str] = {}
    for book, other in (books, books[::-1]):
        there = {procedure.name for procedure in other.procedures}
        for procedure in book.procedures:
            if named_in_procedure(procedure) & {*items} and procedure.name not in but:
                alone = "" if procedure.name in there else f"only of {book.aeroplane}"
                known = ", ".join(text for text in (procedure.source, alone) if text)
                speaking[procedure.name] = (
                    f"{procedure.name} ({known})" if known else procedure.name
                )
    if len(speaking) > MOST_NAMED:
        yield f"{len(speaking)} procedures that speak of it"
    elif speaking:
        yield listed(speaking.values())
