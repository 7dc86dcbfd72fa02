"""What is so where something that the book names is not: what its statements come to, denied."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tellback.book import conditions as c
from tellback.logic.answers.cubes import Case
from tellback.logic.answers.few_lines import BY_FAILURE, CAN_BE, FOLLOWS, OPEN, Way
from tellback.logic.said import ALL, EITHER, Said, joined
from tellback.logic.space import Node
from tellback.logic.subjects import Subject, Subjects
from tellback.logic.translate import failure_name
from tellback.logic.words import fault_text


@dataclass(frozen=True, slots=True)
class _Line:
    said: Said
    where: Node
    origin: str = FOLLOWS


def denied_lines(case: Case) -> tuple[Way, ...]:
    """The ways to what is not so by the statements of the book.

    A need that is not met, none of its ways, what inhibits it, its own failure. There are none if
    these are not proved to be just that.
    """
    asked = case.subject.condition
    if not isinstance(asked, c.Not):
        return ()
    named = Subjects(case.picture).of(asked.part)
    if not named.named or named.verb or named.edges or named.beaten:
        return ()
    if any(one.denial is None for one in (*named.needs, *named.stated)):
        return ()
    widest, none = case.found.widest & case.base, case.space.false
    lines = [line for line in _lines(case, named) if line.where & widest != none]
    ways = [_way(case, named, line, widest) for line in lines]
    rest = case.target & widest & ~case.space.any_of(line.where for line in lines)
    return tuple(way for way in ways if way) if all(ways) and rest == none else ()


def _lines(case: Case, named: Subject) -> Iterator[_Line]:
    view = case.view
    for need in named.needs:
        if need.denial:
            yield _Line(need.denial, ~view.of(need.formula))
    if named.stated:
        met = case.space.any_of(view.of(one.formula) for one in named.stated)
        yield _Line(_none_met(named), ~met)
    for off in named.inhibited:
        yield _Line(off.said, view.of(off.formula))
    if named.thing is None:
        return
    if named.cancelled:
        text = f"{named.thing.name} cancelled"
        yield _Line(Said(text), case.space.literal(text, (1,)))
    for number, mode in enumerate(named.thing.fails, 1):
        failed = case.space.literal(failure_name(named.thing.name), (number,))
        if failed & ~case.target == case.space.false:
            yield _Line(Said(fault_text(named.thing.name, mode)), failed, BY_FAILURE)


def _none_met(named: Subject) -> Said:
    """That none of the stated ways is met; what is said already is not left to choose again."""
    if named.through:
        return Said(f"not {named.through[-1].text}")
    whole = joined(ALL, [one.denial for one in named.stated if one.denial])
    parts = whole.parts if whole.joint == ALL else (whole,)
    return joined(ALL, [p for p in parts if not (p.joint == EITHER and set(p.parts) & set(parts))])


def _way(case: Case, named: Subject, line: _Line, widest: Node) -> Way | None:
    """A line as a way, if it is enough at least while the thing itself has not failed."""
    sound: tuple[str, ...] = ()
    wrong = line.where & widest & ~case.target
    if wrong != case.space.false and named.thing is not None and named.thing.fails:
        sound = (named.thing.name,)
        wrong = wrong & case.space.literal(failure_name(named.thing.name), (0,))
    if wrong != case.space.false:
        return None
    met = line.where & case.target & case.found.known != case.space.false
    status = CAN_BE if met else OPEN
    return Way("", line.said, "", "", line.origin, status, not_failed=(sound,))
