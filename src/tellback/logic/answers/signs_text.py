"""What failures show, as an instructor would say it: the crew's signs, then the rest, in time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from tellback.logic.answers.likewise import Line, likewise
from tellback.logic.answers.locks import Lock, lock_lines
from tellback.logic.answers.together import without_passing
from tellback.logic.facts import Change, changes_text, sameness
from tellback.logic.words import alike, listed

if TYPE_CHECKING:
    from tellback.logic.answers.signs import Signs


def signs_text(answer: Signs) -> Iterator[str]:
    """The lines of the answer."""
    head = f"{listed(f.text for f in answer.failures)} ({answer.start}):"
    if answer.changes or answer.locks or answer.impossible:
        yield head
        yield from told(answer.changes, "nothing", answer.locks)
        yield from [f"  {answer.impossible}."] if answer.impossible else []
    else:
        yield f"{head} nothing changes; no sign of it."


def told(changes: Sequence[Change], nothing: str, locks: Sequence[Lock] = ()) -> Iterator[str]:
    """What the crew is shown, or the word for `nothing`, and what comes besides, with the locks."""
    lasting = without_passing(changes)
    shown = [change for change in lasting if change.shown]
    yield from block("The crew is shown", shown) or [f"  The crew is shown {nothing}."]
    yield from block("Besides", [change for change in lasting if not change.shown], locks)


def block(title: str, changes: Sequence[Change], locks: Sequence[Lock] = ()) -> list[str]:
    """The changes and locks in order of time under a title; nothing if there are none."""
    lines = sorted([*change_lines(changes), *lock_lines(locks)], key=lambda line: line.seconds)
    return [f"  {title}:", *(f"    {line.text}" for line in lines)] if lines else []


def change_lines(changes: Sequence[Change]) -> Iterator[Line]:
    """The changes as lines, those alike together."""
    return likewise([line_of(group) for group in alike(changes, sameness)])


def line_of(group: Sequence[Change]) -> Line:
    """Changes that are alike as a line."""
    names = tuple(change.thing for change in group)
    return Line(group[0].seconds, names, group[0].through, changes_text(group))
