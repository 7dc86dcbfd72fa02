"""What would explain what is seen, as an instructor would say it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from tellback.logic.failures import left_out
from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.words import alike, either, listed, spans

if TYPE_CHECKING:
    from tellback.logic.answers.fits import Fits
    from tellback.logic.answers.folds import Fold
    from tellback.logic.answers.looks import Look

MOST_LINES = 40
"""So many lines of explanations are told; the JSON form has all of them."""

MOST_SPANS = 10
"""Of more explanations that are not in a row only the number is told; the JSON form has them."""


def fits_text(answer: Fits) -> Iterator[str]:
    """The lines of the answer."""
    seen = listed(answer.seen)
    if answer.already:
        yield f"{seen} ({answer.start}): so with nothing failed, and nothing otherwise."
        return
    sought = "one thing at a time" if answer.order == 1 else f"up to {answer.order} things together"
    if not answer.explained:
        yield f"{seen} ({answer.start}): nothing explains it."
    else:
        yield f"{seen} ({answer.start}) would be explained by:"
        for several in alike(answer.folds[:MOST_LINES], lambda fold: fold.kind):
            yield f"  {several[0].kind}:"
            yield from map(_line, several)
        left = answer.folds[MOST_LINES:]
        if left:
            yield f"    ... and {sum(len(fold.numbers) for fold in left)} more, rarer ones"
    if answer.left:
        yield f"    ... and {answer.left} that are not listed"
    yield f"  Sought with {sought}: failures, facts and readings from outside, controls."
    for first, look in enumerate(answer.looks):
        yield f"  {'Then' if first else 'To tell them apart'} {_look_text(look)}."
    yield from left_out(answer.restless)


def _line(fold: Fold) -> str:
    """Explanations that are told together: every choice with every choice."""
    number = ", ".join(spans(fold.numbers))
    one_each = all(len(choice) == 1 for choice in fold.choices)
    if one_each:
        told = listed(told_together(item for choice in fold.choices for item in choice))
    else:
        told = ", together with ".join(_choice(choice) for choice in fold.choices)
    return f"  {number:>3}. {told}{', before the last move' if fold.before else ''}"


def _choice(choice: Sequence[Item]) -> str:
    """Any of several; those that differ in their first word alone as one."""
    texts = [
        f"{either(text.partition(' ')[0] for text in several)} {rest}" if rest else several[0]
        for several in alike([item.text for item in choice], lambda text: text.partition(" ")[2])
        for rest in [several[0].partition(" ")[2]]
    ]
    return texts[0] if len(texts) == 1 else f"any of ({'; '.join(texts)})"


def _look_text(look: Look) -> str:
    shows = "; ".join(f"{word} with {_which(which)}" for word, which in look.shows)
    if look.after:
        return f"put {look.after.replace(' at ', ' to ', 1)}, and back: {look.thing} {shows}"
    return f"look at {look.thing}: {shows}"


def _which(numbers: Sequence[int]) -> str:
    """Which explanations; of very many only how many."""
    told = spans(numbers)
    return listed(told) if len(told) <= MOST_SPANS else f"{len(numbers)} of them"
