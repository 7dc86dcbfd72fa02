"""What a run of a scenario leaves behind: a frame for everything that happened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tellback.logic.procedure import MADE
from tellback.logic.run import Moment

STEP = "step"
ELAPSES = "elapses"
ARRIVES = "arrives"
PASSES = "passes"
RETURNS = "returns"
BEGINS = "begins"

BARRED = "a lock forbids it"
UNMET = "NOT SO"
IMPOSSIBLE = "this can never be, says the book"


@dataclass(frozen=True, slots=True)
class Event:
    """What made a frame: a `step` of the scenario (its number, that of a list's step after it).

    Or what the aeroplane or a reading did by itself: a delay `elapses`, a surface `arrives`, a
    reading `passes` a number, a control `returns`. `outcome` is one of those here, or of
    `tellback.logic.procedure`.
    `things` are those that the event itself puts otherwise.
    """

    kind: str
    text: str
    number: str = ""
    outcome: str = MADE
    source: str = ""
    things: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Frame:
    """The steady moment after an event, and the numbers of the readings from outside then.

    The first frame of a trace has no event.
    """

    moment: Moment
    outside: Mapping[str, float]
    event: Event | None

    @property
    def time(self) -> float:
        """Seconds from the beginning of the scenario."""
        return self.moment.time


@dataclass(frozen=True, slots=True)
class Unrest:
    """What breaks a run off, in words: it comes again without end, or is stated impossible.

    `lasts`: time passes in it, so that the scenario could be given an end.
    """

    text: str
    lasts: bool


@dataclass(frozen=True, slots=True)
class Trace:
    """All frames of a run in order of time, up to `ends`.

    `waiting` are the steps that never came, as what they waited for did not. `unrest` is what
    broke the run off, if the aeroplane does not come to rest or comes to what cannot be.
    """

    frames: tuple[Frame, ...]
    ends: float
    waiting: tuple[str, ...]
    unrest: Unrest | None = None

    @property
    def known(self) -> tuple[Frame, ...]:
        """The frames before it comes to what the book states impossible."""
        return self.frames[:-1] if self.is_contradicted else self.frames

    @property
    def is_contradicted(self) -> bool:
        """Whether it was broken off as it came to what the book states impossible."""
        last = self.frames[-1].event
        return last is not None and last.outcome == IMPOSSIBLE


def unrest_text(trace: Trace) -> str:
    """What broke the run off, in words; empty if nothing did."""
    return trace.unrest.text if trace.unrest else ""


def broken_off(unrest: str) -> list[str]:
    """That a run was broken off, as a line of an answer; none if it was not."""
    return [f"It is broken off: {unrest}."] if unrest else []
