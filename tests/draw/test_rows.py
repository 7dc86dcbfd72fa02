"""What a book puts in rows stands so, whatever crosses."""

from __future__ import annotations

from itertools import pairwise

import pytest

import tellback as tb
from tests.draw.geometry import faults, read_sheet
from tests.small_books import book_of

CHAPTER = """\
chapter: 29
title: Hydraulics
controls:
  pump switch: {positions: [OFF, ON], normally: ON}
units:
  first pump: {kind: pump, runs when: pump switch at ON}
  second pump: {kind: pump}
  third pump: {kind: pump}
  jack: {kind: actuator, needs: [circuit]}
  horn: {kind: horn, needs: [other circuit]}
supplies:
  circuit: {kind: circuit, fed by: [first pump, second pump]}
  other circuit: {kind: circuit, fed by: [third pump]}
"""

ALONG = [
    ["second pump", "first pump", "third pump"],
    ["other circuit", "circuit"],
    ["jack", "horn"],
]
AGAINST = [["jack"], ["circuit"], ["third pump", "second pump", "first pump"], ["other circuit"]]
APART = [["horn", "first pump"], ["other circuit"], ["jack", "third pump", "circuit"]]


@pytest.mark.parametrize("rows", [ALONG, ALONG[::-1], AGAINST, APART])
def test_rows_stand_one_below_the_other_each_in_its_order(rows: list[list[str]]) -> None:
    written = ", ".join(f"[{', '.join(row)}]" for row in rows)
    (svg,) = tb.schematic(book_of(f"{CHAPTER}sheets: {{all: [{written}]}}\n"), "29").sheets[:1]
    sheet = read_sheet(svg)
    assert not list(faults(sheet))
    boxes = {box.owner: box for box in sheet.boxes}
    bands = [[boxes[name] for name in row] for row in rows]
    for above, below in pairwise(bands):
        assert max(box.bottom for box in above) <= min(box.top for box in below)
    for band in bands:
        for one, other in pairwise(band):
            same_layer = one.top < other.bottom and other.top < one.bottom
            assert not same_layer or one.right <= other.left
