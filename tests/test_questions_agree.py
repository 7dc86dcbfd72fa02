"""Two answers about the same matter never contradict each other, on drawn books and on the S94."""

from __future__ import annotations

from pathlib import Path
from random import Random

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import tellback as tb
from tellback.logic.run import Unsettled
from tests.contradictions import (
    contradictions,
    met_by_ways,
    reached_and_excluded,
    taken_away,
    told_of_changes,
    widened,
)
from tests.small_books import book_of
from tests.strategies import BookText, books

S94 = Path(__file__).parents[1] / "books" / "s94"

drawn = st.one_of(
    books(memories=True, circles="positive", forbids=True),
    books(memories=True, forbids=True),
    books(memories=True, springs=True),
)
quickly = settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))


@quickly
@given(drawn, st.randoms(use_true_random=False), st.data())
def test_of_drawn_books(text: BookText, random: Random, data: st.DataObject) -> None:
    book = book_of(text.chapter, text.type_file)
    question = data.draw(st.sampled_from(text.questions))
    try:
        found = list(contradictions(book, widened(question, text.questions, random), random))
    except Unsettled:
        assume(False)
        raise
    assert found == []


def test_of_the_s94() -> None:
    book = tb.read(S94)
    asked = [reached_and_excluded, taken_away, told_of_changes, met_by_ways]
    assert list(contradictions(book, "wing circuit live", Random(1), asked)) == []
