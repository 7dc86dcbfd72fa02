"""A chapter may say what its drawing has on a sheet together, and what it leaves out."""

from __future__ import annotations

from pathlib import Path

import pytest

from tellback.book.model import Sheet
from tellback.book.opening import read
from tellback.diagnostics import render
from tests.small_books import read_text, write_book

CHAPTER = """\
chapter: 29
title: Hydraulics
controls:
  pump switch: {positions: [OFF, ON]}
units:
  first pump: {kind: pump, runs when: pump switch at ON}
  second pump: {kind: pump}
supplies:
  circuit: {kind: circuit, fed by: [first pump, second pump]}
"""


def test_sheets_and_what_is_left_out_are_read_in_the_order_written(tmp_path: Path) -> None:
    added = "sheets:\n  power  and more: [Circuit, first pump]\nnot drawn: [second pump]\n"
    write_book(tmp_path, CHAPTER + added)
    (chapter,) = read(tmp_path).chapters
    assert chapter.sheets == (Sheet("power and more", (("circuit", "first pump"),)),)
    assert chapter.not_drawn == ("second pump",)


@pytest.mark.parametrize(
    ("added", "line", "column", "message"),
    [
        ("sheets: {a: [first pomp]}\n", 10, 14, "there is nothing called `first pomp`"),
        ("sheets: {a: [pump switch]}\n", 10, 14, "`pump switch` is a control; a unit or supply"),
        (
            "sheets: {a: [circuit], b: [circuit]}\n",
            10,
            28,
            "`circuit` is already on the sheet `a`",
        ),
        (
            "sheets: {a: [circuit]}\nnot drawn: circuit\n",
            11,
            12,
            "`circuit` is also on the sheet `a`",
        ),
        ("sheets: {a: }\n", 10, 13, "the sheet `a` wants a list of things"),
        ("sheets: {a: [circuit, {b: c}]}\n", 10, 13, "the sheet `a` wants a list of things"),
        ("sheets: {a: [[circuit], first pump]}\n", 10, 25, "the sheet `a` wants a list of things"),
        ("sheets: {a: [[circuit], []]}\n", 10, 25, "the sheet `a` wants a list of things"),
        ("sheets: {a: [[circuit], [circuit]]}\n", 10, 26, "`circuit` is already on the sheet"),
        ("sheets: {a: {b: c}}\n", 10, 13, "the sheet `a` wants a list of things"),
        ("sheets: [circuit]\n", 10, 9, "`sheets` wants a mapping of names"),
    ],
)
def test_what_cannot_be_drawn_so_is_told_where_it_stands(
    added: str, line: int, column: int, message: str
) -> None:
    _, found = read_text(CHAPTER + added)
    first = found[0]
    assert (first.place.line, first.place.column) == (line, column), render(first)
    assert first.message.startswith(message)


def test_what_another_chapter_declares_is_drawn_there(tmp_path: Path) -> None:
    write_book(tmp_path, CHAPTER)
    other = "chapter: 32\ntitle: Gear\nsheets: {a: [circuit]}\n"
    (tmp_path / "chapters" / "32.yaml").write_text(other, encoding="utf-8")
    with pytest.raises(ValueError, match="`circuit` belongs to another chapter"):
        read(tmp_path)
