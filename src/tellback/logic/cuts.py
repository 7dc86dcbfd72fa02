"""At which numbers the conditions of a book cut the range of each reading."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tellback.book import conditions as c
from tellback.book.model import Book, Reading
from tellback.book.stated import statements_of
from tellback.logic.system import Regions


def regions_of(book: Book, extra: Iterable[c.Condition]) -> dict[str, Regions]:
    """The regions of every reading, for the conditions of the book and some more."""
    cuts: dict[str, set[tuple[float, int]]] = {}
    for condition in (*_all_conditions(book), *extra):
        for node in c.walk(condition):
            if isinstance(node, c.Compare):
                marks = cuts.setdefault(node.reading, set())
                if node.low is not None:
                    marks.add((node.low, 0 if node.low_included else 1))
                if node.high is not None:
                    marks.add((node.high, 1 if node.high_included else 0))
    readings = [t for t in book.things if isinstance(t, Reading)]
    return {r.name: _regions(r, cuts.get(r.name, set())) for r in readings}


def _regions(reading: Reading, cuts: set[tuple[float, int]]) -> Regions:
    kept = sorted(cut for cut in cuts if parts_range(cut, reading.low, reading.high))
    return Regions(reading.low, reading.high, reading.unit, tuple(kept))


def parts_range(cut: tuple[float, int], low: float, high: float) -> bool:
    """Whether a cut (just below its number, or just above) parts a range with both its ends."""
    return (low, 0) < cut < (high, 1)


def _all_conditions(book: Book) -> Iterator[c.Condition]:
    """Every condition of the book: of its things, its impossible states and its claims."""
    for thing in book.things:
        yield from (s.condition for s in statements_of(thing))
    yield from (s.condition for s in book.impossible)
    for claim in book.claims:
        yield claim.condition
        yield from claim.given
