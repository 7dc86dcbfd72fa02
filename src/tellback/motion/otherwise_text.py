"""How a scenario reads beside itself with one thing otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from tellback.motion.line_text import line_text
from tellback.motion.times import clock
from tellback.motion.trace import broken_off

if TYPE_CHECKING:
    from tellback.motion.what_if import WhatIf

MARKS = {"both": "  ", "as written": "- ", "otherwise": "+ "}


def lines_of(answer: WhatIf) -> Iterator[str]:
    """The lines of the answer."""
    yield f"{answer.scenario}, {answer.otherwise} (on {answer.aeroplane}):"
    yield f"  - is so only as the scenario is written, + only {answer.otherwise}."
    last = ""
    for beside in answer.lines:
        time = clock(beside.line.seconds)
        yield from line_text(beside.line, time if time != last else "", MARKS[beside.where])
        last = time
    if all(beside.where == "both" for beside in answer.lines):
        yield "  Nothing comes otherwise."
    ends = [f"It ends at {clock(seconds)}." for seconds in answer.ends]
    alike = ends[0] == ends[1]
    if alike:
        yield f"  {MARKS['both']}{ends[0]}"
    for mark, end, waiting, unrest in zip(
        ("-", "+"), ends, answer.waiting, answer.unrest, strict=True
    ):
        yield from _end(mark, "" if alike else end, waiting, unrest)


def _end(mark: str, end: str, waiting: tuple[str, ...], unrest: str) -> Iterator[str]:
    if end:
        yield f"  {mark} {end}"
    yield from (f"  {mark} {line}" for line in broken_off(unrest))
    yield from (f"  {mark} Never came: {text}." for text in waiting)
