"""Compare: what differs between two aeroplanes, or two revisions of a book."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tellback.book.effectivity import for_aeroplane
from tellback.book.model import Book
from tellback.logic.differences.judging import DIFFERS, NOWHERE, UNDECIDED, WORDING
from tellback.logic.differences.levels import (
    RULE,
    flight_characteristics,
    level_of,
    procedures,
)
from tellback.logic.differences.stated import (
    ADDED,
    LIMIT,
    MEANING,
    ORDER,
    REMOVED,
    RENAMED,
    STATEMENT,
    Found,
    Sides,
    differences_of,
)
from tellback.logic.differences.wholes import whole_differences
from tellback.logic.words import listed
from tellback.refusals import Refusal


class NothingToCompare(Refusal, ValueError):
    """One aeroplane of one book: there is no second one to compare it with."""


STATED = "stated"
"""What is declared, not worked out: a thing added, a source, a range."""

_WHAT = {
    ADDED: "added",
    REMOVED: "removed",
    RENAMED: "renamed",
    STATEMENT: "changed",
    f"{STATEMENT} {ADDED}": "a statement added",
    f"{STATEMENT} {REMOVED}": "a statement removed",
    LIMIT: "another limit",
    ORDER: "in another order",
    MEANING: "the same text, of other things",
}


@dataclass(frozen=True, slots=True)
class Case:
    """The smallest state in which the two differ: a starting state, and what is otherwise.

    `only` is the aeroplane that alone has the positions in it; empty if both have them.
    """

    start: str
    departures: tuple[str, ...]
    a_does: str
    b_does: str
    only: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """One row of the table.

    `what` is what changed (a key of the book, or added, removed, renamed, statement, limit, order,
    meaning, source, why), `key` the key it stands under. `verdict` is `stated` where there is
    nothing to work out, `wording only` where both are proved equal, `differs` with a `case`, or
    says that the case is not known to be possible, or that no state that both can be in shows a
    difference. The level proposed goes for training, checking and currency; the operator decides.
    """

    item: str
    kind: str
    what: str
    key: str
    before: str
    after: str
    verdict: str
    case: Case | None
    flight_characteristics: str
    procedures: str
    training: str
    checking: str
    currency: str
    source_a: str
    source_b: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """All differences between two aeroplanes, `a` the earlier or the base, with the rule used."""

    a: str
    b: str
    differences: tuple[Difference, ...]
    rule: str = RULE

    def __str__(self) -> str:
        return "\n".join(_text(self))


def compare(
    book_a: Book, book_b: Book | None = None, *, aeroplane_a: str = "", aeroplane_b: str = ""
) -> Comparison:
    """What differs between two aeroplanes of a book, or an aeroplane in two revisions of it.

    With two books and one aeroplane named, that one is compared in both. Raises UnknownAeroplane,
    and NothingToCompare if the two are one.
    """
    if book_b is not None:
        aeroplane_b = aeroplane_b or aeroplane_a
    one, other = for_aeroplane(book_a, aeroplane_a), for_aeroplane(book_b or book_a, aeroplane_b)
    if book_b is None and one.aeroplane == other.aeroplane:
        raise NothingToCompare(
            f"that would compare {one.aeroplane} with itself",
            "Name another aeroplane of the book, or another revision of it.",
        )
    sides = Sides(one, other)
    a, b = _labels(sides, same_book=book_b is None)
    found = [*differences_of(sides), *whole_differences(sides)]
    return Comparison(a, b, tuple(_difference(one, a, b) for one in found))


def _labels(sides: Sides, same_book: bool) -> tuple[str, str]:
    books = (sides.whole_a, sides.book_b)
    if same_book:
        return books[0].aeroplane, books[1].aeroplane
    a, b = (f"{book.aeroplane} rev {book.revision}" for book in books)
    return (a, b) if a != b else (f"{a} in {books[0].folder}", f"{b} in {books[1].folder}")


def _difference(found: Found, a: str, b: str) -> Difference:
    level = level_of(found)
    judgement = found.judgement
    case = None
    if judgement is not None and judgement.verdict in (DIFFERS, UNDECIDED):
        only = "" if judgement.only is None else (a, b)[judgement.only]
        case = Case(judgement.start, judgement.departures, judgement.a_does, judgement.b_does, only)
    return Difference(
        found.item,
        found.kind,
        found.what,
        found.key,
        found.before,
        found.after,
        judgement.verdict if judgement else STATED,
        case,
        flight_characteristics(found),
        procedures(found),
        level,
        level,
        level,
        found.source_a,
        found.source_b,
    )


def _text(comparison: Comparison) -> Iterator[str]:
    count = len(comparison.differences)
    told = f"{count or 'no'} difference{'s' * (count != 1)}"
    yield f"{comparison.a} and {comparison.b}: {told}{':' if count else '.'}"
    for number, difference in enumerate(comparison.differences, 1):
        yield f"{number}. {_head(difference)}"
        yield f"    {comparison.a}: {_side(difference.before, difference.source_a)}"
        yield f"    {comparison.b}: {_side(difference.after, difference.source_b)}"
        yield from (f"    {line}" for line in _behaviour(comparison, difference))
        yield (
            f"    Flight characteristics: {difference.flight_characteristics}. "
            f"Procedures: {difference.procedures}."
        )
        yield (
            f"    Proposed: training {difference.training}, checking {difference.checking}, "
            f"currency {difference.currency}."
        )
    if count:
        yield f"Levels as in FAA AC 120-53, proposed by this rule; the operator decides. {RULE}"


def _head(difference: Difference) -> str:
    key = difference.key if difference.key != difference.what else ""
    what = _WHAT.get(difference.what, difference.what)
    return f"{difference.item} ({difference.kind}): {f'{key}, ' if key else ''}{what}"


def _side(text: str, source: str) -> str:
    known = f"  [{source}]" if source not in ("", text) else ""
    return f"{text or '(not stated)'}{known}"


def _behaviour(comparison: Comparison, difference: Difference) -> Iterator[str]:
    case = difference.case
    if case is not None:
        where = f"{case.start}, with {listed(case.departures)}" if case.departures else case.start
        only = f" (only {case.only} can be so)" if case.only else ""
        known = "" if difference.verdict == DIFFERS else "; whether that can be was not decided"
        yield f"A smallest state that shows it: {where}{only}{known}."
        yield f"  {comparison.a}: {case.a_does}. {comparison.b}: {case.b_does}."
    elif difference.verdict == WORDING:
        yield "Only the wording differs: proved equal, whatever everything else does."
    elif difference.verdict == NOWHERE:
        yield "No difference in any state that both can be in: proved."
