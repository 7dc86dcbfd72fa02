"""A mapping read against the table of keys: unknown, missing and misshapen keys are reported."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from tellback.book import keys
from tellback.book.context import Context, pairs_of
from tellback.book.nodes import Items, Node, Pairs, Scalar


class Pattern(NamedTuple):
    """A value under a key that may carry a POSITION or ` any of`."""

    key: str
    argument: str
    any_of: bool
    written: Scalar
    value: Node


_SHAPES = {
    "words": "Write `[A, B]`, or each on a line of its own after a dash.",
    "conditions": "Write `[A, B]`, or each on a line of its own after a dash.",
    "path": "Write `[A, B]`, or each on a line of its own after a dash.",
    "rows": "Write each on a line of its own after a dash.",
    "steps": "Write each on a line of its own after a dash, as `- do: gear lever at DOWN`.",
    "pairs": "Write `{A: B}`.",
    "settings": "Write `{A: B}`.",
    "named": "Write each name on a line of its own, with a colon.",
}


@dataclass(frozen=True, slots=True)
class Fields:
    """The values of a mapping by key; statements are kept in the order written."""

    kind: str
    node: Pairs
    values: dict[str, Node]
    statements: tuple[Pattern, ...]

    def get(self, key: str) -> Node | None:
        """The value of a key, of the shape that the table demands."""
        return self.values.get(key)

    def scalar(self, key: str) -> Scalar | None:
        """The text under a key."""
        value = self.values.get(key)
        return value if isinstance(value, Scalar) else None

    def text(self, key: str) -> str:
        """The text under a key, empty if it is not there."""
        value = self.scalar(key)
        return value.text.strip() if value else ""

    def under(self, key: str) -> tuple[Pattern, ...]:
        """The statements under a key of the table."""
        return tuple(s for s in self.statements if s.key == key)


def read_fields(context: Context, node: Node, kind: str, shown: str) -> Fields | None:
    """The fields of a mapping of that kind; None if it is not a mapping. `shown` names it."""
    if not isinstance(node, Pairs):
        context.error(node, "shape", f"{shown} is not a mapping of keys", _mapping_mend(kind))
        return None
    values: dict[str, Node] = {}
    statements: list[Pattern] = []
    meant: set[str] = set()
    for written, value in node.pairs:
        found = keys.look_up(kind, written.text)
        if found is None:
            meant |= set(_unknown_key(context, written, value, node, kind, shown))
        elif found.key.type == "statement":
            statements.append(Pattern(found.key.name, found.argument, found.any_of, written, value))
        elif _has_shape(context, written, value, found.key):
            values[found.key.name] = value
    fields = Fields(kind, node, values, tuple(statements))
    _check_needed(context, fields, meant | {written.text for written, _ in node.pairs}, shown)
    return fields


def _mapping_mend(kind: str) -> str:
    needed = [key.name for key in keys.KEYS[kind] if key.needed]
    example = needed[0] if needed else keys.KEYS[kind][0].name
    return f"Write keys with a colon, such as `{example}: ...`."


def _unknown_key(
    context: Context, written: Scalar, value: Node, node: Pairs, kind: str, shown: str
) -> tuple[str, ...]:
    """Reports the key, and gives the keys that may have been meant."""
    text = written.text
    message = f"{shown} has no key `{text}`"
    near = keys.near_keys(kind, text)
    if node.flow and isinstance(value, Scalar) and not value.text:
        mend = "A comma within { } begins a new key: put the text before it in quotes."
    elif near:
        mend = "Did you mean " + " or ".join(f"`{key}`" for key in near) + "?"
    elif kind in keys.SECTIONS.values() and (owners := keys.sections_with(text)):
        known = f"{', '.join(f'`{owner}`' for owner in owners)}"
        mend = f"`{text}` is a key of what stands under {known}: is it meant to stand there?"
    else:
        mend = f"Its keys are {', '.join(key.name for key in keys.KEYS[kind])}."
    context.error(written, "unknown-key", message, mend)
    return near


def _check_needed(context: Context, fields: Fields, written: set[str], shown: str) -> None:
    stated = {statement.key for statement in fields.statements}
    folded = {" ".join(text.casefold().split()) for text in written}
    for key in keys.KEYS[fields.kind]:
        if key.needed and key.name not in stated and key.name not in folded:
            context.error(
                fields.node, "missing-key", f"{shown} has no `{key.name}`",
                f"Add `{key.name}: ...`: {key.help}.",
            )  # fmt: skip


def _has_shape(context: Context, written: Scalar, value: Node, key: keys.Key) -> bool:
    if isinstance(value, Scalar) and not value.text.strip():
        context.error(
            written, "empty", f"nothing stands after `{written.text}:`",
            f"Give {keys.TYPES[key.type]}, or take the key out.",
        )  # fmt: skip
        return False
    if _fits(value, key.type):
        return True
    message = f"`{written.text}` wants {keys.TYPES[key.type]}"
    context.error(value, "shape", message, _SHAPES.get(key.type, "Write one text after the colon."))
    return False


def _fits(value: Node, kind: str) -> bool:
    match kind:
        case "text" | "yes or no" | "number" | "time":
            return isinstance(value, Scalar)
        case "words" | "conditions" | "path":
            return isinstance(value, Scalar) or _all_texts(value)
        case "pairs" | "settings":
            return isinstance(value, Pairs) and all(isinstance(v, Scalar) for _, v in value.pairs)
        case "named":
            return isinstance(value, Pairs)
        case "rows" | "steps":
            return isinstance(value, Items)
    return True


def _all_texts(value: Node) -> bool:
    return isinstance(value, Items) and all(
        isinstance(item, Scalar) and bool(item.text.strip()) for item in value.items
    )


def named_bodies(
    context: Context, files: Iterable[Fields], key: str, what: str
) -> Iterator[tuple[Fields, Scalar, Node]]:
    """What the files name under a key, with the file of each; sources are then those of the file.

    An empty mapping is an error that says that there is no `what`.
    """
    for fields in files:
        context.source_prefix = fields.text("source")
        named = fields.get(key)
        if named is not None and not pairs_of(named):
            context.error(named, "shape", f"there is no {what}", "Name at least one.")
        for name, body in pairs_of(named):
            yield fields, name, body
