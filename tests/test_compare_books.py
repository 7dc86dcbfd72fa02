"""The books of the Sandling S94 compared: the planted differences are found, and nothing else."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from pathlib import Path

from tellback.book.model import Book
from tellback.book.reader import read
from tellback.logic.answers.compare import STATED, Comparison, Difference, compare
from tellback.logic.differences.judging import DIFFERS, NOWHERE

BOOKS = Path(__file__).parents[1] / "books"
WHOLE = BOOKS / "s94-whole"


@cache
def book_in(folder: Path) -> Book:
    book, found = read(folder)
    assert book is not None, found
    return book


ROW = re.compile(r"\| (\d+) \| ([^|]+) \|")


def planted() -> dict[str, str]:
    """The name of each planted difference as the S94-200 has it, by its number in the notes."""
    notes = (WHOLE / "notes" / "differences.md").read_text(encoding="utf-8")
    items = {number: re.findall(r"`([^`]+)`", item) for number, item in ROW.findall(notes)}
    renamed = {number for number, item in ROW.findall(notes) if "` / `" in item}
    return {number: names[1 if number in renamed else 0] for number, names in items.items()}


@cache
def the_comparison() -> Comparison:
    return compare(book_in(WHOLE), aeroplane_a="S94-100", aeroplane_b="S94-200")


def member_of(row: Difference, name: str) -> bool:
    """Whether the row is of that thing, or of several of that name, as `left and right`."""
    return row.item == name or (len(row.items) > 1 and row.item.endswith(f" {name}"))


def test_all_planted_differences_are_found_and_nothing_else() -> None:
    names = planted()
    assert len(names) == 29
    rows = the_comparison().differences
    found = {n: [r.item for r in rows if member_of(r, name)] for n, name in names.items()}
    assert all(len(items) == 1 for items in found.values()), found
    assert {items[0] for items in found.values()} == {row.item for row in rows}
    assert not the_comparison().restated
    assert not the_comparison().sources


def test_every_planted_difference_is_decided_and_has_its_sources() -> None:
    changes = list(the_comparison().changes)
    verdicts = Counter(change.verdict for change in changes)
    assert set(verdicts) == {STATED, DIFFERS, NOWHERE}
    assert {change.item for change in changes if change.verdict == NOWHERE} == {
        "left bleed trip latch"  # its duct temperature never reads between 260 and 270 C
    }
    for change in changes:
        assert change.source_a or not change.before
        assert change.source_b or not change.after


def test_what_follows_from_a_difference_is_told_with_it() -> None:
    with_it = {row.item: {c.item for c in row.with_it} for row in the_comparison().differences}
    assert {item: told for item, told in with_it.items() if told} == {
        "body fuel switch": {"BODY FUEL STRANDED"},
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
        },
        "second body leak wire": {"body leak latch"},
        "APU air valve": {"body duct fed by APU only if pressure altitude below 20,000 ft"},
        "left and right exit lock": {"left overwing exit"},
    }
