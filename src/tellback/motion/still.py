"""Still: over a scenario, when is something so; what began and what ended it each time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tellback.book.conditions import things
from tellback.book.model import Book
from tellback.logic.facts import Facts
from tellback.logic.picture import understand
from tellback.logic.words import listed
from tellback.motion.expected import span_text
from tellback.motion.intervals import Seen
from tellback.motion.run import prepared
from tellback.motion.runner import run_of
from tellback.motion.trace import ELAPSES, Event, Frame, broken_off, unrest_text


@dataclass(frozen=True, slots=True)
class Interval:
    """A span in which it is so: seconds from the beginning, None where it is open.

    `begun` and `ended` tell what brought it and what ended it; empty where it is open.
    """

    begins: float | None
    ends: float | None
    text: str
    begun: str
    ended: str


@dataclass(frozen=True, slots=True)
class Still:
    """When something is so over a scenario; `unrest` says what broke it off, if anything did."""

    question: str
    scenario: str
    aeroplane: str
    ends: float
    intervals: tuple[Interval, ...]
    unrest: str = ""

    def __str__(self) -> str:
        return "\n".join(_lines(self))


def still(book: Book, scenario: str, question: str, *, aeroplane: str = "") -> Still:
    """Every span of the scenario in which the question is so."""
    condition = understand(book, question, aeroplane)
    picture, meant = prepared(book, scenario, aeroplane, condition)
    trace = run_of(picture, meant, meant.happenings)
    why = _Why(Facts(picture), trace.frames, set(things(condition)))
    return Still(
        question=picture.phrase(condition),
        scenario=meant.name,
        aeroplane=picture.book.aeroplane,
        ends=trace.ends,
        intervals=tuple(
            Interval(s.begins, s.ends, span_text(s), why.of(s.begun), why.of(s.ended))
            for s in Seen(picture, trace).spans(picture.formula(condition))
        ),
        unrest=unrest_text(trace),
    )


@dataclass(frozen=True, slots=True)
class _Why:
    """Tells what made a frame, and through what it came to what is asked."""

    facts: Facts
    frames: tuple[Frame, ...]
    asked: set[str]

    def of(self, frame: Frame | None) -> str:
        """The event of a frame in words, with what it came through."""
        if frame is None or frame.event is None:
            return ""
        event = frame.event
        told = f"step {event.number}, {event.text}" if event.number else event.text
        if event.kind == ELAPSES:
            told = f"as {event.text}"
        through = self._through(frame, event)
        return f"{told} (through {through})" if through else told

    def _through(self, frame: Frame, event: Event) -> str:
        """What changed with the event on which the things asked about depend, less the event."""
        before = self.frames[self.frames.index(frame) - 1]
        changes = self.facts.changes([before.moment, frame.moment])
        states = {change.thing: change.text for change in reversed(changes)}
        causes = dict.fromkeys(
            cause for change in changes if change.thing in self.asked for cause in change.through
        )
        told = [states[c] for c in causes if c in states and c not in event.things]
        return listed(state for state in told if state != event.text)


def _lines(answer: Still) -> Iterator[str]:
    yield f"{answer.question}, over {answer.scenario} (on {answer.aeroplane}):"
    if not answer.intervals:
        yield "  never so."
    for interval in answer.intervals:
        yield f"  {interval.text}"
        if interval.begun:
            yield f"    began: {interval.begun}"
        if interval.ended:
            yield f"    ended: {interval.ended}"
    yield from (f"  {line}" for line in broken_off(answer.unrest))
