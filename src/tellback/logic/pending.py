"""Times on the clock, and what is under way: when it is due and how far it has come."""

from __future__ import annotations

from math import inf, isfinite
from typing import NamedTuple

TICKS = 720_720_000
"""The parts of a second: whole numbers of them make a third, a seventh and a thousandth of it."""


def after(time: float, seconds: float) -> float:
    """So many seconds later, in whole parts of a second: what adds up to one time is at one time.

    Six times the sixth of 12 s is then 12 s, and what is due at the same time has its order.
    """
    return round((time + seconds) * TICKS) / TICKS if isfinite(seconds) else inf


def ticks(since: float, until: float) -> int:
    """The parts of a second between two times."""
    return round((until - since) * TICKS)


class Pending(NamedTuple):
    """Something under way: when its next event is due, and which value its variable takes then.

    A surface or a moving reading goes from `origin`, where it was at the time `since`, as far as
    `to`, by `pace` a second: in units of the reading, or in places of the surface beyond the one
    where it is said to be. Times are seconds.
    """

    due: float
    value: int
    since: float = 0.0
    origin: float = 0.0
    to: float = 0.0
    pace: float = 0.0

    def at(self, time: float) -> float:
        """Where it is at a time."""
        if time >= self.due:
            return self.to
        way = self.pace * (ticks(self.since, time) / TICKS)
        if self.to > self.origin:
            return min(self.to, self.origin + way)
        return max(self.to, self.origin - way)

    def seen_from(self, time: float) -> tuple[float, ...]:
        """The same without the clock: alike for what is alike at another time."""
        left, gone = ticks(time, self.due), ticks(self.since, time)
        return self.value, left, gone, self.origin, self.to, self.pace
