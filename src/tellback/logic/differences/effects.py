"""The two columns of effects: on flight characteristics, and on procedures."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from tellback.book.model import Book, Supply, Surface
from tellback.book.spoken import named_by, named_in_procedure
from tellback.logic.differences.endings import ends
from tellback.logic.differences.levels import is_only_told, level_of
from tellback.logic.differences.procedures import STEP
from tellback.logic.differences.rows import Row
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import ADDED, REMOVED, RENAMED, Found
from tellback.logic.words import alike, listed, named_together

NONE = "none"
OF_FLIGHT = frozenset({"27", "32", "55", "57", "61", "78"})
"""The ATA 100 chapters whose surfaces the air or the runway feels: flight controls, landing gear,
stabilisers, wings, propellers, and reversers. A fuel valve or a mask door bears on no handling."""

MOST_NAMED = 6
"""So many procedures are named; of more the number is told."""


def flight_characteristics(sides: Sides, row: Row) -> str:
    """Whether flight characteristics may change: the book tells of systems only.

    Named are the surfaces of the wing, tail, gear and reversers whose drives speak of what
    differs, or of a supply that it feeds.
    """
    by_name_alone = all(one.what == RENAMED or is_only_told(one) for one in row.all)
    if by_name_alone or row.kind in ("indication", "procedure"):
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
        if not isinstance(thing, Surface) or thing.chapter not in OF_FLIGHT:
            continue
        if thing.name in items or named_by(thing) & {*items, *fed}:
            yield thing.name


def procedures(sides: Sides, row: Row) -> str:
    """Which procedures differ with it, and which speak of it in either book."""
    if all(map(is_only_told, row.all)):
        return NONE
    if row.kind == "procedure":
        return _of_procedure(sides, row)
    if row.kind == "limit":
        return "to be assessed: the crew keeps it"
    told = [_with_it(sides, found) for found in row.with_it if found.kind == "procedure"]
    speaking = _speaking(sides, _items(row), {found.item for found in row.with_it})
    if speaking:
        told.append(_spoken(sides, speaking))
    return "; ".join(told) or "none names it"


def _with_it(sides: Sides, found: Found) -> str:
    """A procedure that one alone has because of what differs, or that differs."""
    if sides.same_book and found.what in (ADDED, REMOVED):
        book = sides.book_b if found.what == ADDED else sides.book_a
        return f"{found.item} only on {book.aeroplane}"
    return f"{found.item} {_CHANGE.get(found.what, 'changed')}"


def _spoken(sides: Sides, speaking: Mapping[str, str]) -> str:
    """Which procedures name it, those of one source together; they may be to be read again."""
    several = f"{len(speaking)} that name it"
    like = alike(speaking, lambda name: speaking[name] or name)
    named = listed(named_together(names) + speaking[names[0]] for names in like)
    named = named if len(speaking) <= MOST_NAMED else several
    if not sides.same_book:
        return f"to be read again: {named}"
    return several if named == several else f"{named} name{'s' * (len(speaking) == 1)} it"


def _of_procedure(sides: Sides, row: Row) -> str:
    """As the row tells, and how it ends otherwise if its steps have changed."""
    pair = sides.procedures.get(row.items[0])
    stepped = any(found.key == STEP for found in row.own)
    ending = ends(sides, *pair) if pair and stepped else ""
    return f"as told; {ending}" if ending else "as told"


_CHANGE = {ADDED: "is new", REMOVED: "is gone"}


def _speaking(sides: Sides, items: Collection[str], but: Collection[str]) -> Mapping[str, str]:
    """The procedures that speak of the items, each with its source and which book alone has it."""
    books = (sides.book_a, sides.book_b)
    speaking: dict[str, str] = {}
    for book, other in (books, books[::-1]):
        there = {procedure.name for procedure in other.procedures}
        for procedure in book.procedures:
            if named_in_procedure(procedure) & {*items} and procedure.name not in but:
                alone = "" if procedure.name in there else f"only on {book.aeroplane}"
                known = ", ".join(text for text in (procedure.source, alone) if text)
                speaking[procedure.name] = f" ({known})" if known else ""
    return speaking
