"""How long work is gone through part by part, so that somebody may see how far it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol, TypeVar

Part = TypeVar("Part")


class Follow(Protocol):
    """Goes through the parts of some work, in order, and may show how far it has come."""

    def __call__(self, parts: Sequence[Part], work: str) -> Iterable[Part]:
        """The parts; `work` says what is done with them."""


def straight(parts: Sequence[Part], work: str) -> Iterable[Part]:
    """The parts, with nothing shown."""
    return parts
