"""Claims: is this always so? Proved, false with a run to a counterexample, or not decided."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tellback.book.claims import understand_claim
from tellback.book.model import Book, Claim
from tellback.logic.facts import Facts
from tellback.logic.formula import Formula, conj, neg
from tellback.logic.path import Paths, Run
from tellback.logic.picture import Picture, picture_of
from tellback.logic.possible import Possible, Search
from tellback.logic.run import Moment, State
from tellback.logic.space import Node

PROVED, FALSE, UNDECIDED = "proved", "false", "not decided"


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on a claim; if false, the run to the counterexample.

    `departures` tells in how many inputs the counterexample differs from the starting state that
    it is nearest to.
    """

    claim: str
    aeroplane: str
    given: tuple[str, ...]
    verdict: str
    run: Run | None
    departures: int
    reason: str = ""

    def __str__(self) -> str:
        given = f" (given {', '.join(self.given)})" if self.given else ""
        if self.verdict == PROVED:
            return f"{self.claim}{given}: proved; it holds in every possible state."
        if self.run is not None:
            return f"{self.claim}{given}: false. {self.run}."
        return f"{self.claim}{given}: not decided. {self.reason}"
