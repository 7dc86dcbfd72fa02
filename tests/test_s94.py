"""The Sandling S94: it reads, is as large as it is meant to be, and keeps its claims."""

from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from tellback.book.effectivity import for_aeroplane
from tellback.book.model import Book
from tellback.book.reader import read
from tellback.book.stated import statements_of
from tellback.logic.answers.claims import PROVED, verdict_on
from tellback.logic.answers.effects import effects
from tellback.logic.picture import picture_of

WHOLE = Path(__file__).parents[1] / "books" / "s94"
CHAPTERS = {"21", "22", "24", "26", "27", "28", "29", "30", "31", "32", "35", "36", "49", "52"}


@cache
def the_book() -> Book:
    book, found = read(WHOLE)
    assert book is not None, found
    assert not found
    return book


def test_it_has_the_chapters_of_an_aeroplane() -> None:
    numbers = {chapter.number for chapter in the_book().chapters}
    assert numbers >= CHAPTERS
    assert any(number.startswith("7") for number in numbers)


@pytest.mark.parametrize("variant", ["S94-100", "S94-200"])
def test_every_claim_is_proved(variant: str) -> None:
    picture = picture_of(the_book(), variant)
    claims = picture.book.claims
    verdicts = Counter(verdict_on(picture, claim).verdict for claim in claims)
    assert verdicts == {PROVED: len(claims)}
    assert len(claims) >= 80


def test_it_is_a_whole_aeroplane() -> None:
    book = the_book()
    statements = {s.place: s for thing in book.things for s in statements_of(thing)}
    whys = Counter(w.kind for s in statements.values() for w in s.whys)
    assert len(book.things) >= 350
    assert len(statements) >= 200
    assert sum(whys.values()) >= 60
    assert len(whys) == 5
    assert len(book.procedures) >= 25


def ends(variant: str) -> dict[str, tuple[float | None, float | None]]:
    return {
        limit.name: (limit.low, limit.high) for limit in for_aeroplane(the_book(), variant).limits
    }


@pytest.mark.parametrize("variant", ["S94-100", "S94-200"])
def test_its_limits_fit_one_another(variant: str) -> None:
    highest = {name: high for name, (_, high) in ends(variant).items() if high is not None}
    for rising in (
        ("zero-fuel weight", "landing weight", "take-off weight", "ramp weight"),
        ("flaps 38", "flaps 28", "flaps 18", "flaps 8", "greatest operating speed"),
        ("gear retraction", "gear extension", "gear down"),
        ("cabin differential", "safety valves open", "overpressure warning"),
        ("cabin altitude", "cabin altitude warning", "cabin altitude limiter", "masks drop"),
        ("APU air", "APU start altitude", "operating altitude"),
        ("gas temperature in a start", "gas temperature when running"),
    ):
        values = [highest[name] for name in rising]
        assert values == sorted(set(values)), rising
    tanks = 2 * highest["wing tank fuel"] + highest["body tank fuel"]
    assert highest["fuel in all tanks"] == tanks


def test_it_has_the_limits_of_a_manual() -> None:
    limits = for_aeroplane(the_book(), "S94-100").limits
    assert len(limits) >= 60
    assert all(limit.source for limit in limits)
    assert 40 <= sum(limit.from_memory for limit in limits) < len(limits)
    hundred, two_hundred = ends("S94-100"), ends("S94-200")
    assert set(hundred) == set(two_hundred)
    assert sum(hundred[name] != two_hundred[name] for name in hundred) >= 2


def test_a_case_found_by_a_search_names_all_that_it_looks_at() -> None:
    """A state that was searched for said nothing of what may be either way."""
    answer = effects(the_book(), "guard battery switch: OFF", start="cruise", elsewhere=True)
    cases = {case.text: {item.text for item in case.when} for case in answer.elsewhere or ()}
    assert cases["guard bus lost"] == {"guard pump switch at ON", "left DC bus lost"}
