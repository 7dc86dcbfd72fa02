"""How a run reads: a line for each event with its time, what changes under it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from tellback.logic.answers.together import said_together
from tellback.logic.facts import Change
from tellback.motion.times import clock
from tellback.motion.trace import broken_off

if TYPE_CHECKING:
    from tellback.motion.run import Line, Run

TIME = 13
"""The width of the column of times."""


def lines_of(answer: Run) -> Iterator[str]:
    """The lines of the answer."""
    source = f"  [{answer.source}]" if answer.source else ""
    yield f"{answer.scenario}, on {answer.aeroplane} ({answer.start}):{source}"
    last = ""
    for line in answer.lines:
        time = clock(line.seconds)
        yield from line_text(line, time if time != last else "")
        last = time
    yield f"  It ends at {clock(answer.ends)}."
    yield from (f"  {line}" for line in broken_off(answer.unrest))
    yield from (f"  Never came: {text}." for text in answer.waiting)
    for verdict in answer.verdicts:
        yield f"  {'As expected' if verdict.met else 'NOT as expected'}: {verdict.text}" + (
            "" if verdict.met else f" ({verdict.found})"
        )


def line_text(line: Line, time: str, mark: str = "") -> Iterator[str]:
    """A line of the time line, and what changes; `mark` stands before both."""
    lead = f"  {time:>{TIME}}  {mark}"
    blank = " " * (TIME + 4) + mark
    if line.text:
        yield f"{lead}{_event(line)}"
        lead = f"{blank}   "
    if line.changes:
        yield from _changes(line.changes, lead, f"{blank}   " if line.text else blank)


def _event(line: Line) -> str:
    number = f"{line.number}. " if line.number else ""
    came = f": {line.outcome}" if line.outcome else ""
    return f"{number}{line.text}{came}"


def _changes(changes: Sequence[Change], lead: str, blank: str) -> Iterator[str]:
    for told in said_together(changes).split("; "):
        yield f"{lead}{told}"
        lead = blank
