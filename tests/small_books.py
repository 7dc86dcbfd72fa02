"""Small books for tests: a chapter of a few lines of YAML, read like any other book."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tellback.book.model import Book
from tellback.book.reader import read
from tellback.diagnostics import Diagnostic, render

DEFAULT = """\
type: Test type
manual: Test manual
revision: 1
variants:
  T1: {serials: 1-10}
starting states:
  normal: {}
"""
FLEET = """\
type: Test type
variants:
  T1: {serials: 1-10}
  T2: {serials: 11-20}
starting states:
  normal: {}
"""
HEAD = "chapter: 24\ntitle: Test\n"


def write_book(
    folder: Path,
    chapter_text: str,
    type_text: str = DEFAULT,
    claims: str = "",
    procedures: str = "",
    numbers: str = "",
    scenarios: str = "",
) -> Path:
    """Writes a book of one chapter into the folder; a heading is added if there is none."""
    (folder / "chapters").mkdir(exist_ok=True)
    (folder / "type.yaml").write_text(type_text, encoding="utf-8")
    text = chapter_text if "chapter:" in chapter_text else HEAD + chapter_text
    (folder / "chapters" / "24-test.yaml").write_text(text, encoding="utf-8")
    if claims:
        (folder / "claims.yaml").write_text(claims, encoding="utf-8")
    folders = {"procedures": procedures, "numbers": numbers, "scenarios": scenarios}
    for within, of_folder in folders.items():
        if of_folder:
            (folder / within).mkdir(exist_ok=True)
            (folder / within / "test.yaml").write_text(of_folder, encoding="utf-8")
    return folder


def read_text(
    chapter_text: str,
    type_text: str = DEFAULT,
    claims: str = "",
    procedures: str = "",
    numbers: str = "",
    scenarios: str = "",
) -> tuple[Book | None, tuple[Diagnostic, ...]]:
    """What reading such a book gives."""
    with tempfile.TemporaryDirectory() as folder:
        texts = chapter_text, type_text, claims, procedures, numbers, scenarios
        return read(write_book(Path(folder), *texts))


def book_of(
    chapter_text: str,
    type_text: str = DEFAULT,
    claims: str = "",
    procedures: str = "",
    numbers: str = "",
    scenarios: str = "",
) -> Book:
    """The book of these texts; fails the test, showing the errors, if it has any."""
    book, found = read_text(chapter_text, type_text, claims, procedures, numbers, scenarios)
    assert book is not None, "\n" + "\n".join(render(d) for d in found)
    return book
