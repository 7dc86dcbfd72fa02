"""The books of the Sandling S94 compared: the planted differences are found, and nothing else."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from pathlib import Path

from tellback.book.effectivity import for_aeroplane
from tellback.book.model import Book
from tellback.book.reader import read
from tellback.logic.answers.compare import STATED, Comparison, Difference, compare
from tellback.logic.differences.judging import DIFFERS
from tellback.logic.differences.procedures import procedure_differences
from tellback.logic.differences.rows import table_of
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import differences_of
from tellback.logic.differences.wholes import whole_differences

BOOKS = Path(__file__).parents[1] / "books"
WHOLE, NEXT = BOOKS / "s94", BOOKS / "s94-next-revision"


@cache
def book_in(folder: Path) -> Book:
    book, found = read(folder)
    assert book is not None, found
    return book


ROW = re.compile(r"^\| (P?\d+) \| ([^|]+) \|.*\| ([^|]+) \| [^|]+ \|$", re.MULTILINE)


def planted(folder: Path) -> dict[str, tuple[list[str], int]]:
    """The names of each planted difference, and how many rows it is: one, or one for each limit."""
    notes = (folder / "notes" / "differences.md").read_text(encoding="utf-8")
    found = {}
    for number, item, where in ROW.findall(notes):
        names = re.findall(r"`([^`]+)`", item)
        found[number] = names, len(names) if where.startswith("numbers") else 1
    return found


@cache
def the_variants() -> Comparison:
    return compare(book_in(WHOLE), aeroplane_a="S94-100", aeroplane_b="S94-200")


@cache
def the_revisions() -> Comparison:
    return compare(book_in(WHOLE), book_in(NEXT), aeroplane_a="S94-100")


def is_of(row: Difference, names: list[str]) -> bool:
    """Whether the row is of one of these things, or of several of that name (`left and right`)."""
    return any(
        name in row.items or (len(row.items) > 1 and row.item.endswith(f" {name}"))
        for name in names
    )


def assert_found_and_nothing_else(comparison: Comparison, folder: Path, count: int) -> None:
    lines = planted(folder)
    assert len(lines) == count
    for number, (names, rows) in lines.items():
        found = [row.item for row in comparison.differences if is_of(row, names)]
        assert len(found) == rows, (number, names, found)
    assert sum(rows for _, rows in lines.values()) == len(comparison.differences)
    assert not comparison.restated


def test_all_differences_of_the_variants_are_found_and_nothing_else() -> None:
    assert_found_and_nothing_else(the_variants(), WHOLE, 43)
    assert not the_variants().sources


def test_all_differences_of_the_next_revision_are_found_and_nothing_else() -> None:
    assert_found_and_nothing_else(the_revisions(), NEXT, 5)
    assert {change.item for change in the_revisions().sources} == {
        "probe heat called",
        "LEFT PITOT COLD",
        "RIGHT PITOT COLD",
        "STANDBY PITOT COLD",
        "SPEEDS UNLIKE",
    }


def test_every_planted_difference_is_decided_and_has_its_sources() -> None:
    changes = list(the_variants().changes)
    verdicts = Counter(change.verdict for change in changes)
    assert set(verdicts) == {STATED, DIFFERS}
    for change in changes:
        assert change.source_a or not change.before
        assert change.source_b or not change.after


def test_what_follows_from_a_difference_is_told_with_it() -> None:
    with_it = {row.item: {c.item for c in row.with_it} for row in the_variants().differences}
    assert {item: told for item, told in with_it.items() if told} == {
        "second transfer pump": {
            "transfer line",
            "second transfer pump running only if transfer pump not running",
        },
        "second guard pump": {
            "guard circuit",
            "second guard pump running only if guard pump not running",
        },
        "centre passenger bottle": {
            "centre passenger oxygen pressure",
            "centre passenger oxygen gauge",
            "passenger oxygen line",
            "passenger oxygen",
        },
        "second body leak wire": {"body leak latch"},
        "APU air valve": {"body duct fed by APU only if pressure altitude below 20,000 ft"},
        "left and right exit lock": {"left overwing exit"},
    }


def test_nothing_that_was_found_is_lost_in_the_table() -> None:
    """What is in no row is there for another member, written at the same place of the book."""
    one, other = (for_aeroplane(book_in(WHOLE), name) for name in ("S94-100", "S94-200"))
    sides = Sides(one, other)
    found = [*differences_of(sides), *whole_differences(sides), *procedure_differences(sides)]
    table = table_of(sides, found)
    told = [*(f for row in table.rows for f in row.all), *table.restated, *table.sources]
    assert len(told) == len(set(map(id, told)))
    written = {(f.what, f.key, f.places) for f in told}
    assert {id(f) for f in told} <= {id(f) for f in found}
    assert all((f.what, f.key, f.places) in written for f in found)
