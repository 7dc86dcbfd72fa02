"""How all stands in a scenario at a time."""

from __future__ import annotations

from collections.abc import Sequence

from tellback.book.model import Book
from tellback.logic.picture import Picture
from tellback.logic.scene import Scene
from tellback.logic.settings import BadSetting
from tellback.motion.run import prepared
from tellback.motion.runner import run_of
from tellback.motion.times import asked, clock
from tellback.motion.trace import Frame


def moment_of(
    book: Book, scenario: str, at: str = "", aeroplane: str = ""
) -> tuple[Picture, Scene]:
    """The aeroplane's picture, and the scenario at a time (`41 s`; without one, at its end).

    Of all that comes at that very time, what comes last counts. Raises UnknownScenario, BadTime.
    """
    seconds = asked(at) if at else None
    picture, meant = prepared(book, scenario, aeroplane)
    trace = run_of(picture, meant, meant.happenings)
    time = trace.ends if seconds is None else seconds
    frame = last_before(trace.known, time)
    return picture, Scene(f"{meant.name}, at {clock(time)}", (frame.moment,))


def only_within(scenario: str, at: str, start: str, changes: Sequence[str]) -> None:
    """Raises BadSetting for a time without a scenario, and for a start besides one."""
    if at and not scenario:
        raise BadSetting("a time is given, but no scenario", "Name the scenario, or leave it out.")
    if scenario and (start or changes):
        raise BadSetting(
            "a scenario has its own beginning",
            "Leave out the starting state and the changes, or ask `what-if`.",
        )


def last_before(frames: tuple[Frame, ...], time: float) -> Frame:
    """The last frame that has come by a time."""
    return next(frame for frame in reversed(frames) if frame.time <= time or frame is frames[0])
