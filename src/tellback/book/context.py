"""What the parts of the reader share: the report, the names, and helpers for single values."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import isfinite

from tellback.book.conditions import Condition
from tellback.book.cursor import ANY_STATE, Cursor, Fault, Origin, Wrong
from tellback.book.grammar import parse_at
from tellback.book.model import Variant
from tellback.book.names import Declared, Names, fold, near
from tellback.book.nodes import Items, Node, Pairs, Scalar, width
from tellback.book.numbers import (
    SHORTER,
    TOO_LONG,
    UNKNOWN,
    duration,
    number_text,
    split_number,
    too_long,
)
from tellback.book.sources import Report
from tellback.diagnostics import Place
from tellback.units import UnitError, convert

MOST_PARTS_IN_BOOK = 300_000
_UNFILLED = re.compile(r"<[^<>\s]{1,30}>")
_JOINING = {"and", "or", "not"}


@dataclass(slots=True)
class Context:
    """One reading of a book. `source_prefix` is the manual reference of the chapter being read."""

    report: Report
    names: Names = field(default_factory=lambda: Names({}, {}))
    designations: dict[str, Variant] = field(default_factory=dict)
    know_designations: bool = True
    source_prefix: str = ""
    parts: int = 0
    values: int = 0
    _first_told: dict[tuple[Place, str], str] = field(default_factory=dict)
    _parsed: dict[tuple[str, Origin], tuple[Cursor, Condition | None]] = field(default_factory=dict)

    def error(self, node: Node, code: str, message: str, mend: str = "") -> None:
        """Report what is wrong with a node."""
        if not self._told_of_another(node, node.line, node.column, code):
            marks = width(node)
            self.report.at(node.source, node.line, node.column, code, message, mend, marks)

    def _told_of_another(self, node: Node, line: int, column: int, code: str) -> bool:
        """Whether the same was told of another member of `for each`, which stands there too."""
        if not isinstance(node, Scalar) or not node.fillings:
            return False
        place = node.source.place(line, column)
        return self._first_told.setdefault((place, code), node.text) != node.text

    def error_at(self, node: Node, code: str, offset: int, message: str, mend: str = "") -> None:
        """Report what is wrong from an offset within a text."""
        self.fault(node, Fault(offset, 1, code, message, mend))

    def fault(self, node: Node, fault: Fault, base: int = 0) -> None:
        """Report a fault of a text at its place in the file."""
        if fault.code in _NAME_FAULTS and self.report.unread_files:
            return
        line, column = node.line, node.column
        if isinstance(node, Scalar):
            line, column = node.locate(fault.offset + base)
        if self._told_of_another(node, line, column, fault.code):
            return
        self.report.at(
            node.source, line, column, fault.code, fault.message, fault.mend, fault.width,
            fault.kind,
        )  # fmt: skip

    def condition(
        self, node: Scalar, origin: Origin = ANY_STATE, base: int = 0, end: int | None = None
    ) -> Condition | None:
        """The condition in a text from `base` up to `end`, or None with its faults reported."""
        text = node.text[base:end]
        unfilled = _UNFILLED.search(text)
        if unfilled:
            self._report_unfilled(node, unfilled[0], unfilled.start() + base)
            return None
        if self.parts > MOST_PARTS_IN_BOOK:
            return None
        cursor, condition = self._parse(text, origin)
        for fault in cursor.faults:
            self.fault(node, fault, base)
        self._charge(node, cursor.size)
        return condition

    def _parse(self, text: str, origin: Origin) -> tuple[Cursor, Condition | None]:
        """The condition in a text and the cursor with its faults; many texts repeat in a book."""
        if (text, origin) not in self._parsed:
            cursor = Cursor(text, self.names, origin)
            self._parsed[text, origin] = cursor, parse_at(cursor)
        return self._parsed[text, origin]

    def name(self, node: Scalar) -> str:
        """A name to be declared, cleaned of extra spaces; empty with the fault reported."""
        text = " ".join(node.text.split())
        unfilled = _UNFILLED.search(text)
        words = text.casefold().split()
        if unfilled:
            self._report_unfilled(node, unfilled[0], node.text.find(unfilled[0]))
        elif not text:
            self.error(node, "name", "a name is missing here", "Give it a name.")
        elif len(text) > 100:
            self.error(node, "name", "the name is longer than 100 characters", "Shorten it.")
        elif set(text) & set("(),<>"):
            self.error(node, "name", "a name has no brackets or commas", "Take them out.")
        elif _JOINING & set(words):
            joining = next(word for word in words if word in _JOINING)
            message = f"`{joining}` cannot be part of a name: it joins conditions"
            whole = text.replace(" ", "-")
            self.error(node, "name", message, f"Choose another name, or join it: `{whole}`.")
        else:
            return text
        return ""

    def thing(self, node: Scalar, *forms: str) -> str:
        """The canonical name of the thing that the text names, of one of the forms; or empty."""
        name = self.names.find(node.text)
        if not name:
            perhaps = self.names.near(node.text)
            mend = _did_you_mean(perhaps) or "Declare it, or correct the name."
            message = f"there is nothing called `{node.text}` in this book"
            self.fault(node, Fault(0, width(node), "unknown-name", message, mend))
            return ""
        form = self.names.things[name].form
        if forms and form not in forms:
            wanted = " or ".join(forms)
            message = f"`{name}` is a {form}; a {wanted} is expected here"
            also = f" A unit that `runs when: {name}` will do."
            will_do = "unit" in forms and form in ("situation", "means")
            self.error(node, "wrong-form", message, f"Name a {wanted}.{also * will_do}")
            return ""
        return name

    def choice(self, node: Scalar, choices: tuple[str, ...], what: str) -> str:
        """The one of the choices that the text is, as declared; or empty with the fault."""
        known = {fold(choice): choice for choice in choices}
        folded = fold(node.text)
        if folded in known:
            return known[folded]
        if not choices:  # where they would be stated is a fault that is told already
            return ""
        shown = ", ".join(choices)
        perhaps = _did_you_mean(near(folded, known))
        mend = " ".join(part for part in (perhaps, f"Write one of {shown}.") if part)
        self.error(node, "unknown-choice", f"`{node.text}` is not {what}", mend)
        return ""

    def yes(self, node: Scalar | None) -> bool:
        """Whether the text is yes; without a text, no."""
        return node is not None and self.choice(node, ("yes", "no"), "yes or no") == "yes"

    def seconds(self, node: Scalar) -> float:
        """A time such as `24 s` in seconds; 0 with the fault reported."""
        cursor = Cursor(node.text, self.names, ANY_STATE)
        try:
            found = duration(cursor)
        except Wrong as wrong:
            self.fault(node, wrong.fault)
            return 0.0
        if cursor.next():
            self.error(node, "leftover", f"`{node.text}` is not one time", "Write it as `24 s`.")
        return found

    def number(self, node: Scalar, reading: Declared, part: str | None = None) -> float:
        """A number in the unit of a reading and within its range; its low end or 0 with a fault.

        The text is that of the node, or a part of it.
        """
        text = node.text if part is None else part
        found = self.plain_number(node, reading.unit, text)
        if found is None:
            return reading.low if isfinite(reading.low) else 0.0
        if not reading.low <= found <= reading.high:
            low, high = number_text(reading.low), number_text(reading.high)
            message = f"{text} is outside the range of `{reading.name}`: {low} to {high}"
            self.error(node, "range", message, "Correct the number or the range.")
        return found

    def plain_number(
        self, node: Scalar, unit: str, text: str | None = None, mend: str = ""
    ) -> float | None:
        """A number, with its unit or without, in the given unit; None with the fault reported."""
        words = (node.text if text is None else text).split(maxsplit=1)
        split = split_number(words[0]) if words else None
        if split is None:
            if words and too_long(words[0]):
                self.error(node, "number", TOO_LONG, SHORTER)
            else:
                self.error(node, "number", f"`{node.text}` is not a number", "Write digits.")
            return None
        if unit == UNKNOWN:
            return float(split[0])
        given = " ".join(part for part in (split[1], *words[1:]) if part)
        try:
            return convert(split[0], given or unit, unit)
        except UnitError as error:
            message, in_unit = str(error), f"Give the number in {unit}."
            if unit == "none":
                message = "this is a plain number, without a unit"
                in_unit = "Leave the unit out, or change the `unit` of the reading."
            self.error(node, "unit", message, mend or in_unit)
            return None

    def _report_unfilled(self, node: Scalar, mark: str, offset: int) -> None:
        letter = mark.strip("<>")
        message = f"`{mark}` stands for nothing here"
        mend = f"Declare it beside: `for each: {letter} in [1, 2]`."
        self.fault(node, Fault(offset, len(mark), "unfilled", message, mend))

    def _charge(self, node: Scalar, parts: int) -> None:
        self.parts += parts
        if self.parts > MOST_PARTS_IN_BOOK:
            message = "the conditions of the book have too many parts in all"
            self.error(node, "too-big", message, "Name what repeats as means.")


_NAME_FAULTS = {"unknown-name", "unknown-group"}


def _did_you_mean(names: tuple[str, ...]) -> str:
    return "Did you mean " + " or ".join(f"`{name}`" for name in names) + "?" if names else ""


def scalars(node: Node | None) -> tuple[Scalar, ...]:
    """The texts of a list, or the one text as a list of one."""
    if isinstance(node, Scalar):
        return (node,)
    if isinstance(node, Items):
        return tuple(item for item in node.items if isinstance(item, Scalar))
    return ()


def pairs_of(node: Node | None) -> tuple[tuple[Scalar, Node], ...]:
    """The pairs of a mapping; none for anything else."""
    return node.pairs if isinstance(node, Pairs) else ()
