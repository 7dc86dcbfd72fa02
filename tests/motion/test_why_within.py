"""Why something is so at a time of a scenario: back to the step that brought it, and when."""

import tellback as tb
from tests.small_books import book_of

BOOK = """
controls: {switch: {positions: [OFF, ON], normally: ON}}
situations: {leaking: {}}
units: {pump: {runs when: switch at ON and low clear, fails: [stops]}}
latches: {low: {set when: leaking for 3 s, cleared when: never}}
indications: {PUMP OUT: {shown when: pump not running}}
"""
SCENARIO = """
title: T
scenarios:
  leak:
    from: normal
    steps:
      - {at: 10 s, set: {leaking: yes}}
      - {at: 20 s, set: {leaking: no}}
      - {at: 25 s, do: switch at OFF}
"""


def test_what_a_memory_remembers_of_a_scenario_is_told_with_its_time() -> None:
    """The leak is over by then, and the memory of it is why the light is lit."""
    answer = tb.why_within(book_of(BOOK, scenarios=SCENARIO), "leak", "PUMP OUT shown", at="22 s")
    assert answer.start == "leak, at 22 s"
    assert [(link.text, link.seconds, link.end) for link in answer.chain] == [
        ("pump not running", 13, ""),
        ("low set", 13, ""),
        ("leaking for 3 s", 13, ""),
        ("leaking", 10, "from outside"),
    ]


def test_before_it_comes_it_is_not_so_and_later_what_came_first_stays_the_reason() -> None:
    book = book_of(BOOK, scenarios=SCENARIO)
    assert not tb.why_within(book, "leak", "PUMP OUT shown", at="12 s").so
    at_the_end = tb.why_within(book, "leak", "PUMP OUT shown")
    assert [link.text for link in at_the_end.chain][:2] == ["pump not running", "low set"]
