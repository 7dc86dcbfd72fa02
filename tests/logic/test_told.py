"""How answers are told: times that pass, gauges that show, and looks that tell most apart."""

import tellback as tb
from tellback.book.model import Book
from tests.small_books import HEAD, book_of

BOOK = (
    HEAD
    + """\
controls:
  lamp switch: {positions: [OFF, ON]}
  gauge switch: {positions: [OFF, ON], normally: ON}
readings:
  charge:
    unit: "%"
    range: 0 to 100
    starts at: 100
    moves: [{to: 0, rate: 1, when: lamp running}, {to: 0, rate: 2, when: cell not running}]
units:
  lamp: {kind: light, runs when: lamp switch at ON}
  cell: {kind: battery, fails: [stops]}
indications:
  LOW: {kind: light, shown when: charge below 50 %}
"""
)
GAUGE = "  dial: {kind: gauge, needs: [gauge switch at ON], shows: charge}\n"
"""The gauge of the charge."""


def test_only_a_gauge_at_work_shows_a_reading() -> None:
    def shown(book: Book, *changes: str) -> set[str]:
        return {c.thing for c in tb.signs(book, ["cell: stops"], changes=changes).indications}

    assert shown(book_of(BOOK)) == {"LOW"}
    assert shown(book_of(BOOK + GAUGE)) == {"LOW", "charge"}
    assert shown(book_of(BOOK + GAUGE), "gauge switch: OFF") == {"LOW"}


def test_a_gauge_shows_whenever_its_needs_are_met() -> None:
    book = book_of(BOOK + GAUGE)
    assert tb.claim(book, "if gauge switch at ON then dial shown").verdict == "proved"
    assert tb.can(book, "dial shown and gauge switch at OFF").verdict == "impossible"
