"""A file of a type book laid out afresh: its keys in one order, its lines of one width."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import yaml

from tellback.book import keys
from tellback.book.remarks import Document, Entry, block_header, document_of, end_of_block_text

WIDTH = 100
STEP = 2
_EACH = ("for each",)
_NAMING = ("also called", "was", "kind")
_BACKING = ("source", "why", "applies to", "note")
_BREAKS = re.compile(r" (?=[\w(<])")


class Within(NamedTuple):
    """What a mapping or list holds: a kind of the table of keys, or names of such (`named`)."""

    kind: str = ""
    named: bool = False


def laid_out(text: str, within: Within) -> str:
    """The text with its keys in order, even indentation, and no line longer than it must be.

    No comment is lost. The text must be sound YAML as the reader takes it.
    """
    document = document_of(text)
    lines = _without_first_blank(_Layout(text).document(document, within))
    return "\n".join([*lines, ""])


def under(within: Within, key: str) -> Within:
    """What the value under a key holds."""
    if within.named or within.kind not in keys.KEYS:
        return Within(within.kind if within.named else "")
    found = keys.look_up(within.kind, key)
    if found is None:
        return Within()
    if found.key.type == "statement":
        free = within.kind == "surface" and "POSITION" in found.key.name
        return Within("free drive" if free else "statement", found.any_of)
    return Within(found.key.of, found.key.type == "named")


class _Layout:
    """Writes entries out as lines; `source` are the lines they were read from."""

    def __init__(self, text: str) -> None:
        self.source = text.split("\n")

    def document(self, document: Document, within: Within) -> list[str]:
        if document.root is None:
            return document.head
        if not document.entries:
            return [*document.head, *self._value("", document.root, 0), *document.tail]
        gap, document.entries[0].before = document.entries[0].before, []
        lines = self._entries(document.entries, within, 0)
        return [*document.head, *gap, *_without_first_blank(lines), *document.tail]

    def _entries(self, entries: Sequence[Entry], within: Within, indent: int) -> list[str]:
        return [
            line
            for entry in in_order(entries, within)
            for line in self._entry(entry, within, indent)
        ]

    def _entry(self, entry: Entry, within: Within, indent: int) -> list[str]:
        below = under(within, entry.key.value) if entry.key is not None else within
        lead = " " * indent + (f"{self._key(entry.key)}:" if entry.key is not None else "-")
        above = list(entry.before)
        beside = entry.beside
        if self._in_block(entry, lead, below):
            body = self._entries(entry.children, below, indent + STEP)
            if entry.key is None:
                above += [beside] * bool(beside)
                remarks, body = _leading_remarks(body)
                above += remarks
                body[0] = lead + " " * (STEP - 1) + body[0].lstrip(" ")
            else:
                body = [_with_beside(lead, beside), *_without_first_blank(body)]
        else:
            body = self._short(entry, lead, below, indent)
            body[0] = _with_beside(body[0], beside)
        return [*_indented(above, indent), *body, *_indented(entry.after, indent)]

    def _in_block(self, entry: Entry, lead: str, within: Within) -> bool:
        """Whether the value is written on lines of its own, entry by entry."""
        if not entry.children:
            return False
        if not entry.value.flow_style or entry.holds_comments:
            return True
        short = self._in_braces(entry, within)
        return short is None or len(lead) + 1 + len(short) > WIDTH

    def _short(self, entry: Entry, lead: str, within: Within, indent: int) -> list[str]:
        if entry.children:
            return [f"{lead} {self._in_braces(entry, within)}"]
        return self._value(lead, entry.value, indent)

    # -- values without entries -----------------------------------------------------------------

    def _value(self, lead: str, node: Any, indent: int) -> list[str]:
        if not isinstance(node, yaml.ScalarNode):
            empty = "{}" if isinstance(node, yaml.MappingNode) else "[]"
            return [f"{lead} {empty}" if lead else empty]
        if node.style in {"|", ">"}:
            return self._block_text(lead, node, indent)
        if _keeps_its_lines(node):
            return self._as_written(lead, node, indent + 2 * STEP)
        return _folded(f"{lead} {self._text(node)}".rstrip(), node, indent + 2 * STEP)

    def _text(self, node: Any) -> str:
        """A scalar of one line as it was typed."""
        if not node.style:
            return str(node.value)
        start, end = node.start_mark, node.end_mark
        return str(self.source[start.line][start.column : end.column])

    def _key(self, node: Any) -> str:
        one_line = node.start_mark.line == node.end_mark.line and node.style not in {"|", ">"}
        return self._text(node) if one_line else json.dumps(node.value, ensure_ascii=False)

    def _as_written(self, lead: str, node: Any, indent: int) -> list[str]:
        """A text over several lines, its line breaks kept."""
        first, last = node.start_mark, node.end_mark
        rest = [*self.source[first.line + 1 : last.line], self.source[last.line][: last.column]]
        lines = [" " * indent + line.lstrip() if line.strip() else "" for line in rest]
        return [f"{lead} {self.source[first.line][first.column :]}", *lines]

    def _block_text(self, lead: str, node: Any, indent: int) -> list[str]:
        header = block_header(node, self.source)
        if not node.value.endswith("\n") and "-" not in header:
            header += "-"
        own = self.source[node.start_mark.line + 1 : end_of_block_text(node, self.source)]
        digit = re.search(r"\d", header)
        inset = _inset(own) if digit is None else _inset_before(own, node.value)
        new = " " * (indent + (int(digit[0]) if digit else STEP))
        return [f"{lead} {header}", *(new + line[inset:] if line.strip() else "" for line in own)]

    # -- braces ---------------------------------------------------------------------------------

    def _in_braces(self, entry: Entry, within: Within) -> str | None:
        """The value of an entry on one line; None if it cannot be."""
        parts = []
        for child in in_order(entry.children, within):
            part = self._part(child, within)
            if part is None:
                return None
            parts.append(part)
        joined = ", ".join(parts)
        return f"{{{joined}}}" if isinstance(entry.value, yaml.MappingNode) else f"[{joined}]"

    def _part(self, entry: Entry, within: Within) -> str | None:
        below = under(within, entry.key.value) if entry.key is not None else within
        value = self._part_value(entry, below)
        if value is None or entry.key is None:
            return value
        key = self._key(entry.key)
        return f"{key}: {value}" if value else key

    def _part_value(self, entry: Entry, within: Within) -> str | None:
        node = entry.value
        if entry.children:
            return self._in_braces(entry, within)
        if not isinstance(node, yaml.ScalarNode):
            return "{}" if isinstance(node, yaml.MappingNode) else "[]"
        if _keeps_its_lines(node):
            return None
        return self._text(node)


def _keeps_its_lines(node: Any) -> bool:
    """Whether it is a text over several lines that may not be folded otherwise."""
    return bool(node.style or "\n" in node.value) and node.start_mark.line != node.end_mark.line


def in_order(entries: Sequence[Entry], within: Within) -> list[Entry]:
    """Entries in the order of their keys; what is no key stays after what it followed."""
    if within.named or within.kind not in keys.KEYS or any(e.key is None for e in entries):
        return list(entries)
    table = {key: rank for rank, key in enumerate(_table(within.kind))}
    ranks: dict[Entry, int] = {}
    rank = 0
    for entry in entries:
        found = keys.look_up(within.kind, entry.key.value) if entry.key is not None else None
        rank = table[found.key] if found else rank
        ranks[entry] = rank
    return sorted(entries, key=lambda entry: ranks[entry])


def _table(kind: str) -> list[keys.Key]:
    """The keys of a kind: what names a thing, then what it does, then what backs that up.

    A file and a procedure keep to the table, as their source is part of their heading.
    """
    if kind.endswith(" file") or kind == "procedure":
        return list(keys.KEYS[kind])
    groups = {name: group for group, names in enumerate((_EACH, _NAMING, (), _BACKING))
              for name in names}  # fmt: skip
    return sorted(keys.KEYS[kind], key=lambda key: groups.get(key.name, 2))


def _folded(line: str, node: Any, indent: int) -> list[str]:
    """A long plain text over several lines, the later ones set in."""
    if len(line) <= WIDTH or node.style or "  " in node.value:
        return [line]
    lines = []
    while len(line) > WIDTH:
        start = len(line) - len(line.lstrip())
        spots = [m.start() for m in _BREAKS.finditer(line, start + 1) if _may_break(line, m)]
        within = [spot for spot in spots if spot <= WIDTH] or spots[:1]
        if not within:
            break
        lines.append(line[: within[-1]])
        line = " " * indent + line[within[-1] + 1 :]
    return [*lines, line]


def _may_break(line: str, found: re.Match[str]) -> bool:
    """Not within the key before the text, nor right after its colon."""
    return ": " not in line[found.start() :] and not line[: found.start()].endswith(":")


def _with_beside(line: str, comment: str) -> str:
    return f"{line}  {comment}" if comment else line


def _indented(lines: Iterable[str], indent: int) -> list[str]:
    return [" " * indent + line if line else "" for line in lines]


def _leading_remarks(lines: list[str]) -> tuple[list[str], list[str]]:
    """Comments (without indentation) that stand above the first entry, and the rest."""
    count = next(i for i, line in enumerate(lines) if line and not line.lstrip().startswith("#"))
    return [line.lstrip() for line in lines[:count] if line], lines[count:]


def _without_first_blank(lines: list[str]) -> list[str]:
    return lines[1:] if lines[:1] == [""] else lines


def _inset(lines: Sequence[str]) -> int:
    return min((len(line) - len(line.lstrip()) for line in lines if line.strip()), default=0)


def _inset_before(lines: Sequence[str], value: str) -> int:
    """The indentation of a block text whose first line begins with spaces of its own."""
    written = next((line for line in lines if line.strip()), "")
    meant = next((line for line in value.split("\n") if line.strip()), "")
    return len(written) - len(written.lstrip()) - (len(meant) - len(meant.lstrip()))
