"""The limits of an aeroplane, as the book states them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from tellback.book.effectivity import for_aeroplane
from tellback.book.limits import bound_text
from tellback.book.model import Book, Limit, Why


@dataclass(frozen=True, slots=True)
class LimitTold:
    """One limit: `bound` is what is allowed in words, `low` and `high` its ends in `unit`.

    An end is None where there is none; both alike are the value at which something happens.
    `when` is the condition under which it holds, in the words of the book, `case` the case it is
    for; empty if it always holds.
    """

    name: str
    of: tuple[str, ...]
    bound: str
    low: float | None
    high: float | None
    unit: str
    when: str
    case: str
    from_memory: bool
    note: str
    source: str
    whys: tuple[Why, ...]


@dataclass(frozen=True, slots=True)
class LimitGroup:
    """The limits under one title."""

    title: str
    limits: tuple[LimitTold, ...]


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits of an aeroplane by title, all of them or those to know by heart."""

    aeroplane: str
    only_from_memory: bool
    groups: tuple[LimitGroup, ...]

    def __str__(self) -> str:
        return "\n".join(_text(self))


def limits(book: Book, *, aeroplane: str = "", from_memory: bool = False) -> Limits:
    """The limits that the book states for an aeroplane, in the order of its files.

    `from_memory` keeps to those that one must know by heart. Raises UnknownAeroplane.
    """
    part = for_aeroplane(book, aeroplane)
    kept = [limit for limit in part.limits if limit.from_memory or not from_memory]
    groups = groupby(kept, lambda limit: limit.title)
    told = tuple(LimitGroup(title, tuple(map(_told, several))) for title, several in groups)
    return Limits(part.aeroplane, from_memory, told)


def _told(limit: Limit) -> LimitTold:
    return LimitTold(
        limit.name,
        limit.of,
        bound_text(limit),
        limit.low,
        limit.high,
        limit.unit,
        limit.when.text if limit.when else "",
        limit.case,
        limit.from_memory,
        limit.note,
        limit.source,
        limit.whys,
    )


def _text(answer: Limits) -> Iterator[str]:
    which = " to know from memory" if answer.only_from_memory else ""
    if not answer.groups:
        yield f"The book states no limits{which} for {answer.aeroplane}."
        return
    yield f"Limits of {answer.aeroplane}{which}:"
    for group in answer.groups:
        yield from ("", group.title)
        names = max(len(limit.name) for limit in group.limits)
        bounds = max(len(limit.bound) for limit in group.limits)
        for limit in group.limits:
            yield f"  {limit.name:{names}}  {limit.bound:{bounds}}  {_rest(limit, answer)}".rstrip()


def _rest(limit: LimitTold, answer: Limits) -> str:
    """When it holds, whether it is to be known by heart, and where it stands."""
    parts = [f"when {limit.when}"] * bool(limit.when) + [limit.case] * bool(limit.case)
    parts += ["from memory"] * (limit.from_memory and not answer.only_from_memory)
    parts += [limit.note.rstrip(".")] * bool(limit.note)
    source = f"[{limit.source}]" if limit.source else ""
    return "  ".join(filter(None, ["; ".join(parts), source]))
