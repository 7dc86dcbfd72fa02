"""Finding what a question names: a procedure, a scenario."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

from tellback.book.names import fold, near
from tellback.refusals import Refusal


class Named(Protocol):
    """Anything with a name."""

    @property
    def name(self) -> str:
        """As it is declared."""


T = TypeVar("T", bound=Named)


def by_name(several: Sequence[T], name: str, what: str, refusal: type[Refusal]) -> T:
    """The one of that name, whatever its case; else the refusal, with what could be meant."""
    known = {fold(one.name): one for one in several}
    if fold(name) in known:
        return known[fold(name)]
    similar = near(fold(name), {folded: one.name for folded, one in known.items()})
    there = f"There are: {', '.join(one.name for one in several)}." if known else ""
    mend = f"Did you mean {' or '.join(similar)}?" if similar else there
    raise refusal(
        f"there is no {what} “{name}” in this book",
        mend or f"Write it in a file of the folder `{what}s`.",
    )
