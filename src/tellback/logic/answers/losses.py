"""Losses: what must fail for X to be lost? Minimal sets of failures, by size, with counts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from math import prod

from tellback.book.english import failures_text
from tellback.book.model import Book
from tellback.logic.answers.one_of_each import together
from tellback.logic.failures import Failure, Failures, Sought, left_out
from tellback.logic.formula import Formula
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.minimal import FailureSet
from tellback.logic.picture import picture_of, understand
from tellback.logic.run import Unsettled
from tellback.logic.scene import ended_after, passing, passing_text, scene
from tellback.logic.words import listed, run_time_text

LISTED = 200
"""The most sets that an answer lists; it always counts them all."""

MOST_LINES = 40
"""The most lines that the text has for them."""


@dataclass(frozen=True, slots=True)
class Losses:
    """The minimal sets of failures after which X is not so once all has settled.

    `counts` gives their number by size: exact, however many are listed. `order` is the size to
    which they were sought (None: complete). `replayed` is how many of the listed sets were run in
    time, one by one; `disputed` are those whose run in time ended otherwise; `slowest` is after
    how many seconds the slowest of the others takes it away. `restless` counts the sets left out
    because the aeroplane does not come to rest after them: then every set was run from the first.
    `undecided` are sets of which it was not decided whether some setting of the free controls makes
    up for them; they and what contains them are left out.
    `passed` tells after how many seconds X was no longer so, if it was so on the way to where the
    question begins.
    """

    question: str
    aeroplane: str
    start: str
    free: bool
    so_now: bool
    sets: tuple[tuple[Failure, ...], ...]
    counts: tuple[tuple[int, int], ...]
    order: int | None
    replayed: int
    disputed: tuple[tuple[Failure, ...], ...]
    restless: int
    passed: float | None
    slowest: float = 0
    undecided: tuple[tuple[Failure, ...], ...] = ()

    @property
    def count(self) -> int:
        """How many minimal sets there are, up to the order."""
        return sum(n for _, n in self.counts)

    def __str__(self) -> str:
        return "\n".join(_text(self))


@within(ANSWER_SECONDS, "finding what must fail")
def losses(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
    order: int | None = None,
    free: bool = False,
) -> Losses:
    """The minimal sets of failures, from a starting state, after which `question` is not so.

    `free`: for every setting of the controls. `order`: only sets of at most that many failures.
    """
    condition = understand(book, question, aeroplane)
    picture = picture_of(book, aeroplane, condition)
    where = scene(picture, start, changes)
    formula = picture.formula(condition)
    found = Failures(picture, where.moment, free, about=formula)
    so_now = picture.aeroplane.holds(formula, where.moment.state)
    # What is not so is lost without any failure, which needs no search.
    sought = found.ending(formula, order) if so_now or free else Sought((), (), order)
    listed_sets = list(islice(sought.sets, LISTED))
    times = {} if free else {s: _lost_after(found, formula, s) for s in listed_sets}
    disputed = [s for s, seconds in times.items() if seconds is None]
    return Losses(
        question=picture.phrase(condition),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        free=free,
        so_now=so_now,
        sets=tuple(found.said(s) for s in listed_sets if s not in disputed),
        counts=sought.counts,
        order=sought.order,
        replayed=0 if free else len(listed_sets),
        disputed=tuple(found.said(s) for s in disputed),
        restless=sought.restless,
        passed=passing(picture, where.path, formula),
        slowest=max((seconds for seconds in times.values() if seconds), default=0),
        undecided=tuple(map(found.said, sought.undecided)),
    )


def _lost_after(found: Failures, formula: Formula, chosen: FailureSet) -> float | None:
    """After how long these failures take it away; None if in time they do not."""
    try:
        return ended_after(found.runner, formula, found.history(chosen))
    except Unsettled:
        return None


def _text(answer: Losses) -> list[str]:
    if not answer.so_now and not answer.free:
        passed = passing_text(answer.passed)
        return [f"{answer.question}: not so to begin with ({answer.start}).{passed}"]
    if not answer.count:
        head = f"{answer.question} ({answer.start}): {_never_lost(answer)}."
        return [head, *_not_decided(answer)]
    if answer.counts[0][0] == 0:
        what = "not so, whatever the crew selects; nothing need fail"
        return [f"{answer.question} ({answer.start}): {what}."]
    freely = " and whatever the crew selects" if answer.free else ""
    opening = f"lost, once all has settled{freely}, by any of these, and nothing less:"
    lines = [f"{answer.question} ({answer.start}): {opening}"]
    size = told = 0
    for group in together(answer.sets)[:MOST_LINES]:
        if len(group) != size:
            size = len(group)
            lines.append(f"  {_heading(size, dict(answer.counts)[size])}")
        lines += _group_lines(group)
        told += prod(map(len, group))
    if told < answer.count:
        rest = ", ".join(f"{n} of {size}" for size, n in answer.counts)
        lines.append(f"    ... {answer.count - told} more; in all {answer.count} (by size: {rest})")
    if answer.slowest:
        slowest = run_time_text(answer.slowest)
        lines.append(f"  Some take it away only in time, the slowest of those run after {slowest}.")
    if answer.order is not None:
        lines.append(f"  Sought with {failures_text(answer.order)}; larger sets may exist.")
    return [*lines, *_not_decided(answer)]


def _not_decided(answer: Losses) -> Iterator[str]:
    """The sets of which it is open whether they take it away."""
    if answer.disputed:
        yield f"  Not decided for {len(answer.disputed)} sets: their run in time ends otherwise."
    if answer.undecided:
        several = len(answer.undecided)
        sets, them = ("1 set", "it") if several == 1 else (f"{several} sets", "one of them")
        yield f"  Not decided for {sets}, nor for what contains {them}: whether some setting makes"
        yield "  up for that was not found out in the time allowed."
    yield from left_out(answer.restless)


def _never_lost(answer: Losses) -> str:
    failures = "no failures" if answer.order is None else failures_text(answer.order)
    if answer.undecided or (answer.free and answer.restless):
        sets = "failures" if answer.order is None else failures
        return f"no set of {sets} was found to take it away"
    if answer.free:
        what = "whatever fails" if answer.order is None else f"with {failures}"
        return f"{what}, some setting of the controls makes it so once all has settled"
    if answer.order:
        return f"{failures} cannot take it away"
    return "no failures take it away"


def _group_lines(groups: Sequence[tuple[Failure, ...]]) -> list[str]:
    """`A stops and B stops`, or `one of: A stops, B stops` and below it the others."""
    each = [one.text for group in groups if len(group) == 1 for one in group]
    some = [f"one of: {', '.join(f.text for f in g)}" for g in groups if len(g) > 1]
    first, *rest = [listed(each), *some] if each else some
    return [f"    {first}", *(f"      and {more}" for more in rest)]


def _heading(size: int, total: int) -> str:
    if size == 1:
        return f"{total} single failure{'s' * (total != 1)}:"
    return f"{total} {'set' if total == 1 else 'sets'} of {size} failures:"
