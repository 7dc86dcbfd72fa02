"""The comments of a YAML text: found apart from its values, and attached to what they speak of."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import yaml

Position = tuple[int, int]
"""Line and column, both from 0."""

YamlNode = Any
"""A node of the YAML library, which has no types of its own."""


class Comment(NamedTuple):
    """A comment with its sign; `beside` if something else stands before it on the line."""

    position: Position
    text: str
    beside: bool
    blank_above: bool


@dataclass(eq=False)
class Entry:
    """A pair of a mapping (with its key) or an item of a list, and the comments that go with it.

    `before` and `after` are lines of their own; an empty one stands for a blank line.
    """

    start: Position
    key: YamlNode | None
    value: YamlNode
    parent: Entry | None
    before: list[str] = field(default_factory=list)
    beside: str = ""
    after: list[str] = field(default_factory=list)
    children: list[Entry] = field(default_factory=list)

    @property
    def holds_comments(self) -> bool:
        """Whether a comment stands within the value."""
        return any(
            child.before or child.beside or child.after or child.holds_comments
            for child in self.children
        )


@dataclass
class Document:
    """A file as entries; `head` is what stands above the first of them, `tail` below the last."""

    root: YamlNode | None
    entries: list[Entry]
    head: list[str] = field(default_factory=list)
    tail: list[str] = field(default_factory=list)


def document_of(text: str) -> Document:
    """The entries of a YAML text that is known to be sound, with every comment attached."""
    lines = text.split("\n")
    root = yaml.compose(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    values = _values(root, lines)
    document = Document(root, _entries(root, None, lines) if root is not None else [])
    every = list(_all(document.entries))
    for entry in every:
        if _first_on_its_line(entry) and _is_blank(lines, entry.start[0] - 1, values):
            entry.before.append("")
    _Attaching(document, every).attach(comments_of(lines, values))
    return document


def comments_in(text: str) -> list[str]:
    """The texts of all comments, in order."""
    lines = text.split("\n")
    root = yaml.compose(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return [comment.text for comment in comments_of(lines, _values(root, lines))]


def end_of_block_text(node: YamlNode, lines: Sequence[str]) -> int:
    """The line after the last of a block text, blank lines that do not count left out."""
    end = int(node.end_mark.line) + (1 if node.end_mark.column else 0)
    if "+" in block_header(node, lines):
        return end
    while end > node.start_mark.line + 1 and not lines[end - 1].strip():
        end -= 1
    return end


def block_header(node: YamlNode, lines: Sequence[str]) -> str:
    """The sign of a block text and what belongs to it, such as `>-`."""
    return str(lines[node.start_mark.line][node.start_mark.column :].split("#")[0].strip())


# -- where values stand ---------------------------------------------------------------------------

Spans = dict[int, list[tuple[int, int]]]
"""For each line the columns that belong to a value, from and up to."""


def _values(root: YamlNode | None, lines: Sequence[str]) -> Spans:
    spans: Spans = {}
    for node in _scalars(root):
        (first, start), (last, end) = _start(node), _end(node)
        if node.style in {"|", ">"}:
            first, start, last, end = first + 1, 0, end_of_block_text(node, lines), 0
        for line in range(first, last + 1):
            columns = start if line == first else 0, end if line == last else len(lines[line]) + 1
            spans.setdefault(line, []).append(columns)
    return spans


def _scalars(node: YamlNode | None) -> Iterator[YamlNode]:
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from _scalars(key)
            yield from _scalars(value)
    elif isinstance(node, yaml.SequenceNode):
        for item in node.value:
            yield from _scalars(item)
    elif node is not None:
        yield node


def comments_of(lines: Sequence[str], values: Spans) -> Iterator[Comment]:
    """Every comment: from a `#` that belongs to no value to the end of its line."""
    for number, line in enumerate(lines):
        for column, sign in enumerate(line):
            taken = any(start <= column < end for start, end in values.get(number, ()))
            if sign == "#" and not taken:
                beside = bool(line[:column].strip())
                blank = not beside and _is_blank(lines, number - 1, values)
                yield Comment((number, column), line[column:].rstrip(), beside, blank)
                break


def _is_blank(lines: Sequence[str], number: int, values: Spans) -> bool:
    inside = any(end > 0 for _, end in values.get(number, ()))
    return number >= 0 and not lines[number].strip() and not inside


# -- entries --------------------------------------------------------------------------------------


def _entries(node: YamlNode, parent: Entry | None, lines: Sequence[str]) -> list[Entry]:
    found = []
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            found.append(_with_children(Entry(_start(key), key, value, parent), lines))
    elif isinstance(node, yaml.SequenceNode):
        for item in node.value:
            start = _start(item) if node.flow_style else _dash(node, item, lines)
            found.append(_with_children(Entry(start, None, item, parent), lines))
    return found


def _with_children(entry: Entry, lines: Sequence[str]) -> Entry:
    entry.children = _entries(entry.value, entry, lines)
    return entry


def _dash(sequence: YamlNode, item: YamlNode, lines: Sequence[str]) -> Position:
    """Where the dash of an item stands: in the column of the list, at the item or above it."""
    column = int(sequence.start_mark.column)
    line = int(item.start_mark.line)
    while lines[line][column : column + 1] != "-":
        line -= 1
    return line, column


def _all(entries: Sequence[Entry]) -> Iterator[Entry]:
    """Entries with all below them, in the order of the text."""
    for entry in entries:
        yield entry
        yield from _all(entry.children)


def _first_on_its_line(entry: Entry) -> bool:
    return entry.parent is None or entry.parent.start[0] != entry.start[0]


# -- attaching ------------------------------------------------------------------------------------


class _Attaching:
    """Finds for each comment the entry that it speaks of."""

    def __init__(self, document: Document, entries: list[Entry]) -> None:
        self.document = document
        self.entries = entries
        self.starts = [entry.start for entry in entries]

    def attach(self, comments: Iterator[Comment]) -> None:
        """Attach each comment: every one goes to exactly one place."""
        for comment in comments:
            index = bisect_left(self.starts, comment.position)
            last = self.entries[index - 1] if index else None
            following = self.entries[index] if index < len(self.entries) else None
            if comment.beside and last is not None:
                self._beside(comment, last)
            else:
                self._alone(comment, last, following)

    def _beside(self, comment: Comment, last: Entry) -> None:
        while _closed_before(last.parent, comment) and last.parent is not None:
            last = last.parent
        if last.beside:
            last.before.append(comment.text)
        else:
            last.beside = comment.text

    def _alone(self, comment: Comment, last: Entry | None, following: Entry | None) -> None:
        lines = [""] if comment.blank_above else []
        lines.append(comment.text)
        if last is None:
            self.document.head += lines
        elif not last.children and _start(last.value) > comment.position:
            last.before += lines
        elif following is not None and _leads_to(comment, last, following):
            _insert_before(following, lines)
        elif following is None and comment.position[1] <= self.entries[0].start[1]:
            self.document.tail += lines
        else:
            _owner(comment, last).after += lines


def _leads_to(comment: Comment, last: Entry, following: Entry) -> bool:
    """Whether a comment on a line of its own speaks of what follows it."""
    below = following.parent is last
    return below or _in_braces(following) or comment.position[1] <= following.start[1]


def _insert_before(entry: Entry, lines: list[str]) -> None:
    """Above the entry, and above the blank line that stands right over it."""
    if entry.before[-1:] == [""]:
        entry.before[-1:] = [*lines, ""]
    else:
        entry.before += lines


def _owner(comment: Comment, last: Entry) -> Entry:
    """The entry that a comment under it, as far to the right at least, still belongs to."""
    entry = last
    while entry.parent is not None and (_in_braces(entry) or entry.start[1] > comment.position[1]):
        entry = entry.parent
    return entry


def _in_braces(entry: Entry) -> bool:
    return entry.parent is not None and bool(entry.parent.value.flow_style)


def _closed_before(parent: Entry | None, comment: Comment) -> bool:
    """Whether the brackets around an entry are closed before the comment."""
    if parent is None or not parent.value.flow_style:
        return False
    return _end(parent.value) <= comment.position


def _start(node: YamlNode) -> Position:
    return int(node.start_mark.line), int(node.start_mark.column)


def _end(node: YamlNode) -> Position:
    return int(node.end_mark.line), int(node.end_mark.column)
