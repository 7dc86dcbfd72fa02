"""A row of the table, and how times are taken and told."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import TypeVar

PROJECT = Path(__file__).parents[1]
BOOK = PROJECT / "books" / "s94"
PROCESSES = 7
"""How many fresh processes a measure of starting is the median of."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table; `goal` is what the project sets itself, in seconds, if it does."""

    what: str
    took: str
    goal: str = ""
    note: str = ""


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """The seconds that the work takes, and its result."""
    begun = time.perf_counter()
    result = work()
    return time.perf_counter() - begun, result


def median_of_processes(arguments: Sequence[str]) -> float:
    """The median time of fresh Python processes with these arguments, from start to exit."""
    return median(timed(lambda: _run(arguments))[0] for _ in range(PROCESSES))


def _run(arguments: Sequence[str]) -> None:
    command = [sys.executable, *arguments]
    subprocess.run(command, cwd=PROJECT, check=True, stdout=subprocess.DEVNULL)


def percentile(times: Iterable[float], share: float) -> float:
    """The time that this share of the times does not exceed (nearest rank)."""
    ranked = sorted(times)
    return ranked[max(0, -(-int(share * 100) * len(ranked) // 100) - 1)]


def seconds(time_taken: float) -> str:
    """A time with two figures that mean something: `31 ms`, `1.2 s`."""
    if time_taken < 0.0995:
        return f"{1000 * time_taken:.2g} ms"
    return f"{1000 * time_taken:.0f} ms" if time_taken < 0.9995 else f"{time_taken:.1f} s"


def times_as_long(longer: float, shorter: float) -> str:
    """A ratio with two figures: `x 340`."""
    ratio = longer / shorter
    digits = max(0, len(str(int(ratio))) - 2)
    return f"× {round(ratio, -digits):,.0f}" if ratio >= 10 else f"× {ratio:.1f}"
