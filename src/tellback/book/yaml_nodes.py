"""Reads a YAML file into a tree of written texts with their places.

Works on the parser's events, so no value is ever turned into anything but the characters typed.
Refuses what could hide a mistake (tabs, tags, aliases, double keys) or exhaust the machine.
"""

from __future__ import annotations

import re
import stat
from collections.abc import Iterable
from itertools import islice
from pathlib import Path
from typing import Any

import yaml

from tellback.book import parted
from tellback.book.nodes import Items, Node, Pairs, Scalar
from tellback.book.sources import MOST_PER_FILE, Report, Source
from tellback.book.yaml_faults import describe
from tellback.characters import UNSEEN, all_seen
from tellback.diagnostics import Diagnostic, Place

MOST_BYTES = 2_000_000
MOST_VALUES = 150_000
MOST_DEPTH = 30
PARTED = "parted-number"

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_TAB_INDENT = re.compile(r"[ ]*\t[ \t]*(?=\S)")
_CUT = re.compile(r"[ \t]+#(?=[^\s#])\S*")


class _Stop(Exception):
    """Reading this file ends here; what is wrong has been reported."""


def read_file(
    path: Path, shown: str, report: Report, most_values: int = MOST_VALUES
) -> Node | None:
    """The tree of a file, or None with the faults reported; `shown` names the file in them."""
    source_text = _text(path, shown, report)
    if source_text is None:
        return None
    return parse(source_text, shown, report, most_values)


def count(node: Node | None) -> int:
    """How many values a tree has, keys included."""
    if isinstance(node, Pairs):
        return 1 + sum(1 + count(value) for _, value in node.pairs)
    if isinstance(node, Items):
        return 1 + sum(map(count, node.items))
    return 0 if node is None else 1


