"""What hangs on most: `ways --root` and `losses --free` of every unit of the S94.

Each question has a process of its own, split off after the book was read, so that its processor
time and its memory are its own, and nothing is worked out that another one has asked for.
"""

from __future__ import annotations

import json
import os
import resource
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from statistics import median
from time import process_time

import tellback
from benchmarks.measures import Row, percentile, seconds
from tellback.book.model import Book, Unit
from tellback.logic.picture import picture_of
from tellback.refusals import Refusal

START = "cruise"
GOAL = "5 s, 1 GB"


@dataclass(frozen=True, slots=True)
class Measured:
    """Of one question: the processor seconds, the megabytes, and how far the answer goes."""

    seconds: float
    megabytes: float
    extent: str


def rows(book: Book) -> Iterator[Row]:
    """A row for each of the two questions."""
    for what, ask in QUESTIONS.items():
        found = [_apart(partial(ask, book, name)) for name in _units(book)]
        times = [one.seconds for one in found]
        tail = f"95 %: {seconds(percentile(times, 0.95))}; longest: {seconds(max(times))}"
        told = ", ".join(
            f"{sum(one.extent == extent for one in found)} {extent}"
            for extent in sorted({one.extent for one in found})
        )
        most = max(one.megabytes for one in found)
        note = f"{len(found)} units: {told}; at most {most:.0f} MB"
        yield Row(f"{what}: median", f"{seconds(median(times))}; {tail}", GOAL, note)


def _units(book: Book) -> list[str]:
    return [thing.name for thing in picture_of(book).book.things if isinstance(thing, Unit)]


def _to_the_root(book: Book, unit: str) -> str:
    answer = tellback.shortest(book, f"{unit} running", to_root=True)
    return "complete" if answer.extent is None else "up to so many terms"


def _whatever_is_selected(book: Book, unit: str) -> str:
    answer = tellback.losses(book, f"{unit} running", start=START, free=True)
    if answer.undecided:
        return "with some sets not decided"
    return "complete" if answer.order is None else f"to order {answer.order}"


QUESTIONS: dict[str, Callable[[Book, str], str]] = {
    "`ways --root` of each unit": _to_the_root,
    f"`losses --free` of each unit, from {START}": _whatever_is_selected,
}


def _apart(ask: Callable[[], str]) -> Measured:
    """What a question takes in a process of its own."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        _answer_to(writing, ask)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as told:
        text = told.read()
    os.waitpid(child, 0)
    return Measured(**json.loads(text))


def _answer_to(writing: int, ask: Callable[[], str]) -> None:
    begun = process_time()
    try:
        extent = ask()
    except Refusal:
        extent = "refused"
    took = process_time() - begun
    kilobytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    told = {"seconds": took, "megabytes": kilobytes / 1024, "extent": extent}
    os.write(writing, json.dumps(told).encode())


if __name__ == "__main__":
    from benchmarks.asking import the_book

    for row in rows(the_book()):
        sys.stdout.write(f"{row.took}  {row.what}  ({row.note})\n")
