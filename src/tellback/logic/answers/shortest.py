"""The shortest combinations of items that make X so, and which statements each of them meets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tellback.book import conditions as c
from tellback.book.model import Book
from tellback.logic.answers.cubes import (
    Case,
    Found,
    all_met,
    found_in,
    is_by_failure,
    left_out,
)
from tellback.logic.answers.few_terms import Extent, fewest
from tellback.logic.answers.shortest_text import shortest_text
from tellback.logic.formula import FALSE
from tellback.logic.given import understand_given
from tellback.logic.items import Item, View
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.space import Node
from tellback.logic.subjects import Stated, Subject, Subjects
from tellback.logic.symmetry import Combination, Statement, merge

PATIENCE = 3_000
"""The effort of search for whether a change can be at all."""


@dataclass(frozen=True, slots=True)
class Shortest:
    """All ways of X. `count` counts them before merging; `given` is what was taken for granted.

    `stated` is how the book itself states X. `needs_alone`: X has no ways of its own, and these are
    how its needs come about. `inhibited` is what keeps an indication off: the ways are those while
    it does not.

    `exact` is False where the possible states could not be worked out: then every way is
    sufficient, but one may be longer than it must be, or, unless all are `met`, never occur.
    `passing` is what the book states for a change that does happen, yet whose cause never lasts:
    the change itself ends it.
    With `beginning` it is what sets a change off by coming on or going out, as it is stated.
    With an `extent` the combinations are too many, and told up to there.
    """

    question: str
    aeroplane: str
    verb: str
    to_root: bool
    given: tuple[str, ...]
    combinations: tuple[Combination, ...]
    count: int
    stated: tuple[Statement, ...]
    needs: tuple[Statement, ...]
    needs_alone: bool
    inhibited: tuple[Statement, ...]
    not_failed: tuple[str, ...]
    exact: bool
    met: bool = True
    passing: tuple[Statement, ...] = ()
    beginning: bool = False
    extent: Extent | None = None

    def __str__(self) -> str:
        return shortest_text(self)


@within(ANSWER_SECONDS, "finding the shortest combinations")
def shortest(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    given: Sequence[str] = (),
    to_root: bool = False,
) -> Shortest:
    """Every minimal sufficient condition for `question`, as seen or to the root.

    Each `given` is a condition, `no failures` or `at most N failures`, taken for granted. Raises
    Misunderstood if a text does not parse and OutOfReach if the answer is.
    """
    condition = understand(book, question, aeroplane)
    assumed, failures = understand_given(book, given, aeroplane)
    picture = picture_of(book, aeroplane, condition, *assumed)
    return shortest_of(picture, condition, assumed, to_root, tuple(given), failures)


def shortest_of(
    picture: Picture,
    condition: c.Condition,
    given: Sequence[c.Condition] = (),
    to_root: bool = False,
    given_text: tuple[str, ...] = (),
    failures: int | None = None,
) -> Shortest:
    """The same of a picture, for conditions already understood."""
    subject = Subjects(picture).of(condition)
    if subject.edges:
        return _as_stated(picture, subject, to_root, given_text, failures)
    return shortest_in(Case(picture, subject, given, to_root, given_text, failures))


def shortest_in(case: Case) -> Shortest:
    """The shortest combinations of a case."""
    none_stated = ~case.space.any_of(case.stated)
    asked_of = [*(~node for node in case.stated), none_stated]
    few = fewest(case) if case.view.to_root else None
    if few is None:
        return shortest_of_found(case, *found_in(case, case.space.true, asked_of))
    kept, extent = few
    return replace(shortest_of_found(case, kept, exact=False), extent=extent)


def shortest_of_found(case: Case, kept: Sequence[Found], exact: bool) -> Shortest:
    """The shortest combinations of a case that were found, and whether that is sure."""
    subject, view = case.subject, case.view
    return Shortest(
        question=subject.text,
        aeroplane=case.picture.book.aeroplane,
        verb=subject.verb,
        to_root=view.to_root,
        given=case.given_text,
        combinations=_shown(view, kept, subject),
        count=len(kept),
        stated=told(subject.stated),
        needs=told(subject.needs),
        needs_alone=bool(subject.needs) and not subject.stated,
        inhibited=told(subject.inhibited),
        not_failed=tuple(left_out(view, (one.whole for f in kept for one in f.all))),
        exact=exact or [f.told for f in kept] == [{}],
        met=all_met(case, kept),
        passing=() if kept or case.is_given else passing(case.picture, subject, case.failures),
    )


def _as_stated(
    picture: Picture, subject: Subject, to_root: bool, given: tuple[str, ...], failures: int | None
) -> Shortest:
    """What sets a change off by coming on or going out, told as it is stated.

    What is shortest among states is not so among moments: of two things, each of which sets it
    off, neither does while the other is so already.
    """
    return Shortest(
        question=subject.text,
        aeroplane=picture.book.aeroplane,
        verb=subject.verb,
        to_root=to_root,
        given=given,
        combinations=(),
        count=0,
        stated=told(subject.stated),
        needs=(),
        needs_alone=False,
        inhibited=told(subject.beaten),
        not_failed=(),
        exact=True,
        passing=passing(picture, subject, failures),
        beginning=True,
    )


def passing(picture: Picture, subject: Subject, failures: int | None) -> tuple[Statement, ...]:
    """What is stated to bring a change about that no lasting state shows, if it can be."""
    stated = [s for s in subject.stated if s.formula != FALSE]
    if not subject.verb or not stated:
        return ()
    after = picture.formula(subject.condition)
    possible = picture.possible((), [after], failures)
    if possible.meets(picture.symbols.of(after), PATIENCE) is False:
        return ()
    return told(stated)


def _shown(view: View, kept: Sequence[Found], subject: Subject) -> tuple[Combination, ...]:
    stated = [(Statement(s.name, s.text, s.source), view.of(s.formula)) for s in subject.stated]
    told: list[Combination] = []
    first: dict[Node, tuple[Item, ...]] = {}
    for found in kept:
        way = _combination(view, found, stated)
        alone = not (found.bare or found.besides)
        same = first.setdefault(found.where, way.items) if alone else way.items
        told.append(replace(way, same_as=same) if same != way.items else way)
    return merge(view.picture.book, told)


def _combination(view: View, found: Found, stated: Sequence[tuple[Statement, Node]]) -> Combination:
    each = [_met(view, one.where, stated) for one in found.all]
    met, together = each[-1]
    if any(other != each[0] for other in each):
        known = {statement for several, _ in each for statement in several}
        met, together = tuple(s for s, _ in stated if s in known), len(known) > 1
    return Combination(
        items=tuple(view.item(n, found.told[n]) for n in view.in_order(found.told)),
        stated=met,
        together=together,
        failure=is_by_failure(view, found.told),
        bare=found.bare,
        inferred=found.inferred,
        not_failed=tuple({tuple(left_out(view, [one.rest])): None for one in found.all}),
    )


def _met(
    view: View, where: Node, stated: Sequence[tuple[Statement, Node]]
) -> tuple[tuple[Statement, ...], bool]:
    """The statements that hold wherever it is so; or those that do so together, and that."""
    none = view.space.false
    met = tuple(statement for statement, node in stated if where & ~node == none)
    together = () if met else _jointly(view, where, stated)
    return met or together, bool(together)


def told(several: Iterable[Stated]) -> tuple[Statement, ...]:
    """What the book states, as an answer has it."""
    return tuple(Statement(one.name, one.text, one.source) for one in several)


def _jointly(
    view: View, where: Node, stated: Sequence[tuple[Statement, Node]]
) -> tuple[Statement, ...]:
    """The statements that together cover a way which no single one covers; none if they do not."""
    space = view.space
    parts = [(s, node) for s, node in stated if where & node != space.false]
    if where & ~space.any_of(node for _, node in parts) != space.false:
        return ()
    for statement, _ in list(parts):
        others = [(s, node) for s, node in parts if s is not statement]
        if where & ~space.any_of(node for _, node in others) == space.false:
            parts = others
    return tuple(s for s, _ in parts)
