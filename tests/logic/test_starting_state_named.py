"""A proof from a starting state that there is not would be a proof over nothing."""

from __future__ import annotations

import pytest

import tellback as tb
from tellback.logic.settings import BadSetting
from tests.small_books import book_of

SWITCH = "controls: {switch: {positions: [OFF, ON]}}"


def test_one_that_there_is_not_is_refused() -> None:
    book = book_of(SWITCH)
    for ask in (lambda: tb.can(book, "switch at ON", start="nowhere"),
                lambda: tb.claim(book, "never switch at ON", start="nowhere")):  # fmt: skip
        with pytest.raises(BadSetting, match="no starting state is called"):
            ask()


def test_none_named_means_all_and_the_case_of_letters_does_not_matter() -> None:
    book = book_of(SWITCH)
    for start in ("", None, "NORMAL"):
        assert tb.can(book, "switch at ON", start=start).verdict == "possible"  # type: ignore[arg-type]
        assert tb.claim(book, "never switch at ON", start=start).verdict == "false"  # type: ignore[arg-type]
