"""The book of the S94's next revision: it differs from the present one as its notes say."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from tellback.book.model import Book
from tellback.book.reader import read
from tellback.book.tidy import without_places
from tellback.logic.answers.claims import PROVED, verdict_on
from tellback.logic.picture import picture_of

BOOKS = Path(__file__).parents[1] / "books"
PRESENT, NEXT = BOOKS / "s94", BOOKS / "s94-next-revision"
OWN = {
    "type.yaml",
    "chapters/28-fuel.yaml",
    "chapters/29-hydraulic-power.yaml",
    "chapters/30-ice-and-rain.yaml",
    "numbers/02-operation-and-weather.yaml",
    "procedures/33-lights-and-navigation.yaml",
    "procedures/30-ice-and-rain.yaml",
    "procedures/36-pneumatic.yaml",
}
"""The files that a change touches; all others are links."""


@cache
def book_in(folder: Path) -> Book:
    book, found = read(folder)
    assert book is not None, found
    assert not found
    return book


def changed(part: str) -> set[str]:
    """The names of the parts of the books that are not stated alike in both."""
    old, new = (
        {
            without_places((getattr(one, "text", ""), getattr(one, "name", ""), one))
            for one in getattr(book_in(folder), part)
        }
        for folder in (PRESENT, NEXT)
    )
    return {name or text for text, name, _ in old ^ new}


def test_all_that_is_not_changed_is_a_link_to_the_present_book() -> None:
    files = {
        path.relative_to(NEXT).as_posix(): path for path in NEXT.rglob("*.yaml") if path.is_file()
    }
    assert set(files) == {p.relative_to(PRESENT).as_posix() for p in PRESENT.rglob("*.yaml")}
    assert {name for name, path in files.items() if not path.is_symlink()} == OWN
    for name in set(files) - OWN:
        assert files[name].resolve() == PRESENT / name


def test_what_it_changes() -> None:
    assert book_in(NEXT).revision == "5"
    assert changed("things") == {
        "LEFT ON SUCTION",
        "RIGHT ON SUCTION",
        "wing electric pump",
        "probe heat switch",
        "sensor heat switch",
        "probe heat called",
    }
    assert changed("limits") == {"crosswind on a dry runway"}
    assert changed("procedures") == {
        "left BLEED HOT",
        "right BLEED HOT",
        "LEFT PITOT COLD",
        "RIGHT PITOT COLD",
        "STANDBY PITOT COLD",
        "SPEEDS UNLIKE",
    }
    assert changed("impossible") == changed("claims") == changed("starts") == set()


@pytest.mark.parametrize("variant", ["S94-100", "S94-200"])
def test_every_claim_is_proved_in_it_too(variant: str) -> None:
    picture = picture_of(book_in(NEXT), variant)
    false = [c.text for c in picture.book.claims if verdict_on(picture, c).verdict != PROVED]
    assert false == []
