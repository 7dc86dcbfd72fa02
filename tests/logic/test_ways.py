"""The ways of a latch are what changes it, whichever way is asked for."""

import tellback as tb
from tests.small_books import book_of

LATCH = """
controls:
  lever: {positions: [UP, DOWN]}
  button: {positions: [NORMAL, PRESSED]}
latches:
  memory:
    set when: {when: lever at DOWN, source: p.1}
    cleared when any of:
      button: {when: button at PRESSED, source: p.2}
      lever: {when: lever at UP, source: p.3}
"""


def ways(question: str) -> list[tuple[str, str]]:
    answer = tb.ways(book_of(LATCH), question)
    return [(way.items[0].text, way.stated[0].source) for way in answer.ways]


def test_the_ways_of_clear_are_what_clears_it() -> None:
    assert sorted(ways("memory clear")) == [("button at PRESSED", "p.2"), ("lever at UP", "p.3")]
    assert ways("not memory set") == ways("memory clear")


def test_the_text_says_that_it_is_cleared() -> None:
    opening = str(tb.ways(book_of(LATCH), "memory clear")).splitlines()[0]
    assert opening == "memory clear — it is cleared in any of 2 ways:"
