"""How times on a time line are written."""

from __future__ import annotations


def clock(seconds: float) -> str:
    """A time from the beginning, to a tenth of a second: `41 s`, `2 min 3.5 s`."""
    minutes, rest = divmod(round(seconds, 1), 60)
    shown = f"{round(rest, 1):g} s"
    return f"{minutes:g} min {shown}" if minutes else shown
