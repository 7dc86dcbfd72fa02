"""Times on the clock, and how far a surface is on its way at one of them."""

from __future__ import annotations

from math import copysign, inf, isfinite

from tellback.logic.solve import Valuation
from tellback.logic.system import PlaceRule

TICKS = 720_720_000
"""The parts of a second: whole numbers of them make a third, a seventh and a thousandth of it."""


def after(time: float, seconds: float) -> float:
    """So many seconds later, in whole parts of a second: what adds up to one time is at one time.

    Six times the sixth of 12 s is then 12 s, and what is due at the same time has its order.
    """
    return round((time + seconds) * TICKS) / TICKS if isfinite(seconds) else inf


def going_of(rule: PlaceRule, values: Valuation[int], place: int) -> tuple[int, float] | None:
    """Which way a surface goes from its place and in how long to the next; None if none acts.

    1 or -1; 0 if it has been sent there, and goes back if it is beyond it.
    """
    target = next((t for t, sent in rule.targets if values.of(sent)), None)
    if target is None:
        return None
    drive = next(d for d in rule.drives if values.of(d.acts))
    return (target > place) - (target < place), drive.step


def gone_on(beyond: float, way: int, step: float, seconds: float) -> float:
    """How far beyond its place a surface is after so many seconds; `way` 0: on its way back."""
    part = seconds / step if step else inf
    if way:
        return beyond + way * part
    return copysign(max(0.0, abs(beyond) - part), beyond)
