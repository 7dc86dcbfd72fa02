"""Can: can this ever be? Proved impossible, a shortest run, or none found within the bound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book import conditions as c
from tellback.book.model import Book
from tellback.logic.attempts import sought, tried
from tellback.logic.formula import conj
from tellback.logic.given import understand_given
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.path import Paths, Witness
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.scene import started

IMPOSSIBLE, POSSIBLE, UNDECIDED = "impossible", "possible", "not decided"


@dataclass(frozen=True, slots=True)
class Can:
    """Whether X can be; `run` is a run with the fewest events.

    `shortest` is False where a run was found but a shorter one is not excluded.
    """

    question: str
    aeroplane: str
    given: tuple[str, ...]
    verdict: str
    run: Witness | None = None
    shortest: bool = False

    def __str__(self) -> str:
        given = f" (given {', '.join(self.given)})" if self.given else ""
        head = f"{self.question}{given}"
        if self.verdict == IMPOSSIBLE:
            return f"{head}: cannot be. That is proved for every possible state."
        if self.run is not None:
            how = "Shortest run" if self.shortest else "A run (a shorter one is not excluded)"
            return f"{head}: can be. {how}, from {self.run}."
        return (
            f"{head}: not decided. Too many states are possible to search them all, and no one or "
            "two moves from a starting state that were tried bring it about."
        )


@within(ANSWER_SECONDS, "deciding whether it can be")
def can(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    given: Sequence[str] = (),
    start: str = "",
) -> Can:
    """Whether `question` can ever be, from any starting state or from `start`.

    Each `given` is a condition that must hold as well, `no failures` or `at most N failures`.
    """
    conditions, failures = understand_given(book, given, aeroplane)
    condition = understand(book, question, aeroplane)
    picture = picture_of(book, aeroplane, condition, *conditions)
    begun = started(picture, start)
    return can_be(picture, condition, conditions, tuple(given), failures, begun)


def can_be(
    picture: Picture,
    condition: c.Condition,
    given: Sequence[c.Condition] = (),
    given_text: tuple[str, ...] = (),
    failures: int | None = None,
    start: str = "",
) -> Can:
    """The same of a picture, for conditions already understood."""
    goal = conj(picture.formula(part) for part in (condition, *given))
    text, aeroplane = picture.phrase(condition), picture.book.aeroplane
    paths = Paths(picture, failures, start)
    met, run = sought(picture, paths, picture.possible((), [goal], failures, start), goal)
    if met is False:
        return Can(text, aeroplane, given_text, IMPOSSIBLE)
    shortest = False
    if met and run is None:
        run, shortest = paths.shortest(goal) or (tried(picture, paths, goal), False)
    if run is None:
        return Can(text, aeroplane, given_text, UNDECIDED)
    return Can(text, aeroplane, given_text, POSSIBLE, run, shortest or run.events <= 1)
