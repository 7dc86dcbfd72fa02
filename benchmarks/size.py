"""Generated books of several sizes: reading, the first question, fifty more, and memory."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from statistics import median

import tellback
from benchmarks.apart import apart
from benchmarks.generated import write_book
from benchmarks.measures import Row, percentile, seconds, timed
from tellback.book.model import Book, Unit
from tellback.book.reader import read
from tellback.refusals import Refusal

SIZES = (500, 2000, 8000)
QUESTIONS = 50
LIMIT = 120.0
"""The seconds that all about one book may take."""


def rows() -> Iterator[Row]:
    """For each size a row for reading, one for the first question, one for the others."""
    for size in SIZES:
        measured = apart("benchmarks.size", "measure", str(size), limit=LIMIT)
        what = f"generated book of {size:,} things"
        if measured.missing:
            yield Row(what, measured.missing)
            continue
        found = measured.result
        rate = f"{size / found['read']:,.0f} things a second"
        yield Row(f"{what}: read, form checked", seconds(found["read"]), "2,000 a second", rate)
        first, times, refused = found["first"], found["times"], found["refused"]
        yield Row(f"{what}: first `ways`", seconds(first) if first else "refused")
        took = "none answered"
        if times:
            took = f"{seconds(median(times))}; 95 %: {seconds(percentile(times, 0.95))}"
        note = f"{len(times)} units answered, {refused} refused; {measured.megabytes:.0f} MB in all"
        goal = "200 ms (median); 1 GB" if size == max(SIZES) else ""
        yield Row(f"{what}: `ways` of another unit, median", took, goal, note)


def measure(size: str) -> dict[str, object]:
    """The seconds that reading takes, the first question and each other one."""
    with tempfile.TemporaryDirectory() as folder:
        write_book(Path(folder) / "book", int(size))
        took, (book, found) = timed(lambda: read(Path(folder) / "book"))
    if book is None:
        raise SystemExit(f"the generated book has errors: {found[0].message}")
    if len(book.things) != int(size):
        raise SystemExit(f"the generated book has {len(book.things)} things, not {size}")
    units = [thing.name for thing in book.things if isinstance(thing, Unit)]
    chosen = [units[i * len(units) // (QUESTIONS + 1)] for i in range(QUESTIONS + 1)]
    first, *others = [_asked(book, f"{name} running") for name in chosen]
    times = [taken for taken in others if taken is not None]
    return {"read": took, "first": first, "times": times, "refused": len(others) - len(times)}


def _asked(book: Book, question: str) -> float | None:
    """The seconds that the answer took; None if the question was refused."""
    try:
        return timed(partial(tellback.shortest, book, question))[0]
    except Refusal:
        return None
