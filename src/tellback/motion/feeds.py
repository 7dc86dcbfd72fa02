"""Who feeds a supply at a time of a scenario."""

from __future__ import annotations

from tellback.book.model import Book
from tellback.logic.answers.feeds import Feeds, feeds_at, supply_named
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.motion.moment import moment_of


@within(ANSWER_SECONDS, "finding what feeds it")
def feeds_within(
    book: Book, scenario: str, supply: str, *, at: str = "", aeroplane: str = ""
) -> Feeds:
    """Who feeds the supply at a time (`41 s`) of a scenario; without one, at its end.

    Raises NoSupply, UnknownScenario and BadTime.
    """
    picture, where = moment_of(book, scenario, at, aeroplane)
    return feeds_at(picture, where, supply_named(picture, supply))
