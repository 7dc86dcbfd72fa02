"""Checking a book beyond its text: what its logic shows to be wrong or idle, on any aeroplane."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from tellback.book.effectivity import aeroplanes, find_aeroplane, for_aeroplane
from tellback.book.gaps import gaps
from tellback.book.model import Book
from tellback.diagnostics import Diagnostic, Place, in_order
from tellback.logic.checks.audit import ways_that_disagree
from tellback.logic.checks.circles import feeders_in_a_circle, undecided_value
from tellback.logic.checks.contradictions import impossible_that_comes_about
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground
from tellback.logic.checks.mentions import thing_mentioned_nowhere
from tellback.logic.checks.never import (
    drive_never_acting,
    drops_that_contradict,
    feed_never_delivering,
    indication_never_shown,
    latch_never_set,
    row_never_reached,
    unit_never_running,
    way_covered_by_another,
    way_never_met,
)
from tellback.logic.checks.positions import position_without_effect
from tellback.logic.checks.procedures import (
    procedure_never_called_for,
    procedure_that_does_not_secure,
    procedure_to_the_impossible,
    procedure_without_end,
    step_never_so,
    step_that_cannot_be_made,
    step_without_effect,
)
from tellback.logic.checks.promises import claim_not_proved
from tellback.logic.checks.rest import never_at_rest
from tellback.logic.checks.restless import never_settled
from tellback.logic.checks.sourced import statement_without_source
from tellback.logic.checks.starting import (
    starting_state_impossible,
    starting_state_unsettled,
    starting_state_with_unknown_setting,
)
from tellback.logic.limits import OutOfReach, within
from tellback.logic.words import listed

Check = Callable[[Ground], Iterable[Found]]

CHECK_SECONDS = 120.0
"""The processor time that one check of one aeroplane may take."""

TEXT_CHECKS: tuple[Check, ...] = (
    statement_without_source,
    thing_mentioned_nowhere,
    starting_state_with_unknown_setting,
    starting_state_unsettled,
    starting_state_impossible,
)
"""Checks that need no possible state."""

LOGIC_CHECKS: tuple[Check, ...] = (
    undecided_value,
    feeders_in_a_circle,
    never_at_rest,
    never_settled,
    impossible_that_comes_about,
    unit_never_running,
    indication_never_shown,
    latch_never_set,
    way_never_met,
    way_covered_by_another,
    row_never_reached,
    drive_never_acting,
    feed_never_delivering,
    drops_that_contradict,
)
"""Checks of what the book states, over the possible states."""

TAUGHT_CHECKS: tuple[Check, ...] = (
    position_without_effect,
    claim_not_proved,
    ways_that_disagree,
)
"""Checks of what is taught and answered, over the possible states."""

PROCEDURE_CHECKS: tuple[Check, ...] = (
    procedure_never_called_for,
    procedure_that_does_not_secure,
    procedure_without_end,
    procedure_to_the_impossible,
    step_that_cannot_be_made,
    step_never_so,
    step_without_effect,
)
"""Checks of the procedures, in runs."""

STATE_CHECKS = (*LOGIC_CHECKS, *TAUGHT_CHECKS, *PROCEDURE_CHECKS)
"""Checks over the possible states; left out where no starting state can be."""


@dataclass(frozen=True, slots=True)
class Part:
    """Some of the checks of all aeroplanes: what can be worked out by itself."""

    books: tuple[Book, ...]
    checks: tuple[Check, ...]


PartFound = tuple[list[Found], ...]
"""What is found on each aeroplane of a part."""

Spread = Callable[[Callable[[Part], PartFound], Sequence[Part]], Iterable[PartFound]]
"""How the parts of a check are gone through, in order: `map`, or that of several processes."""


def check(
    book: Book,
    aeroplane: str | None = None,
    spread: Spread = map,
    more: Sequence[tuple[Check, ...]] = (),
) -> tuple[Diagnostic, ...]:
    """What the logic of a book shows to be wrong (errors) or worth a look (findings).

    For every aeroplane of the fleet, or one; what is found on all of them is told once, anything
    else names the aeroplanes. What could be neither proved nor shown by a run says so. `more` are
    checks of what stands on the logic. Raises UnknownAeroplane.
    """
    one = aeroplane if aeroplane is not None else book.aeroplane
    fleet = (one,) if one else aeroplanes(book)
    books = tuple(for_aeroplane(book, name) for name in fleet)
    parts = [
        Part(books, checks)
        for checks in ((*TEXT_CHECKS, *LOGIC_CHECKS), TAUGHT_CHECKS, PROCEDURE_CHECKS, *more)
    ]
    found: dict[Found, dict[str, None]] = {}
    for part, of_part in zip(parts, spread(found_in, parts), strict=True):
        for one_book, of_book in zip(part.books, of_part, strict=True):
            for each in of_book:
                found.setdefault(each, {})[one_book.aeroplane] = None
    lines = _Lines(book.folder)
    told = [_diagnostic(each, list(names), len(fleet), lines) for each, names in found.items()]
    return in_order([*told, *(gaps(book) if not one else ())])


def found_in(part: Part) -> PartFound:
    """What one part of a check finds."""
    return tuple(
        list(dict.fromkeys(_found_in(ground, part.checks))) for ground in _grounds(part.books)
    )


@lru_cache(maxsize=1)
def _grounds(books: tuple[Book, ...]) -> tuple[Ground, ...]:
    """The aeroplanes, each with what is known of the first of its variant, or else of them all."""
    grounds: list[Ground] = []
    firsts: dict[str, Ground] = {}
    for book in books:
        variant = find_aeroplane(book, book.aeroplane).variant
        like = firsts.get(variant) or next(iter(grounds), None)
        grounds.append(Ground(book, like if like and like.has_start else None))
        firsts.setdefault(variant, grounds[-1])
    return tuple(grounds)


def _found_in(ground: Ground, checks: Iterable[Check]) -> Iterator[Found]:
    for one in checks:
        if one in STATE_CHECKS and not ground.has_start:
            continue
        try:
            with within(CHECK_SECONDS, "it"):
                found = list(one(ground))
            yield from found
        except OutOfReach as reason:
            first = ground.book.chapters
            place = first[0].place if first else Place("type.yaml", 1, 1)
            name = one.__name__.replace("_", " ")
            message = f"the check for “{name}” was given up: {reason.message}"
            yield finding("not-decided", place, message)


def _diagnostic(found: Found, names: list[str], fleet: int, lines: _Lines) -> Diagnostic:
    where = f" (on {listed(names)})" if len(names) < fleet else ""
    line = lines.at(found.place)
    rest = line[found.place.column - 1 :]
    marked = found.marked if rest.startswith(found.marked) else rest.partition(":")[0]
    return Diagnostic(
        found.kind, found.code, found.place, found.message + where, found.mend, line,
        max(1, len(marked)),
    )  # fmt: skip


class _Lines:
    """The lines of a book's files, as far as they can still be read."""

    def __init__(self, folder: str) -> None:
        self._folder = Path(folder)
        self._files: dict[str, list[str]] = {}

    def at(self, place: Place) -> str:
        """The line of a place; empty if its file is not there."""
        if place.file not in self._files:
            try:
                text = (self._folder / place.file).read_text(encoding="utf-8")
            except (OSError, UnicodeDecodeError):
                text = ""
            self._files[place.file] = text.splitlines()
        lines = self._files[place.file]
        return lines[place.line - 1] if 0 < place.line <= len(lines) else ""
