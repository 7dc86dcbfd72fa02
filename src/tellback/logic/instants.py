"""The instants of a run: every state that it passed, those within an event among them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tellback.logic.compiled import Computed, Evaluator
from tellback.logic.formula import Formula
from tellback.logic.picture import Picture
from tellback.logic.run import Aeroplane, Moment, OneCase, State
from tellback.logic.solve import Valuation
from tellback.logic.time_rules import Change
from tellback.logic.under_way import UnderWay


@dataclass(frozen=True, slots=True)
class Instant:
    """A state at a time; `begins` an event, which has left it so before anything else changed."""

    time: float
    state: State
    begins: bool


class Instants:
    """The instants from a starting state on, in order; an index stands for one of them.

    The first is the starting state itself, the last the moment that is asked about.
    """

    def __init__(self, picture: Picture, passed: Sequence[Instant]) -> None:
        self.passed = tuple(passed)
        self._evaluator = picture.aeroplane.evaluator
        self._values: dict[tuple[int, bool], Valuation[int]] = {}
        self._since: dict[tuple[Formula, int], int] = {}

    @property
    def last(self) -> int:
        """The instant that is asked about."""
        return len(self.passed) - 1

    def values(self, at: int, quiet: bool = False) -> Valuation[int]:
        """The values at an instant; `quiet`: nothing comes on or goes out."""
        if (at, quiet) not in self._values:
            self._values[at, quiet] = Computed(self._evaluator, self.passed[at].state, quiet)
        return self._values[at, quiet]

    def holds(self, formula: Formula, at: int) -> bool:
        """Whether the formula holds at an instant."""
        return bool(self.values(at).of(formula))

    def since(self, formula: Formula, at: int) -> int:
        """The first instant since which the formula has held without a break up to this one."""
        key = formula, at
        if key not in self._since:
            first = at
            while first and self.holds(formula, first - 1):
                first -= 1
            self._since[key] = first
        return self._since[key]

    def seconds(self, at: int) -> float:
        """The time of an instant from the beginning of the run."""
        return self.passed[at].time - self.passed[0].time


def instants_of(picture: Picture, first: Moment, changes: Mapping[str, int]) -> Instants:
    """The instants from a settled moment, through changes made there, to where all has settled.

    Raises Barred or Unsettled, as the run does.
    """
    passed = [Instant(first.time, first.state, False)]
    if changes:
        watched = Watched(picture.aeroplane.evaluator)
        watched.history(watched.move(first, changes))
        passed += watched.passed
    return Instants(picture, passed)


class Watched(Aeroplane):
    """The aeroplane, each state noted that it passes."""

    def __init__(self, evaluator: Evaluator) -> None:
        super().__init__(evaluator)
        self.passed: list[Instant] = []

    def _steady(self, time: float, state: dict[str, int], before: UnderWay[int]) -> Moment:
        self.passed.append(Instant(time, dict(state), True))
        return super()._steady(time, state, before)

    def _case(self, state: dict[str, int]) -> OneCase:
        return Watched.Case(self, state)

    class Case(OneCase):
        """A state that notes each other one that it becomes."""

        def __init__(self, watched: Watched, state: dict[str, int]) -> None:
            super().__init__(watched.evaluator, state)
            self._passed = watched.passed

        def put(self, changes: Iterable[Change[int]]) -> None:
            """Variables take values."""
            super().put(changes)
            if self.state != self._passed[-1].state:
                self._passed.append(Instant(self._passed[-1].time, dict(self.state), False))
