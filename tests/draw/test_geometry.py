"""No sheet of the S94 has anything over anything else, and all can be read from the back row."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

import tellback as tb
from tellback.book.model import Book
from tests.draw.geometry import faults, read_sheet

S94 = Path(__file__).parents[2] / "books" / "s94"


@cache
def book() -> Book:
    return tb.read(S94)


CHAPTERS = [str(chapter.number) for chapter in book().chapters]


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_every_chapter_can_be_read(chapter: str) -> None:
    for aeroplane in ("S94-100", "S94-200"):
        drawing = tb.schematic(book(), chapter, aeroplane=aeroplane, start="approach")
        assert drawing.sheets
        for number, svg in enumerate(drawing.sheets, 1):
            assert list(faults(read_sheet(svg))) == [], f"{aeroplane}, sheet {number}"


def test_things_stand_in_the_same_place_however_they_stand() -> None:
    """So that one sheet can follow another on the screen."""
    one = tb.schematic(book(), "24", start="cruise")
    other = tb.schematic(book(), "24", start="unpowered", changes=["left generator: stops"])
    assert len(one.sheets) == len(other.sheets)
    for svg, again in zip(one.sheets, other.sheets, strict=True):
        assert read_sheet(svg).boxes == read_sheet(again).boxes


def test_chosen_things_are_drawn_alone() -> None:
    drawing = tb.schematic(book(), "wing electric pump", "Wing circuit", start="approach")
    (svg,) = drawing.sheets
    drawn = {box.owner for box in read_sheet(svg).boxes}
    assert {"wing electric pump", "wing circuit", "left pump line"} <= drawn
    assert "body circuit" not in drawn
    assert list(faults(read_sheet(svg))) == []
    assert str(drawing).startswith("wing electric pump, Wing circuit, approach (on S94-100): 1 ")


FAULTY = '<svg xmlns="http://www.w3.org/2000/svg">{}</svg>'
BOX = (
    '<g data-thing="a"><rect x="10" y="10" width="80" height="40"/>'
    '<text x="20" y="30">pump</text></g>'
)


@pytest.mark.parametrize(
    ("added", "said"),
    [
        ('<text x="25" y="35">again</text>', "“pump” and “again” overlap"),
        ('<text x="1270" y="35">again</text>', "“again” leaves the sheet"),
        ('<text x="200" y="35" font-size="12">small</text>', "“small” is lettered in 12.0"),
        (BOX.replace('"a"', '"b"').replace("pump", "valve"), "a and b overlap"),
        ('<polyline data-from="a" data-to="a" points="50,50 50,30 50,10"/>', "crosses a"),
        ('<polyline data-from="a" data-to="a" points="90,30 120,40 90,40"/>', "is slanting"),
        ('<polyline data-from="a" data-to="a" points="90,30 99,30"/>', "does not reach a"),
        (
            '<g data-thing="c"><rect x="300" y="10" width="20" height="40"/>'
            '<text x="305" y="30">too wide</text></g>',
            "leaves the box of c",
        ),
    ],
)
def test_what_would_be_wrong_is_seen(added: str, said: str) -> None:
    assert list(faults(read_sheet(FAULTY.format(BOX)))) == []
    assert any(said in fault for fault in faults(read_sheet(FAULTY.format(BOX + added))))
