"""What a line tells: thick where something passes, thin where only live, broken where dead."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

import tellback as tb
from tellback.book.model import Book
from tellback.draw.lettering import width
from tellback.draw.svg import WIDE
from tests.small_books import write_book

SVG = "{http://www.w3.org/2000/svg}"
CHAPTER = """\
chapter: 24
title: Power
controls:
  left switch: {positions: [OFF, ON], normally: ON}
  right switch: {positions: [OFF, ON], normally: ON}
  tie switch: {positions: [OPEN, CLOSED]}
  valve lever: {positions: [SHUT, CONTROL, OPEN], normally: CONTROL}
units:
  left generator: {kind: generator, fails: [stops]}
  right generator: {kind: generator, fails: [stops]}
  left contactor: {kind: contactor, runs when: left switch at ON}
  right contactor: {kind: contactor, runs when: right switch at ON}
  tie: {kind: contactor, needs: [left bus], runs when: tie switch at CLOSED}
  lamp: {kind: lamp, needs: [left bus]}
supplies:
  left bus:
    kind: bus
    fed by: [{from: left generator, through: [left contactor closed]}]
  right bus:
    kind: bus
    fed by:
      - {from: right generator, through: [right contactor closed]}
      - {from: left bus, through: [tie closed]}
surfaces:
  outflow valve:
    kind: valve
    points: [SHUT, CONTROL, OPEN]
    drives: {lever: {to: valve lever}}
"""


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder: Path = tmp_path_factory.mktemp("currents")
    write_book(folder, CHAPTER)
    return tb.read(folder)


def lines(book: Book, *changes: str) -> dict[tuple[str, str], ElementTree.Element]:
    (sheet,) = tb.schematic(book, "24", changes=changes).sheets
    return {
        (line.get("data-from", ""), line.get("data-to", "")): line
        for line in ElementTree.fromstring(sheet).iter(f"{SVG}polyline")
    }


def currents(book: Book, *changes: str) -> dict[tuple[str, str], str]:
    return {ends: line.get("data-current", "") for ends, line in lines(book, *changes).items()}


def test_a_tie_that_is_open_between_two_live_buses_is_live_on_both_sides(book: Book) -> None:
    found = currents(book)
    assert found["left generator", "left contactor"] == "carries"
    assert found["left contactor", "left bus"] == "carries"
    assert found["left bus", "tie"] == "live"
    assert found["tie", "right bus"] == "live"


def test_a_source_that_stands_by_is_only_live(book: Book) -> None:
    found = currents(book, "right switch: OFF", "tie switch: CLOSED")
    assert found["right generator", "right contactor"] == "live"
    assert found["right contactor", "right bus"] == "live"  # from the bus, which the tie feeds
    assert found["left bus", "tie"] == found["tie", "right bus"] == "carries"


def test_what_is_dead_is_broken(book: Book) -> None:
    found = currents(book, "right generator: stops")
    assert found["right generator", "right contactor"] == "dead"
    assert found["right contactor", "right bus"] == "dead"
    assert found["left bus", "tie"] == "live"
    assert found["tie", "right bus"] == "dead"


def test_thickness_tells_what_passes_and_dashes_what_is_dead(book: Book) -> None:
    found = lines(book, "right generator: stops")
    widths = {ends: float(line.get("stroke-width", "0")) for ends, line in found.items()}
    assert widths["left contactor", "left bus"] == 4
    assert widths["left bus", "lamp"] == 3
    assert widths["left bus", "tie"] < 2  # joined, and the tie's own coil
    assert not found["left bus", "tie"].get("stroke-dasharray")
    assert found["tie", "right bus"].get("stroke-dasharray")


def test_a_valve_that_controls_is_drawn_open_in_part(book: Book) -> None:
    def triangles(*changes: str) -> list[str]:
        (sheet,) = tb.schematic(book, "24", changes=changes).sheets
        return [
            "filled" if path.get("fill") != "none" else "empty"
            for path in ElementTree.fromstring(sheet).iter(f"{SVG}path")
            if path.get("d", "").endswith("L17 17 L3 26 Z")
            or "L17 17 L31 26 Z" in path.get("d", "")
        ]

    assert triangles() == ["filled", "empty"]
    assert triangles("valve lever: OPEN") == ["empty", "empty"]
    assert triangles("valve lever: SHUT") == ["filled", "filled"]


def test_the_legend_ends_within_the_sheet(book: Book) -> None:
    (sheet,) = tb.schematic(book, "24").sheets
    texts = [
        float(text.get("x", "0")) + width(text.text or "")
        for text in ElementTree.fromstring(sheet).iter(f"{SVG}text")
        if text.text in ("elsewhere", "failed")
    ]
    assert len(texts) == 2
    assert max(texts) <= WIDE - 20
