"""Run: a scenario as it comes to pass, on a time line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import takewhile

from tellback.book.conditions import Condition
from tellback.book.model import Book, Reading
from tellback.book.scenario import Scenario
from tellback.logic.by_name import by_name
from tellback.logic.facts import Change, Facts
from tellback.logic.picture import Picture
from tellback.logic.words import measured
from tellback.motion.expected import Verdict, verdicts
from tellback.motion.line_text import lines_of
from tellback.motion.runner import picture_for, run_of
from tellback.motion.trace import IMPOSSIBLE, PASSES, RETURNS, STEP, Event, Frame, unrest_text
from tellback.refusals import Refusal

TOLD = (STEP, PASSES, RETURNS)
"""The sorts of events that are told themselves; of others, only what changes with them."""


class UnknownScenario(Refusal, ValueError):
    """The book has no scenario of that name; `mend` tells which could be meant."""


@dataclass(frozen=True, slots=True)
class Line:
    """One event on the time line, and all that changes with it at once.

    `kind`, `number`, `text` and `outcome` are those of `tellback.motion.trace.Event`. What begins
    otherwise in `what-if` is a line, too.
    """

    seconds: float
    kind: str
    number: str
    text: str
    outcome: str
    source: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """A scenario run on an aeroplane: every event that does something, in order of time.

    `waiting` are the steps that never came, `unrest` what keeps changing without end, if anything
    does, and `verdicts` whether what is expected came to pass.
    """

    scenario: str
    aeroplane: str
    start: str
    source: str
    ends: float
    lines: tuple[Line, ...]
    waiting: tuple[str, ...]
    unrest: str
    verdicts: tuple[Verdict, ...]

    def __str__(self) -> str:
        return "\n".join(lines_of(self))


def run(book: Book, scenario: str, *, aeroplane: str = "") -> Run:
    """The scenario of that name, run. Raises UnknownScenario."""
    picture, meant = prepared(book, scenario, aeroplane)
    trace = run_of(picture, meant, meant.happenings)
    return Run(
        scenario=meant.name,
        aeroplane=picture.book.aeroplane,
        start=", with ".join(part for part in (meant.start, _changes(picture, meant)) if part),
        source=meant.source,
        ends=trace.ends,
        lines=tuple(lines_from(picture, trace.frames)),
        waiting=trace.waiting,
        unrest=unrest_text(trace),
        verdicts=verdicts(picture, meant, trace),
    )


def _changes(picture: Picture, scenario: Scenario) -> str:
    """What is otherwise than in the starting state: `gear lever: UP, height: 2500 ft`."""
    units = {thing.name: thing.unit for thing in picture.book.things if isinstance(thing, Reading)}
    return ", ".join(
        f"{thing}: {_in_unit(state, units[thing]) if thing in units else state}"
        for thing, state in scenario.changes
    )


def _in_unit(state: str, unit: str) -> str:
    """What a reading is put to, `2500` or `reads 0`, with its unit."""
    reads, _, number = state.rpartition(" ")
    return f"{reads} {measured(float(number), unit)}".lstrip()


def prepared(
    book: Book, name: str, aeroplane: str, *questions: Condition
) -> tuple[Picture, Scenario]:
    """The scenario of that name as the aeroplane has it, and the picture to run it on.

    The questions can be asked there too.
    """
    found = by_name(book.scenarios, name, "scenario", UnknownScenario)
    picture = picture_for(book, found, aeroplane, *questions)
    meant = next((s for s in picture.book.scenarios if s.name == found.name), None)
    if meant is None:
        raise UnknownScenario(
            f"{picture.book.aeroplane} has no “{found.name}”",
            f"It applies to {found.applies.text}: run it on such an aeroplane.",
        )
    return picture, meant


def lines_from(
    picture: Picture, frames: Sequence[Frame], facts: Facts | None = None
) -> Iterator[Line]:
    """A line for every event that is a step, or with which something else changes.

    What happens by itself at one time is told in one line, and of what goes to and fro then only
    where it ends. That a surface is on its way is told only where something changes with it, or
    where it stops there. Of what the book states impossible only that it comes is told. `facts`
    are those of the picture, if they are at hand.
    """
    facts = facts or Facts(picture)
    outside = outside_readings(picture.book)
    last = 0
    for group in _together(frames):
        last += len(group) - 1
        event = group[-1].event
        assert event is not None
        moved = outside | set(event.things)
        changes = tuple(facts.changes([group[0].moment, group[-1].moment], moved))
        if event.outcome == IMPOSSIBLE:
            changes = ()
        by_itself = event.kind != STEP and event.outcome != IMPOSSIBLE
        if not (by_itself and all(_goes_by(change, frames[last:]) for change in changes)):
            text = event.text if _is_told(event) else ""
            yield Line(
                group[-1].time, event.kind, event.number, text, event.outcome, event.source, changes
            )


def outside_readings(book: Book) -> set[str]:
    """The readings that come from outside: they are where a scenario puts them."""
    return {t.name for t in book.things if isinstance(t, Reading) and t.is_outside}


def _goes_by(change: Change, frames: Sequence[Frame]) -> bool:
    """Whether the change is a surface on its way, and it goes on from there without a stop."""
    if not change.after.startswith("in transit"):
        return False
    first = frames[0].moment.state[change.thing]
    staying = takewhile(lambda frame: frame.moment.state[change.thing] == first, frames)
    return all(change.thing in frame.moment.under_way for frame in staying)


def _together(frames: Sequence[Frame]) -> Iterator[list[Frame]]:
    """Frames in groups, each from the one before a group's first event to that of its last.

    A step is a group by itself; what else comes at one time is one.
    """
    group = [frames[0]]
    for frame in frames[1:]:
        if len(group) > 1 and not _goes_with(group[-1], frame):
            yield group
            group = [group[-1]]
        group.append(frame)
    if len(group) > 1:
        yield group


def _goes_with(last: Frame, frame: Frame) -> bool:
    return frame.time == last.time and not (_is_told(last.event) or _is_told(frame.event))


def _is_told(event: Event | None) -> bool:
    return event is not None and (event.kind in TOLD or event.outcome == IMPOSSIBLE)
