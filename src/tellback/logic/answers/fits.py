"""Fits: what would explain what is seen? And what to look at to tell the explanations apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from tellback.book.english import failures_text
from tellback.book.model import Book, Indication, Surface
from tellback.logic.facts import Facts
from tellback.logic.failures import Failure, Failures, left_out, settles
from tellback.logic.formula import conj, neg
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.minimal import FailureSet
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.run import Moment
from tellback.logic.scene import scene
from tellback.logic.words import listed, spans

LISTED = 60
"""The most explanations that an answer lists; it always counts them all."""

MOST_LOOKS = 3


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


@within(ANSWER_SECONDS, "finding what would explain it")
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
    """Up to three things to look at, one after the other, each the one that parts most then."""
    facts = Facts(picture)
    states = [facts.at(moment) for moment in ends]
    words = {
        thing.name: [state[thing.name] for state in states]
        for thing in picture.book.things
        if isinstance(thing, Indication | Surface) or thing.name in facts.gauges
    }
    found: list[Look] = []
    parted: list[tuple[str, ...]] = [() for _ in ends]
    while len(found) < MOST_LOOKS and words:
        best = min(words, key=lambda name: _together(_parted(parted, words[name])))
        more = _parted(parted, words[best])
        if _together(more) == _together(parted):
            break
        parted = more
        found.append(Look(best, _groups(words[best])))
    return found


def _parted(before: Sequence[tuple[str, ...]], words: Sequence[str]) -> list[tuple[str, ...]]:
    return [(*seen, word) for seen, word in zip(before, words, strict=True)]


def _together(parted: Iterable[tuple[str, ...]]) -> int:
    """How many pairs are not told apart; each counts both ways."""
    return sum(n * n for n in Counter(parted).values())


def _groups(words: Sequence[str]) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Each word with the numbers of the explanations that it goes with."""
    return tuple(
        (word, tuple(i for i, other in enumerate(words, 1) if other == word))
        for word in dict.fromkeys(words)
    )


def _text(answer: Fits) -> list[str]:
    seen = listed(answer.seen)
    if answer.already:
        return [f"{seen} ({answer.start}): so with nothing failed."]
    if not answer.sets and not answer.disputed:
        limit = f" with {failures_text(answer.order)}" if answer.order is not None else ""
        head = f"{seen} ({answer.start}): nothing{limit} explains it."
        tried = (
            "  Only failures were tried, all else as it stands. `ways` tells what else there is."
        )
        return [head, tried, *left_out(answer.restless)]
    lines = [f"{seen} ({answer.start}) would be explained by:"]
    for i, chosen in enumerate(answer.sets, 1):
        lines.append(f"{i:>3}. {listed(f.text for f in chosen)}")
    total = sum(n for _, n in answer.counts)
    if total > len(answer.sets) + answer.disputed:
        lines.append(f"     ... {total - len(answer.sets) - answer.disputed} more")
    if answer.order is not None:
        lines.append(f"  Sought with {failures_text(answer.order)}.")
    for first, look in enumerate(answer.looks):
        lead = "Then look at" if first else "To tell them apart look at"
        lines.append(f"  {lead} {look.thing}: {_shows(look)}.")
    if answer.disputed:
        lines.append(f"  Not decided for {answer.disputed} sets: their run in time ends otherwise.")
    return [*lines, *left_out(answer.restless)]


def _shows(look: Look) -> str:
    return "; ".join(f"{word} with {listed(spans(which))}" for word, which in look.shows)
