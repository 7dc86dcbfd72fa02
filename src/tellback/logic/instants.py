"""The instants of a run: every state that it passed, those within an event among them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tellback.logic.formula import Formula
from tellback.logic.picture import Picture
from tellback.logic.run import Aeroplane, Moment, State
from tellback.logic.solve import Graph, Valuation


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
        self._aeroplane = picture.aeroplane
        self._values: dict[tuple[int, bool], Valuation[int]] = {}
        self._since: dict[tuple[Formula, int], int] = {}

    @property
    def last(self) -> int:
        """The instant that is asked about."""
        return len(self.passed) - 1

    def values(self, at: int, quiet: bool = False) -> Valuation[int]:
        """The values at an instant; `quiet`: nothing comes on or goes out."""
        if (at, quiet) not in self._values:
            self._values[at, quiet] = self._aeroplane.values(self.passed[at].state, quiet)
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
        watched = _Watched(picture.graph)
        watched.history(watched.move(first, changes))
        passed += watched.passed
    return Instants(picture, passed)


class _Watched(Aeroplane):
    """The aeroplane, each state noted that it passes."""

    def __init__(self, graph: Graph) -> None:
        super().__init__(graph)
        self.passed: list[Instant] = []

    def _steady(self, moment: Moment) -> Moment:
        self.passed.append(Instant(moment.time, dict(moment.state), True))
        steady = super()._steady(moment)
        if steady.state != self.passed[-1].state:
            self.passed.append(Instant(moment.time, steady.state, False))
        return steady

    def _once(self, state: State, seen: set[tuple[int, ...]], due: Iterable[str]) -> None:
        self.passed.append(Instant(self.passed[-1].time, dict(state), False))
        super()._once(state, seen, due)
