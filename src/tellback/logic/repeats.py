"""Finding that something never rests: the aeroplane comes back to where it was.

What follows is decided by what is there, so that what comes back does so for ever. Brent's method:
what is there now is compared with what was there at a mark, and the mark is moved on to now after
1, 2, 4, 8, ... steps (R. P. Brent, "An improved Monte Carlo factorization algorithm", 1980). It
misses no round, however long, and takes none for one that is not.
"""

from __future__ import annotations


class Marks:
    """When to move the mark, step by step."""

    def __init__(self) -> None:
        self._steps = 0
        self._next = 1

    def is_due(self) -> bool:
        """Count one more step; whether the mark is to be moved to where it led."""
        self._steps += 1
        if self._steps < self._next:
            return False
        self._next *= 2
        return True
