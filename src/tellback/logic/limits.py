"""What one answer may take: one budget of processor time for all engines, and the two refusals.

What is counted is the time that the processor spends in this thread, native code included, so
that a busy machine refuses nothing that a quiet one answers. Every operation on diagrams looks at
the budget, as does every long loop: a limit fires while something is being built.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from time import monotonic, thread_time

from tellback.refusals import Refusal

ANSWER_SECONDS = 120.0
"""The processor time that any one answer may take, if nothing within it is held shorter."""

ASK_FOR_LESS = "Ask for less: take more for granted, or seek a lower order."


class OutOfReach(Refusal):
    """The question needs more than it is allowed; the message says of what."""

    def __init__(self, message: str, mend: str = ASK_FOR_LESS) -> None:
        super().__init__(message, mend)


class TooLarge(OutOfReach):
    """Something that would have to be held in memory grew too large.

    A search may give up a part of its work for this and go on.
    """


class TooLong(OutOfReach):
    """The processor time allowed is spent. Only who allowed it may go on with something else."""


class _Budget:
    """Processor time that was allowed for some work, from now on."""

    __slots__ = ("_end", "_mend", "_message", "_wake")

    def __init__(self, seconds: float, work: str, mend: str) -> None:
        self._message = f"{work} takes more than {seconds:g} s of processor time"
        self._mend = mend
        self._end = thread_time() + seconds
        self._wake = monotonic() + seconds

    def left(self) -> float:
        """The seconds that are left."""
        return self._end - thread_time()

    def look(self) -> None:
        # The processor's time cannot run ahead of the clock on the wall, which is quicker to read:
        # so long as too little has passed on that one, nothing can be spent.
        if monotonic() >= self._wake:
            left = self.left()
            if left <= 0:
                raise TooLong(self._message, self._mend)
            self._wake = monotonic() + left


_budget: ContextVar[_Budget | None] = ContextVar("_budget", default=None)


@contextmanager
def within(seconds: float, work: str, mend: str = ASK_FOR_LESS) -> Iterator[None]:
    """Allow some work so many seconds of processor time; also a decorator of functions.

    `work` says what is done, `mend` what to ask instead, as `TooLong` tells them once the time is
    spent. Of budgets within one another, the one that ends first counts. Not for generators: what
    asks them for more would run on the same budget.
    """
    outer = _budget.get()
    if outer is not None and outer.left() <= seconds:
        yield
        return
    token = _budget.set(_Budget(seconds, work, mend))
    try:
        yield
    finally:
        _budget.reset(token)


def look() -> None:
    """Raise ``TooLong`` if the processor time allowed is spent."""
    budget = _budget.get()
    if budget is not None:
        budget.look()