def parse(text: str, shown: str, report: Report, most_values: int = MOST_VALUES) -> Node | None:
    """The tree of a YAML text, or None with the faults reported."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    source = Source(shown, tuple(text.split("\n")))
    if _has_bad_characters(source, report):
        return None
    before = len(report.found)
    builder = _Builder(text, source, report, most_values)
    try:
        node = builder.document()
    except _Stop:
        return None
    except yaml.YAMLError as error:
        if not any(d.code == "cut-value" for d in report.found[before:]):
            line, column, message, mend = describe(error, source)
            report.at(source, line, column, "yaml", message, mend)
        return None
    # a text that a comma has parted is whole again, so that the rest can be read with it
    unread = any(fault.code != PARTED for fault in report.found[before:])
    return None if unread else node


def _text(path: Path, shown: str, report: Report) -> str | None:
    def refuse(code: str, message: str, mend: str) -> None:
        report.add(Diagnostic("error", code, Place(shown, 1, 1), message, mend))

    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            refuse("not-a-file", "this is not a file", "Put a plain text file here, or remove it.")
            return None
        if status.st_size > MOST_BYTES:
            refuse("too-big", "the file is bigger than 2 MB", "Split it into several chapters.")
            return None
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except OSError as error:
        missing = isinstance(error, FileNotFoundError)
        why = "it is not there" if missing else (error.strerror or str(error)).casefold()
        why = "the link leads nowhere" if missing and path.is_symlink() else why
        mend = "Put the file in its place; or this is not the folder of a type book."
        mend = mend if missing else "Look at its rights: you must be allowed to read it."
        refuse("unreadable", f"the file cannot be read: {why}", mend)
        return None
    return _decode(data, shown, report)


def _decode(data: bytes, shown: str, report: Report) -> str | None:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        line_start = data.rfind(b"\n", 0, error.start) + 1
        column = len(data[line_start : error.start].decode("utf-8", "replace")) + 1
        message = f"the file is not written in UTF-8: byte {data[error.start]:02X} does not fit"
        mend = "Save the file again with the encoding UTF-8."
        report.add(Diagnostic("error", "encoding", Place(shown, line, column), message, mend))
        return None


def _has_bad_characters(source: Source, report: Report) -> bool:
    if all(line.isascii() and line.isprintable() for line in source.lines):
        return False
    before = len(report.found)
    # what would not show, or would steer the terminal, is not printed either
    shown = Source(source.file, tuple(re.sub(UNSEEN, "\ufffd", line) for line in source.lines))
    for number, line in enumerate(source.lines, 1):
        if not line.isascii() or not line.isprintable():
            _check_characters(shown, number, line, report)
        if len(report.found) - before > MOST_PER_FILE:
            break
    return len(report.found) > before


def _check_characters(source: Source, number: int, line: str, report: Report) -> None:
    for match in islice(re.finditer(UNSEEN, line), MOST_PER_FILE):
        name = f"U+{ord(match[0]):04X}"
        message = f"there is an unseen control character here ({name})"
        report.at(source, number, match.start() + 1, "control-character", message, "Delete it.")
    tabs = _TAB_INDENT.match(line)
    if tabs:
        column = line.index("\t") + 1
        message = "the line is indented with a tab"
        width = tabs.end() - column + 1
        report.at(source, number, column, "tab", message, "Indent with spaces.", width)


class _Builder:
    """Builds the tree from events; one document, no anchors, no tags."""

    def __init__(self, text: str, source: Source, report: Report, most_values: int) -> None:
        self.events = _Loader(text)
        self.source = source
        self.report = report
        self.values = 0
        self.most_values = most_values

    def document(self) -> Node:
        self.events.get_event()
        event = self.events.get_event()
        if isinstance(event, yaml.StreamEndEvent):
            return Scalar(self.source, 1, 1, "", "", 1, 1)
        node = self.node(self.events.get_event(), 1)
        self.events.get_event()
        event = self.events.get_event()
        if not isinstance(event, yaml.StreamEndEvent):
            self.refuse(
                event, "documents", "a second document begins here", "Keep one document in a file."
            )
        return node

    def node(self, event: Any, depth: int) -> Node:
        self.values += 1
        if self.values > self.most_values:
            self.report.is_full = True
            self.refuse(
                event,
                "too-many-values",
                f"the book has more than {MOST_VALUES:,} values up to here; the rest is not read",
                "Make it smaller, or several books of it.",
            )
        if isinstance(event, yaml.AliasEvent):
            self.refuse(
                event,
                "alias",
                f"`*{event.anchor}` repeats another part of the file",
                "Write it out, or use `for each`. A text that begins with * needs quotes.",
            )
        self.check_plain_node(event)
        if isinstance(event, yaml.ScalarEvent):
            return self.scalar(event)
        if depth > MOST_DEPTH:
            self.refuse(
                event,
                "too-deep",
                f"the file is nested deeper than {MOST_DEPTH} levels",
                "Write it flatter.",
            )
        if isinstance(event, yaml.MappingStartEvent):
            return self.pairs(event, depth)
        return self.items(event, depth)

    def scalar(self, event: Any) -> Scalar:
        start, end = event.start_mark, event.end_mark
        style = event.style or ""
        node = Scalar(
            self.source, start.line + 1, start.column + 1, event.value, style,
            end.line + 1, end.column + 1,
        )  # fmt: skip
        if not style:
            self.check_cut(node)
        elif style == '"':
            self.check_escapes(node)
        return node

    def pairs(self, event: Any, depth: int) -> Pairs:
        found: list[tuple[Scalar, Node]] = []
        seen: dict[str, int] = {}
        while not isinstance(inner := self.events.get_event(), yaml.MappingEndEvent):
            key = self.node(inner, depth + 1)
            value = self.node(self.events.get_event(), depth + 1)
            if found and (whole := parted.value_with(found[-1], key, value)):
                found[-1] = found[-1][0], whole
            elif isinstance(key, Scalar):
                self.check_double(key, seen)
                found.append((key, value))
            else:
                self.fault(inner, "key", "a key must be a name", "Put a name before the colon.")
        if event.flow_style:
            self.check_parted([value for _, value in found], "{ }")
        mark = event.start_mark
        return Pairs(
            self.source, mark.line + 1, mark.column + 1, tuple(found), bool(event.flow_style)
        )

    def items(self, event: Any, depth: int) -> Items:
        found: list[Node] = []
        while not isinstance(inner := self.events.get_event(), yaml.SequenceEndEvent):
            item = self.node(inner, depth + 1)
            whole = parted.item_with(found[-1], item) if found else None
            found[-1:] = [whole] if whole else [*found[-1:], item]
        if event.flow_style:
            self.check_parted(found, "[ ]")
        mark = event.start_mark
        return Items(
            self.source, mark.line + 1, mark.column + 1, tuple(found), bool(event.flow_style)
        )

    def check_parted(self, values: Iterable[Node], brackets: str) -> None:
        """Reports the texts in braces or brackets that were put together again."""
        for value in values:
            if isinstance(value, Scalar) and not value.style and "," in value.text:
                line, column = value.locate(value.text.index(","))
                self.report.at(
                    self.source, line, column, PARTED,
                    f"within {brackets} a comma ends the text, even in a number",
                    parted.mend(value),
                )  # fmt: skip

    def check_plain_node(self, event: Any) -> None:
        if event.anchor is not None:
            self.fault(
                event,
                "anchor",
                f"`&{event.anchor}` marks a part for repeating",
                "Write it out, or use `for each`. A text that begins with & needs quotes.",
                len(event.anchor) + 1,
            )
        if event.tag is not None:
            self.fault(
                event,
                "tag",
                f"`{_short_tag(event.tag)}` is a YAML tag; a book has none",
                "Take it out. A text that begins with ! needs quotes.",
            )

    def check_double(self, key: Scalar, seen: dict[str, int]) -> None:
        folded = " ".join(key.text.casefold().split())
        if folded in seen:
            self.report.at(
                self.source, key.line, key.column, "double-key",
                f"`{key.text}` stands here twice; it is already on line {seen[folded]}",
                "Keep one of them, or rename one.", max(1, len(key.text)),
            )  # fmt: skip
        seen.setdefault(folded, key.line)

    def check_escapes(self, node: Scalar) -> None:
        hidden = next((c for c in node.text if c != "\n" and not all_seen(c)), None)
        if hidden is not None:
            self.report.at(
                self.source, node.line, node.column, "control-character",
                f"an escape in this text stands for an unseen character (U+{ord(hidden):04X})",
                "Take it out, or write what is to be seen.",
            )  # fmt: skip

    def check_cut(self, node: Scalar) -> None:
        line = self.source.line(node.end_line)
        match = _CUT.match(line, node.end_column - 1)
        if match:
            mark = line.index("#", match.start())
            self.report.at(
                self.source, node.end_line, mark + 1, "cut-value",
                f"the text ends before `{line[mark:match.end()]}`, as # after a space begins "
                "a comment",
                "Put the text in quotes; or leave a space after # if it is a comment.",
                match.end() - mark,
            )  # fmt: skip

    def fault(self, event: Any, code: str, message: str, mend: str, width: int = 1) -> None:
        mark = event.start_mark
        self.report.at(self.source, mark.line + 1, mark.column + 1, code, message, mend, width)

    def refuse(self, event: Any, code: str, message: str, mend: str) -> None:
        self.fault(event, code, message, mend)
        raise _Stop


def _short_tag(tag: str) -> str:
    return tag.replace("tag:yaml.org,2002:", "!!")
