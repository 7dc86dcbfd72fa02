"""One aeroplane as a system: variables, the values that follow, and what changes the memories."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field

from tellback.book.conditions import Condition
from tellback.book.model import Book
from tellback.logic.formula import Formula, Key

INPUTS = frozenset({"control", "situation", "reading", "failure"})
"""The kinds of variables that are moved from outside; the others are memories."""


@dataclass(frozen=True, slots=True)
class Variable:
    """An input or a memory: `values` are its words, `normal` the index of the normal one.

    `kind` is control, situation, reading (outside), failure; latch, delay, place (of a surface),
    number (a moving reading), cancelled (an indication), last (the last steady value of a
    condition used in an edge). `thing` is the thing it belongs to, or a delay's own text.
    """

    name: str
    kind: str
    thing: str
    values: tuple[str, ...]
    normal: int

    @property
    def is_input(self) -> bool:
        """Whether it is moved from outside."""
        return self.kind in INPUTS


@dataclass(frozen=True, slots=True)
class Regions:
    """The intervals into which the numbers of a book cut the range of a reading.

    A cut (n, 0) lies just below n, a cut (n, 1) just above it.
    """

    low: float
    high: float
    unit: str
    cuts: tuple[tuple[float, int], ...]

    def index(self, value: float) -> int:
        """The region in which the value lies."""
        return bisect_right(self.cuts, (value, 0))

    def within(
        self, low: float | None, low_in: bool, high: float | None, high_in: bool
    ) -> frozenset[int]:
        """The regions of a range; its bounds must be among the cuts or outside the range."""
        first = 0 if low is None else bisect_right(self.cuts, (low, 0 if low_in else 1))
        last = len(self.cuts) + 1
        if high is not None:
            last = bisect_left(self.cuts, (high, 1 if high_in else 0)) + 1
            if high < self.low or (high == self.low and not high_in):
                last = 0
        if low is not None and (low > self.high or (low == self.high and not low_in)):
            first = last
        return frozenset(range(first, last))

    def middle(self, index: int) -> float:
        """An ordinary number of that region."""
        lower = self.low if index == 0 else self.cuts[index - 1][0]
        upper = self.high if index == len(self.cuts) else self.cuts[index][0]
        return lower if lower == upper else _round_number(lower, upper, self, index)


def _round_number(lower: float, upper: float, regions: Regions, index: int) -> float:
    """The roundest number near the middle that lies in the region."""
    middle = (lower + upper) / 2
    step = 10.0**9
    while step > 1e-6:
        candidate = round(middle / step) * step
        if lower <= candidate <= upper and regions.index(candidate) == index:
            return candidate
        step /= 10
    return middle


@dataclass(frozen=True, slots=True)
class DelayRule:
    """The condition of a delay and the seconds it must hold."""

    variable: str
    condition: Formula
    seconds: float


@dataclass(frozen=True, slots=True)
class MoveRule:
    """The variable is due to take a value (`steps`), or may not be moved to it by hand (`bars`)."""

    variable: str
    value: int
    condition: Formula


@dataclass(frozen=True, slots=True)
class DriveRule:
    """One drive of a surface: whether it acts, and the seconds it takes for one place."""

    name: str
    acts: Formula
    step: float


@dataclass(frozen=True, slots=True)
class PlaceRule:
    """A surface: for each place that is a point, when it is sent there; and its drives."""

    variable: str
    targets: tuple[tuple[int, Formula], ...]
    drives: tuple[DriveRule, ...]


@dataclass(frozen=True, slots=True)
class NumberRule:
    """A moving reading: rows (condition, value, rate) in order, and its regions."""

    variable: str
    rows: tuple[tuple[Formula, float, float], ...]
    regions: Regions
    starts_at: float


@dataclass(frozen=True, slots=True)
class LastRule:
    """The memory of a condition's last steady value."""

    variable: str
    condition: Formula


@dataclass(frozen=True)
class System:
    """Everything the questions need of one aeroplane; made by `tellback.logic.lower.lower`."""

    book: Book
    variables: Mapping[str, Variable]
    values: Mapping[Key, Formula]
    steps: tuple[MoveRule, ...]
    delays: tuple[DelayRule, ...]
    bars: tuple[MoveRule, ...]
    surfaces: tuple[PlaceRule, ...]
    numbers: tuple[NumberRule, ...]
    lasts: tuple[LastRule, ...]
    impossible: Formula
    regions: Mapping[str, Regions]
    delayed: Mapping[str, Condition] = field(default_factory=dict)

    def edges(self) -> tuple[Key, ...]:
        """The values that hold only at the moment a condition begins or ceases to hold."""
        names = (rule.variable for rule in self.lasts)
        return tuple((name, word) for name in names for word in ("comes on", "goes out"))

    def failures(self) -> tuple[Variable, ...]:
        """All failure variables, in book order."""
        return tuple(v for v in self.variables.values() if v.kind == "failure")
