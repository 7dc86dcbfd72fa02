"""Fits: what would explain what is seen? And what to look at to tell the explanations apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

from tellback.book.english import failures_text
from tellback.book.model import Book, Indication, Surface
from tellback.logic.facts import Facts
from tellback.logic.failures import Failure, Failures, left_out, settles
from tellback.logic.formula import conj, neg
from tellback.logic.minimal import FailureSet
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.run import Moment
from tellback.logic.scene import scene
from tellback.logic.words import listed

LISTED = 60
"""The most explanations that an answer lists; it always counts them all."""


@dataclass(frozen=True, slots=True)
class Look:
    """A further look: what to look at, and what each explanation (by number) would show there."""

    thing: str
    shows: tuple[tuple[str, tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True)
class Fits:
    """The minimal sets of failures after which, settled, everything is as seen.

    `counts` gives their number by size up to `order` (None: complete). Every listed set was run
    in time and fitted; `disputed` counts those that did not, `restless` those left out because the
    aeroplane does not come to rest after them.
    """

    seen: tuple[str, ...]
    aeroplane: str
    start: str
    already: bool
    sets: tuple[tuple[Failure, ...], ...]
    counts: tuple[tuple[int, int], ...]
    order: int | None
    disputed: int
    restless: int
    looks: tuple[Look, ...]

    def __str__(self) -> str:
        return "\n".join(_text(self))


def fits(
    book: Book,
    seen: Sequence[str],
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
    order: int | None = 2,
) -> Fits:
    """Every minimal set of at most `order` failures that explains what is seen, from a scene."""
    conditions = [understand(book, text, aeroplane) for text in seen]
    picture = picture_of(book, aeroplane, *conditions)
    where = scene(picture, start, changes)
    formula = conj(picture.formula(condition) for condition in conditions)
    found = Failures(picture, where.moment, about=formula)
    sought = found.ending(neg(formula), order)
    fitting: list[tuple[FailureSet, Moment]] = []
    disputed = 0
    for chosen in islice(sought.sets, LISTED):
        after = settles(found, chosen)
        if after is not None and picture.aeroplane.holds(formula, after.state):
            fitting.append((chosen, after))
        else:
            disputed += 1
    return Fits(
        seen=tuple(picture.phrase(condition) for condition in conditions),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        already=picture.aeroplane.holds(formula, where.moment.state),
        sets=tuple(found.said(chosen) for chosen, _ in fitting),
        counts=sought.counts,
        order=sought.order,
        disputed=disputed,
        restless=sought.restless,
        looks=tuple(_looks(picture, [after for _, after in fitting])),
    )


def _looks(picture: Picture, ends: Sequence[Moment]) -> list[Look]:
    """The three things to look at that leave the fewest explanations together."""
    if len(ends) < 2:
        return []
    facts = Facts(picture)
    states = [facts.at(moment) for moment in ends]
    ranked: list[tuple[int, Look]] = []
    for thing in picture.book.things:
        if isinstance(thing, Indication | Surface) or thing.name in facts.gauges:
            words = [state[thing.name] for state in states]
            classes = Counter(words)
            if len(classes) > 1:
                shows = tuple(
                    (word, tuple(i for i, w in enumerate(words, 1) if w == word))
                    for word in classes
                )
                ranked.append((sum(n * n for n in classes.values()), Look(thing.name, shows)))
    best = [look for _, look in sorted(ranked, key=lambda r: r[0])]
    return _most_unlike(best)[:3]


def _most_unlike(looks: Sequence[Look]) -> list[Look]:
    """Those first that part the explanations in a way that none before them does."""
    new: list[Look] = []
    again: list[Look] = []
    parted = set()
    for look in looks:
        groups = frozenset(which for _, which in look.shows)
        (again if groups in parted else new).append(look)
        parted.add(groups)
    return [*new, *again]


def _text(answer: Fits) -> list[str]:
    seen = listed(answer.seen)
    if answer.already:
        return [f"{seen} ({answer.start}): so with nothing failed."]
    if not answer.sets and not answer.disputed:
        limit = f" with {failures_text(answer.order)}" if answer.order is not None else ""
        head = f"{seen} ({answer.start}): nothing{limit} explains it."
        return [head, *left_out(answer.restless)]
    lines = [f"{seen} ({answer.start}) would be explained by:"]
    for i, chosen in enumerate(answer.sets, 1):
        lines.append(f"{i:>3}. {listed(f.text for f in chosen)}")
    total = sum(n for _, n in answer.counts)
    if total > len(answer.sets) + answer.disputed:
        lines.append(f"     ... {total - len(answer.sets) - answer.disputed} more")
    if answer.order is not None:
        lines.append(f"  Sought with {failures_text(answer.order)}.")
    for look in answer.looks:
        lines.append(f"  To tell them apart look at {look.thing}: {_shows(look)}.")
    if answer.disputed:
        lines.append(f"  Not decided for {answer.disputed} sets: their run in time ends otherwise.")
    return [*lines, *left_out(answer.restless)]


def _shows(look: Look) -> str:
    return "; ".join(f"{word} with {listed(_spans(which))}" for word, which in look.shows)


def _spans(numbers: Sequence[int]) -> list[str]:
    """Numbers in words, three or more in a row as `4 to 9`."""
    rows: list[list[int]] = []
    for n in numbers:
        if rows and n == rows[-1][-1] + 1:
            rows[-1].append(n)
        else:
            rows.append([n])
    return [
        word
        for row in rows
        for word in ([f"{row[0]} to {row[-1]}"] if len(row) > 2 else map(str, row))
    ]
