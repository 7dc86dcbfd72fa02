"""Opening a book for use: the book, or all its errors at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tellback.book.model import Book
from tellback.book.reader import read as read_book
from tellback.diagnostics import Diagnostic, as_json, render
from tellback.refusals import Refusal


class BookErrors(Refusal, ValueError):
    """A book that cannot be used; `diagnostics` are all its errors, the message shows them."""

    def __init__(self, diagnostics: tuple[Diagnostic, ...]) -> None:
        self.diagnostics = diagnostics
        super().__init__("\n\n".join(render(d) for d in diagnostics))

    def as_json(self) -> dict[str, Any]:
        """The fault as plain data, with every diagnostic."""
        count = len(self.diagnostics)
        return {
            **super().as_json(),
            "message": f"the book has {count} error{'s' * (count != 1)}",
            "diagnostics": [as_json(d) for d in self.diagnostics],
        }


def read(folder: str | Path) -> Book:
    """The type book in a folder. Raises BookErrors with every error of every file."""
    book, diagnostics = read_book(folder)
    if book is None:
        raise BookErrors(tuple(d for d in diagnostics if d.kind == "error"))
    return book
