"""Runs that come to what the book states impossible: where they end, and what to say of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.logic.picture import Picture
from tellback.logic.run import Moment
from tellback.logic.words import listed, when_text
from tellback.refusals import Refusal


@dataclass(frozen=True, slots=True)
class Impossible:
    """After how many seconds a run comes to what the book states impossible, and what that is."""

    seconds: float
    statements: tuple[str, ...]
    sources: tuple[str, ...]

    def __str__(self) -> str:
        sources = f"  [{listed(self.sources)}]" if self.sources else ""
        return f"{when_text(self.seconds)}: {entered_text(self.statements)}{sources}"


class EntersImpossible(Refusal):
    """What is asked leads to what the book states impossible."""

    def __init__(self, what: str, entered: Impossible) -> None:
        self.entered = entered
        super().__init__(
            f"{what} comes to what can never be: {entered}",
            "Ask of something else, or correct what is stated under `impossible`, or what the "
            "book says brings it about.",
        )


def entered_text(statements: Sequence[str]) -> str:
    """What to say where a run ends because of these statements."""
    told = listed(f"“{text}”" for text in statements)
    return f"the book states {told} impossible, and so nothing is told from here on"


def stated_at(picture: Picture, moment: Moment, begins: float) -> Impossible | None:
    """What holds at a moment although it is stated impossible, in a run that began at a time."""
    if not picture.aeroplane.holds(picture.system.impossible, moment.state):
        return None
    holding = [
        statement
        for statement in picture.book.impossible
        if picture.aeroplane.holds(picture.formula(statement.condition), moment.state)
    ]
    return Impossible(
        moment.time - begins,
        tuple(statement.text for statement in holding),
        tuple(dict.fromkeys(s.source for s in holding if s.source)),
    )


def as_far_as_possible(
    picture: Picture, moments: Sequence[Moment]
) -> tuple[Sequence[Moment], Impossible | None]:
    """The moments of a run before it comes to what is stated impossible, and what that is."""
    for i, moment in enumerate(moments):
        entered = stated_at(picture, moment, moments[0].time)
        if entered is not None:
            return moments[:i], entered
    return moments, None


def lawful(picture: Picture, moments: Sequence[Moment], what: str) -> list[Moment]:
    """The moments of a run; EntersImpossible, told of what is named, if they come to such."""
    possible, entered = as_far_as_possible(picture, moments)
    if entered is not None:
        raise EntersImpossible(what, entered)
    return list(possible)
