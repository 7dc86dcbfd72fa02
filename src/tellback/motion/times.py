"""Times on a time line: how they are written, and how they are asked for."""

from __future__ import annotations

from tellback.book.times import HOW_WRITTEN, no_time, seconds_of
from tellback.refusals import Refusal


class BadTime(Refusal, ValueError):
    """A time is not written as one."""


def asked(text: str) -> float:
    """The seconds of a time that is asked for. Raises BadTime."""
    seconds = seconds_of(text.strip())
    if seconds is None:
        raise BadTime(no_time(text), HOW_WRITTEN)
    return seconds


def clock(seconds: float) -> str:
    """A time from the beginning, to a tenth of a second: `41 s`, `2 min 3.5 s`, `3 h 0 min 5 s`."""
    minutes, rest = divmod(round(seconds, 1), 60)
    shown = f"{round(rest, 1):g} s"
    if minutes >= 120:
        return f"{minutes // 60:.0f} h {minutes % 60:g} min {shown}"
    return f"{minutes:g} min {shown}" if minutes else shown
