"""No sheet of the S94 has anything over anything else, and all can be read from the back row."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest

import tellback as tb
from tellback.book.model import Book, Control, Indication, Reading, Supply, Surface, Unit
from tellback.logic.picture import picture_of
from tests.draw.geometry import SVG, faults, read_sheet

S94 = Path(__file__).parents[2] / "books" / "s94"


@cache
def book() -> Book:
    return tb.read(S94)


CHAPTERS = [str(chapter.number) for chapter in book().chapters]


FAILED = ("left engine: stops", "body circuit: lost", "left AC bus: lost")


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_every_chapter_can_be_read_and_nothing_moves(chapter: str) -> None:
    """In an ordinary state, with things failed and without power, on either variant.

    Things stand in the same place however they stand, so that one sheet can follow another.
    """
    for aeroplane in ("S94-100", "S94-200"):
        boxes = []
        for start, changes in (("approach", ()), ("cruise", FAILED), ("unpowered", ())):
            drawing = tb.schematic(
                book(), chapter, aeroplane=aeroplane, start=start, changes=changes
            )
            sheets = [read_sheet(svg) for svg in drawing.sheets]
            for number, sheet in enumerate(sheets, 1):
                assert list(faults(sheet)) == [], f"{aeroplane}, {start}, sheet {number}"
            boxes.append([sheet.boxes for sheet in sheets])
        assert boxes[0] == boxes[1] == boxes[2]


@pytest.mark.parametrize("chapter", ["24", "27", "32"])
def test_a_chapter_shows_each_of_its_things_once(chapter: str) -> None:
    shown: Counter[str] = Counter()
    for svg in tb.schematic(book(), chapter, start="approach").sheets:
        groups = ElementTree.fromstring(svg).iter(f"{SVG}g")
        kinds = ("unit", "supply", "surface", "row")
        shown.update(g.get("data-thing", "") for g in groups if g.get("data-kind") in kinds)
    (file,) = {c.place.file for c in book().chapters if c.number == chapter}
    at_all = (Unit, Supply, Surface, Control, Indication, Reading)
    things = [t for t in picture_of(book(), "").book.things if isinstance(t, at_all)]
    assert shown == Counter(t.name for t in things if t.place.file == file)


def test_left_is_on_the_left() -> None:
    """Of twins side by side on a sheet, `left X` and `right X`."""
    wrong, right = [], 0
    for chapter in CHAPTERS:
        for svg in tb.schematic(book(), chapter, start="approach").sheets:
            boxes = {box.owner: box for box in read_sheet(svg).boxes}
            for name, box in boxes.items():
                twin = boxes.get(name.replace("left", "right", 1))
                beside = twin and box.top < twin.bottom and twin.top < box.bottom
                if name.startswith("left ") and twin and beside:
                    right += box.left < twin.left
                    wrong += [] if box.left < twin.left else [f"{chapter}: {name}"]
    assert right > 40
    assert wrong == []


def test_chosen_things_are_drawn_alone() -> None:
    drawing = tb.schematic(book(), "wing electric pump", "Wing circuit", start="approach")
    (svg,) = drawing.sheets
    drawn = {box.owner for box in read_sheet(svg).boxes}
    assert {"wing electric pump", "wing circuit", "left pump line"} <= drawn
    assert "body circuit" not in drawn
    assert list(faults(read_sheet(svg))) == []
    assert str(drawing).startswith("wing electric pump, wing circuit, approach (on S94-100): 1 ")


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
