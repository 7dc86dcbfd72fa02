"""The node tree of a YAML file: written texts, pairs and items, each with its place."""

from __future__ import annotations

from typing import NamedTuple

from tellback.book.sources import Source
from tellback.diagnostics import Place


class Filling(NamedTuple):
    """Where the text of a scalar was filled in for `<n>`: new start and length, old length."""

    start: int
    length: int
    old_length: int


class Scalar(NamedTuple):
    """A text exactly as typed. `style` is empty for plain, else the quote or block sign."""

    source: Source
    line: int
    column: int
    text: str
    style: str
    end_line: int
    end_column: int
    fillings: tuple[Filling, ...] = ()

    @property
    def place(self) -> Place:
        """Where the text begins."""
        return self.source.place(self.line, self.column)

    def locate(self, offset: int) -> tuple[int, int]:
        """Line and column of the character at `offset` of the text.

        Folding and quoting change only white space, so the n-th visible character of the text is
        the n-th of the file. Where escapes make that untrue: the start of the scalar.
        """
        offset = _before_filling(self.fillings, offset)
        if not self.style and self.line == self.end_line:
            return self.line, self.column + offset
        return _nth_visible(self, offset)


class Pairs(NamedTuple):
    """A mapping in the order written; `flow` if it stands in braces."""

    source: Source
    line: int
    column: int
    pairs: tuple[tuple[Scalar, Node], ...]
    flow: bool

    @property
    def place(self) -> Place:
        """Where the first key begins, or the brace."""
        return self.source.place(self.line, self.column)


class Items(NamedTuple):
    """A list."""

    source: Source
    line: int
    column: int
    items: tuple[Node, ...]
    flow: bool

    @property
    def place(self) -> Place:
        """Where the first dash stands, or the bracket."""
        return self.source.place(self.line, self.column)


Node = Scalar | Pairs | Items


def width(node: Node) -> int:
    """How many characters of its first line to mark."""
    if isinstance(node, Scalar) and node.line == node.end_line:
        return max(1, node.end_column - node.column)
    if isinstance(node, Scalar):
        return max(1, len(node.source.line(node.line)) - node.column + 1)
    return 1


def _before_filling(fillings: tuple[Filling, ...], offset: int) -> int:
    """The offset in the text as it was before `<n>` was filled in."""
    shift = 0
    for start, length, old_length in fillings:
        if offset >= start + length:
            shift += old_length - length
        elif offset >= start:
            return start + shift
    return offset + shift


def _nth_visible(scalar: Scalar, offset: int) -> tuple[int, int]:
    written = scalar.text
    for filling in reversed(scalar.fillings):
        end = filling.start + filling.length
        written = written[: filling.start] + "?" * filling.old_length + written[end:]
    wanted = sum(1 for c in written[:offset] if not c.isspace())
    visible = sum(1 for c in written if not c.isspace())
    spots = list(_visible_spots(scalar))
    if len(spots) != visible or not spots:
        return scalar.line, scalar.column
    return spots[min(wanted, len(spots) - 1)]


def _visible_spots(scalar: Scalar) -> list[tuple[int, int]]:
    """Line and column of every visible character of the scalar, without its quotes or header."""
    first = scalar.line + 1 if scalar.style in {"|", ">"} else scalar.line
    quote = 1 if scalar.style in {"'", '"'} else 0
    spots = []
    for number in range(first, scalar.end_line + 1):
        line = scalar.source.line(number)
        start = scalar.column - 1 + quote if number == scalar.line else 0
        end = scalar.end_column - 1 - quote if number == scalar.end_line else len(line)
        spots += [(number, i + 1) for i in range(start, end) if not line[i].isspace()]
    return spots
