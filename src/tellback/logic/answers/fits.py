"""Fits: what would explain what is seen? And what to look at to tell the explanations apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tellback.book.conditions import things
from tellback.book.model import Book
from tellback.logic.answers.fits_text import fits_text
from tellback.logic.answers.folds import Explained, Fold, folded
from tellback.logic.answers.looks import Look, Looking
from tellback.logic.explanations import Explaining, Explanation
from tellback.logic.formula import conj
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.merged import Changed, items_of, merged
from tellback.logic.picture import picture_of, understand
from tellback.logic.run import Moment
from tellback.logic.scene import scene, settings_of

TOGETHER = "together"

LISTED = 400
"""The most explanations that an answer lists; it always counts them all."""


@dataclass(frozen=True, slots=True)
class Fits:
    """The minimal sets of up to `order` things after which, settled, everything is as seen.

    The most ordinary come first; `folds` are the same, those that are alike as one. `counts` gives
    their number by size, each state by itself; `left` is how many are not listed, `restless` how
    many sets were left out because the aeroplane does not come to rest after them.
    """

    seen: tuple[str, ...]
    aeroplane: str
    start: str
    already: bool
    explained: tuple[Explained, ...]
    folds: tuple[Fold, ...]
    counts: tuple[tuple[int, int], ...]
    left: int
    order: int
    restless: int
    looks: tuple[Look, ...]

    def __str__(self) -> str:
        return "\n".join(fits_text(self))


@within(ANSWER_SECONDS, "finding what would explain it")
def fits(
    book: Book,
    seen: Sequence[str],
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
    order: int | None = None,
) -> Fits:
    """Every minimal set of at most `order` things that explains what is seen, from a scene.

    Without an order single things are sought, and two together only where no single one explains
    it.
    """
    conditions = [understand(book, text, aeroplane) for text in seen]
    picture = picture_of(book, aeroplane, *conditions)
    where = scene(picture, start, changes)
    formula = conj(picture.formula(condition) for condition in conditions)
    already = picture.aeroplane.holds(formula, where.moment.state)
    last_move = settings_of(picture, changes)
    explaining = Explaining(picture, where.path[0], last_move, where.moment)
    found = explaining.of(formula, order) if not already else explaining.none()
    asked = {name for condition in conditions for name in things(condition)}
    looking = Looking(picture, {picture.book.thing(name).chapter for name in asked})
    listed = found.sets[:LISTED]
    all_ends = explaining.ends(formula, listed)
    single = [
        Changed.of(one.changes, _same(explaining, looking, one, end))
        for one, end in zip(listed, all_ends, strict=True)
    ]
    alike = merged(picture, single)
    ends = [
        [end for end, one in zip(all_ends, single, strict=True) if _is_of(one, several)]
        for several in alike
    ]
    several = [
        Explained(one.outcome.kind, items_of(picture, one.changes), one.outcome.before)
        for one in alike
    ]
    folds, places = folded(several)
    return Fits(
        seen=tuple(picture.phrase(condition) for condition in conditions),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        already=already,
        explained=tuple(several[place] for place in places),
        folds=tuple(folds),
        counts=tuple(sorted(Counter(len(one.changes) for one in found.sets).items())),
        left=len(found.sets) - len(listed),
        order=found.order,
        restless=found.restless,
        looks=tuple(looking.looks([ends[place] for place in places])),
    )


class _Same(NamedTuple):
    """What explanations told as one have in common: all that is seen, above all."""

    kind: str
    before: bool
    seen: tuple[str, ...]


def _same(explaining: Explaining, looking: Looking, one: Explanation, end: Moment) -> _Same:
    kind = explaining.kind(one.changes[0]) if len(one.changes) == 1 else TOGETHER
    return _Same(kind, one.before, tuple(looking.seen(end).values()))


def _is_of(one: Changed[_Same], several: Changed[_Same]) -> bool:
    """Whether an explanation is one of those that are told as one."""
    return (
        one.outcome == several.outcome
        and one.changes.keys() == several.changes.keys()
        and all(values <= several.changes[name] for name, values in one.changes.items())
    )
