"""Things that are made one by one, when first asked for, and kept."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count, islice
from typing import Generic, TypeVar

Thing = TypeVar("Thing")


class Kept(Generic[Thing]):
    """What an iterator makes, to be gone through many times; no more is made than is asked for."""

    def __init__(self, making: Iterator[Thing]) -> None:
        self._making = making
        self._made: list[Thing] = []

    def __iter__(self) -> Iterator[Thing]:
        """All of them, from the first on."""
        for number in count():
            if number == len(self._made):
                self._made += islice(self._making, 1)
            if number == len(self._made):
                return
            yield self._made[number]
