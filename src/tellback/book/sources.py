"""A file's text with its lines, and the collector of what is wrong in it."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

from tellback.diagnostics import Diagnostic, Place, in_order

MOST_PER_FILE = 200


class Source(NamedTuple):
    """A file as read: its name within the book, and its lines without their ends."""

    file: str
    lines: tuple[str, ...]

    def place(self, line: int, column: int) -> Place:
        """The place at that line and column, both counted from 1."""
        return Place(self.file, line, column)

    def line(self, number: int) -> str:
        """The line of that number, empty beyond the end of the file."""
        return self.lines[number - 1] if 0 < number <= len(self.lines) else ""


class Report:
    """Collects diagnostics while a book is read; keeps the first two hundred of each file.

    `unread_files` tells that some file was not read, `is_full` that the book is too big to go on.
    """

    def __init__(self) -> None:
        self.found: list[Diagnostic] = []
        self.unread_files = False
        self.is_full = False
        self._counts: Counter[str] = Counter()

    def add(self, diagnostic: Diagnostic) -> None:
        """Keep a diagnostic, or only count it where the file has too many already."""
        self._counts[diagnostic.place.file] += 1
        if self._counts[diagnostic.place.file] <= MOST_PER_FILE:
            self.found.append(diagnostic)

    def at(
        self,
        source: Source,
        line: int,
        column: int,
        code: str,
        message: str,
        mend: str = "",
        width: int = 1,
        kind: str = "error",
    ) -> None:
        """Keep what is wrong at a line and column of a file."""
        place = source.place(line, column)
        self.add(Diagnostic(kind, code, place, message, mend, source.line(line), width))

    @property
    def has_errors(self) -> bool:
        """Whether anything but findings was reported."""
        return any(d.kind == "error" for d in self.found)

    def all(self) -> tuple[Diagnostic, ...]:
        """Everything in order of place; where a file has too many, the last says how many more."""
        told = list(self.found)
        for file, count in self._counts.items():
            if count > MOST_PER_FILE:
                message = f"{count - MOST_PER_FILE} more faults in this file are not shown"
                last = max(d.place.line for d in told if d.place.file == file)
                told.append(Diagnostic("error", "more-faults", Place(file, last, 1), message))
        return in_order(told)
