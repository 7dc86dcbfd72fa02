"""How a chapter is to be drawn: what belongs on a sheet together, and what is left out."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from tellback.book.context import Context, pairs_of, scalars
from tellback.book.fields import Fields
from tellback.book.model import Sheet
from tellback.book.nodes import Items, Node, Scalar

_IN_DIAGRAMS = ("unit", "supply", "surface")
_ON_THE_PANEL = ("control", "indication", "reading")


def read_sheets(
    context: Context, fields: Fields, things: Collection[str]
) -> tuple[tuple[Sheet, ...], tuple[str, ...]]:
    """The sheets of a chapter that has these things, and what it leaves out."""
    reader = _Reader(context, things)
    sheets = tuple(
        Sheet(title := " ".join(name.text.split()), reader.rows(title, node))
        for name, node in pairs_of(fields.get("sheets"))
    )
    return sheets, reader.left_out(fields.get("not drawn"))


@dataclass(slots=True)
class _Reader:
    """Reads names of a chapter's things; `sheets` tells on which sheet each already is."""

    context: Context
    things: Collection[str]
    sheets: dict[str, str] = field(default_factory=dict)

    def rows(self, title: str, node: Node) -> tuple[tuple[str, ...], ...]:
        """What is on a sheet, in one row or in several; nothing may be on two sheets."""
        several = isinstance(node, Items) and any(isinstance(one, Items) for one in node.items)
        rows = node.items if isinstance(node, Items) and several else (node,)
        return tuple(self._row(title, row, several) for row in rows)

    def _row(self, title: str, node: Node, several: bool) -> tuple[str, ...]:
        nodes = scalars(node) if isinstance(node, Items) or not several else ()
        items = node.items if isinstance(node, Items) else nodes
        if len(nodes) < len(items) or not all(n.text.strip() for n in nodes) or not nodes:
            message = f"the sheet `{title}` wants a list of things, or of rows of things"
            self.context.error(node, "shape", message, "Write `[A, B]`, or `[[A, B], [C]]`.")
            return ()
        found = []
        for written in nodes:
            name = self._named(written, _IN_DIAGRAMS)
            if name and self._is_free(written, name, "already"):
                self.sheets[name] = title
                found.append(name)
        return tuple(found)

    def left_out(self, node: Node | None) -> tuple[str, ...]:
        """What is left out, which is on no sheet."""
        named = [(n, self._named(n, (*_IN_DIAGRAMS, *_ON_THE_PANEL))) for n in scalars(node)]
        return tuple(name for n, name in named if name and self._is_free(n, name, "also"))

    def _is_free(self, node: Scalar, name: str, how: str) -> bool:
        sheet = self.sheets.get(name)
        if sheet is not None:
            message = f"`{name}` is {how} on the sheet `{sheet}`"
            self.context.error(node, "double-name", message, "Let it stand in one of the two.")
        return sheet is None

    def _named(self, node: Scalar, forms: tuple[str, ...]) -> str:
        name = self.context.thing(node, *forms)
        if name and name not in self.things:
            message = f"`{name}` belongs to another chapter"
            mend = "Name what this file declares; the rest is drawn with its own chapter."
            self.context.error(node, "wrong-chapter", message, mend)
            return ""
        return name
