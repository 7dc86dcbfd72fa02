"""Questions asked of the S94 in one process."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from statistics import median

import tellback
from benchmarks.measures import BOOK, Row, percentile, seconds, timed
from tellback.book.model import Book, Supply, Unit
from tellback.book.reader import read
from tellback.logic.answers.claims import verdict_on
from tellback.logic.answers.losses import Losses
from tellback.logic.picture import picture_of
from tellback.refusals import Refusal

START = "cruise"
MOVES = ("battery switch: OFF", "left generator switch: OFF", "right bleed switch: OFF")
"""Of the controls on which most hangs."""
DEEP = "antiskid computer running"
"""It hangs on brakes, hydraulic and electrical power at once."""


def the_book() -> Book:
    """The S94, read anew."""
    book, found = read(BOOK)
    if book is None:
        raise SystemExit(f"the book has errors: {found[0].message}")
    return book


def rows(book: Book) -> Iterator[Row]:
    """Ways of everything, the check, the claims, and losses of something deep."""
    first, _ = timed(lambda: tellback.ways(book, "left AC bus powered"))
    yield Row("first `ways` after reading", seconds(first))
    yield from _ways(
        book, "unit", [f"{n} running" for n in _names(book, Unit)], "20 ms (median), 100 ms"
    )
    yield from _ways(book, "supply", [f"{n} live" for n in _names(book, Supply)])
    checked, findings = timed(lambda: tellback.check(book))
    yield Row("`check` of the whole book", seconds(checked), note=f"{len(findings)} findings")
    yield from _claims(book)
    for move in MOVES:
        took, found = timed(partial(tellback.effects, book, move, start=START))
        note = f"{len(found.effects)} changes here"
        yield Row(f"`effects` of `{move}`", seconds(took), note=note)
        took, found = timed(partial(tellback.effects, book, move, start=START, elsewhere=True))
        note = f"{len(found.elsewhere or ())} elsewhere"
        yield Row(f"`effects --elsewhere` of `{move}`", seconds(took), note=note)
    for order in (2, 3, None):
        took, lost = timed(partial(tellback.losses, book, DEEP, start=START, order=order))
        yield Row(f"`losses` of `{DEEP}`, {_extent(order)}", seconds(took), note=_sets(lost))


def _names(book: Book, kind: type[Unit] | type[Supply]) -> list[str]:
    picture = picture_of(book)
    return [thing.name for thing in picture.book.things if isinstance(thing, kind)]


def _ways(book: Book, kind: str, questions: list[str], goal: str = "") -> Iterator[Row]:
    """Ways of each thing of a kind, asked for the first time; what is refused is told."""
    times, refused = [], 0
    for question in questions:
        try:
            times.append(timed(partial(tellback.ways, book, question))[0])
        except Refusal:
            refused += 1
    took = _spread(times)
    note = f"{len(questions)} questions" + (f", {refused} refused" if refused else "")
    yield Row(f"`ways` of each {kind}, asked once: median", took, goal, note)
    again = [timed(partial(tellback.ways, book, q))[0] for q in questions]
    yield Row("the same asked again: median", _spread(again))


def _spread(times: list[float]) -> str:
    tail = f"95 %: {seconds(percentile(times, 0.95))}; longest: {seconds(max(times))}"
    return f"{seconds(median(times))}; {tail}"


def _claims(book: Book) -> Iterator[Row]:
    picture = picture_of(book)
    took, verdicts = timed(lambda: [verdict_on(picture, claim) for claim in picture.book.claims])
    proved = sum(verdict.verdict == "proved" for verdict in verdicts)
    yield Row("verdict on each claim", seconds(took), note=f"{proved} of {len(verdicts)} proved")


def _extent(order: int | None) -> str:
    return "complete" if order is None else f"to order {order}"


def _sets(found: Losses) -> str:
    return f"{found.count} set{'s' * (found.count != 1)}"
