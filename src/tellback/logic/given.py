"""What is taken for granted: conditions, and a limit of failures among them."""

from __future__ import annotations

from collections.abc import Sequence

from tellback.book import conditions as c
from tellback.book.claims import IN_DIGITS, no_number_of_failures, number_of_failures
from tellback.book.model import Book
from tellback.logic.picture import Misunderstood, understand


def understand_given(
    book: Book, given: Sequence[str], aeroplane: str
) -> tuple[tuple[c.Condition, ...], int | None]:
    """The conditions that are given, and the limit of failures among them (None: no limit)."""
    failures: int | None = None
    conditions = []
    for text in given:
        words = text.casefold().split()
        if words == ["no", "failures"]:
            failures = 0
        elif words[:2] == ["at", "most"] and words[3:] in (["failure"], ["failures"]):
            failures = number_of_failures(words[2])
            if failures is None:
                message = no_number_of_failures(words[2])
                raise Misunderstood(text, 0, len(text), message, IN_DIGITS)
        elif words and words[-1] in ("failure", "failures") and len(words) <= 2:
            mend = "Write `no failures`, or a limit: `at most 1 failure`."
            raise Misunderstood(text, 0, len(text), "this is not a limit of failures", mend)
        else:
            conditions.append(understand(book, text, aeroplane))
    return tuple(conditions), failures
