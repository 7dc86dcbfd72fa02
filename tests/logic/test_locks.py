"""What a move or a failure frees and bars by the locks of the book."""

from __future__ import annotations

import tellback as tb
from tests.small_books import DEFAULT, book_of

BOOK = """
controls:
  release: {positions: [NORMAL, PRESSED]}
  gear lever: {positions: [UP, DOWN], normally: DOWN,
    cannot go to UP when: on ground and release at NORMAL}
  autopilot switch: {positions: [OFF, ON], normally: ON, cannot go to ON when: damper not running,
    drops to OFF when: damper not running for 2 s}
  nose door: {positions: [SHUT, OPEN], cannot go to OPEN when: pump running}
  tail door: {positions: [SHUT, OPEN], cannot go to OPEN when: pump running}
situations:
  on ground: {normally: yes}
units:
  damper: {fails: [stops]}
  pump: {fails: [stops]}
"""


def test_a_move_tells_which_lock_lets_go() -> None:
    answer = tb.effects(book_of(BOOK), "release: PRESSED")
    assert str(answer).splitlines()[1:] == ["  at once: gear lever can now go to UP"]
    assert [(lock.control, lock.position, lock.can) for lock in answer.locks] == [
        ("gear lever", "UP", True)
    ]


def test_a_move_tells_which_lock_comes_on_and_not_its_own() -> None:
    changes = ["release: PRESSED"]
    answer = tb.effects(book_of(BOOK), "release: NORMAL", changes=changes)
    assert "at once: gear lever can no longer go to UP" in str(answer)
    assert tb.effects(book_of(BOOK), "gear lever: UP", changes=changes).locks == ()


def test_a_lever_that_is_there_already_is_not_told() -> None:
    book = book_of(BOOK, DEFAULT + "  stuck up: {gear lever: UP, release: PRESSED}\n")
    assert tb.effects(book, "release: NORMAL", start="stuck up").locks == ()


def test_a_failure_tells_it_too_and_alike_together() -> None:
    answer = tb.signs(book_of(BOOK), ["pump: stops"])
    assert str(answer).splitlines()[-3:] == [
        "  Besides:",
        "    at once: pump not running",
        "    at once: nose door and tail door can now go to OPEN",
    ]


def test_a_switch_that_drops_is_barred_from_then_on() -> None:
    answer = tb.signs(book_of(BOOK), ["damper: stops"])
    assert [(lock.seconds, lock.control, lock.can) for lock in answer.locks] == [
        (2, "autopilot switch", False)
    ]
    assert "    after 2 s: autopilot switch can no longer go to ON" in str(answer)
