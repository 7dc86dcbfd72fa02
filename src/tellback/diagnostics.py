"""Where something stands in a book and what is wrong there: data, and the one formatter."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """A place in a file; line and column count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One fault or finding: `kind` is "error" or "finding", `code` a stable short name.

    `line_text` is the line of the file itself (empty where there is none), `width` the number of
    characters to mark, `mend` what would put it right.
    """

    kind: str
    code: str
    place: Place
    message: str
    mend: str = ""
    line_text: str = ""
    width: int = 1


def render(diagnostic: Diagnostic) -> str:
    """One paragraph: the place, what is wrong, the line with a mark under it, the mend."""
    lines = [f"{diagnostic.place}: {diagnostic.kind}: {diagnostic.message}"]
    if diagnostic.line_text:
        lines += marked(diagnostic.line_text, diagnostic.place.column - 1, diagnostic.width)
    if diagnostic.mend:
        lines.append(f"  {diagnostic.mend}")
    return "\n".join(lines)


def as_json(diagnostic: Diagnostic) -> dict[str, str | int]:
    """The same as plain data, for `--json`."""
    return {
        "kind": diagnostic.kind,
        "code": diagnostic.code,
        "file": diagnostic.place.file,
        "line": diagnostic.place.line,
        "column": diagnostic.place.column,
        "message": diagnostic.message,
        "mend": diagnostic.mend,
    }


def in_order(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Sorted by file and place, errors before findings of the same place, each told once."""
    return tuple(
        sorted(
            set(diagnostics),
            key=lambda d: (d.place.file, d.place.line, d.place.column, d.kind, d.message),
        )
    )


def marked(text: str, column: int, width: int) -> list[str]:
    """A line of text, or the part of a long one around the column (from 0), with a mark under it.

    What would break the line is shown as a space.
    """
    shown, start = _window(re.sub(r"\s", " ", text), column)
    mark = "^" * max(1, min(width, len(shown) - start))
    return [f"    {shown}", f"    {' ' * start}{mark}"]


def _window(text: str, column: int, width: int = 110) -> tuple[str, int]:
    """The part of a long line around the column, and the column within it."""
    if len(text) <= width:
        return text, min(column, len(text))
    start = max(0, column - width // 2)
    return text[start : start + width], column - start
