"""Effects: what comes through a memory that a move sets off is not told as coming by the move."""

import tellback as tb
from tests.small_books import book_of

SWITCH = "controls: {switch: {positions: [OFF, ON]}}\n"


def elsewhere(book: str) -> list[tuple[str, list[str]]]:
    answer = tb.effects(book_of(book), "switch: ON")
    return [(e.text, [item.text for item in e.when]) for e in answer.elsewhere]


def test_a_latch_set_before_what_comes_on_clears_it_is_set_off() -> None:
    """At once the latch sets; that the switch comes to ON clears it; then it sets again."""
    book = (
        SWITCH
        + """
latches: {memory: {set when: switch at ON, cleared when: switch at ON comes on}}
means: {trouble: {when: switch at ON and not memory set}}
"""
    )
    assert elsewhere(book) == []


def test_a_drop_that_an_earlier_one_beats_is_not_set_off() -> None:
    book = """
controls:
  switch: {positions: [OFF, ON]}
  valve switch:
    positions: [SHUT, OPEN]
    drops to SHUT when: hot
    drops to OPEN when: switch at ON
situations: {hot: {}}
means: {filling: {when: switch at ON and valve switch at SHUT}}
"""
    assert elsewhere(book) == [("filling", ["hot"])]
