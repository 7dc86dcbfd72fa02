"""The list of limits: all or those to know by heart, of one aeroplane, as text and as JSON."""

from __future__ import annotations

import pytest

import tellback as tb
from tellback.book.effectivity import UnknownAeroplane
from tellback.book.model import Book
from tests.small_books import FLEET, book_of

CHAPTER = "readings:\n  airspeed: {unit: kt, range: 0 to 400}\n"
NUMBERS = """\
title: Speeds
source: AFM rev 1
limits:
  top speed:
    - {of: airspeed, at most: 330 kt, from memory: yes, source: p.1, applies to: T1}
    - {of: airspeed, at most: 340 kt, from memory: yes, source: p.1, applies to: T2}
  wipers: {of: airspeed, at most: 200 kt, when: airspeed above 0 kt, case: at FAST, source: p.2}
  seats: {unit: none, at most: 92, note: Crew not counted.}
"""


@pytest.fixture(scope="module")
def book() -> Book:
    return book_of(CHAPTER, FLEET, numbers=NUMBERS)


def test_the_text_is_a_table_under_each_title(book: Book) -> None:
    assert str(tb.limits(book)) == (
        "Limits of T1:\n"
        "\n"
        "Speeds\n"
        "  top speed  at most 330 kt  from memory  [AFM rev 1, p.1]\n"
        "  wipers     at most 200 kt  when airspeed above 0 kt; at FAST  [AFM rev 1, p.2]\n"
        "  seats      at most 92      Crew not counted"
    )


def test_those_to_know_by_heart(book: Book) -> None:
    assert str(tb.limits(book, aeroplane="12", from_memory=True)) == (
        "Limits of T2 serial 12 to know from memory:\n"
        "\n"
        "Speeds\n"
        "  top speed  at most 340 kt  [AFM rev 1, p.1]"
    )


def test_a_book_without_limits_says_so() -> None:
    assert str(tb.limits(book_of(CHAPTER, FLEET))) == "The book states no limits for T1."


def test_json_has_the_numbers(book: Book) -> None:
    data = tb.as_json(tb.limits(book))
    (group,) = data["groups"]
    first = group["limits"][0]
    assert (data["answer"], first["low"], first["high"], first["unit"]) == (
        "limits",
        None,
        330,
        "kt",
    )


def test_an_aeroplane_that_is_not_there_is_refused(book: Book) -> None:
    with pytest.raises(UnknownAeroplane, match="T9"):
        tb.limits(book, aeroplane="T9")
