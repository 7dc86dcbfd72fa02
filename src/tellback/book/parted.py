"""Numbers that a comma has parted: within { } and [ ] YAML ends a text at `18,` of `18,000 ft`."""

from __future__ import annotations

import re

from tellback.book.nodes import Node, Scalar

_HEAD = re.compile(r"(?<![^\s(])-?\d{1,3}(?:,\d{3})*$")
_TAIL = re.compile(r"\d{3}(?!\d)")
_NUMBER = re.compile(r"(?<![^\s(])-?\d{1,3}(?:,\d{3})+(?!\d)")


def value_with(pair: tuple[Scalar, Node], key: Node, value: Node) -> Scalar | None:
    """The value of a pair with what stands after it as a key without a colon, if that is its rest.

    Serial numbers may be listed so: `{serials: 9,120}`.
    """
    name, before = pair
    if not isinstance(key, Scalar) or not isinstance(value, Scalar):
        return None
    has_colon = (value.line, value.column) != (key.end_line, key.end_column)
    if has_colon or name.text.strip().casefold() == "serials":
        return None
    return _joined(before, key)


def item_with(before: Node, item: Node) -> Scalar | None:
    """An item with the one after it, if that is its rest; `[100,200]` are two numbers."""
    whole = _joined(before, item)
    return None if whole and whole.text.replace(",", "").isdigit() else whole


def _joined(before: Node, rest: Node) -> Scalar | None:
    """Two plain texts as the one that was typed, if the comma between them is in a number."""
    if not isinstance(before, Scalar) or not isinstance(rest, Scalar):
        return None
    touching = (before.end_line, before.end_column + 1) == (rest.line, rest.column)
    plain = not before.style and not rest.style
    if not (touching and plain and _HEAD.search(before.text) and _TAIL.match(rest.text)):
        return None
    text = f"{before.text},{rest.text}"
    return before._replace(text=text, end_line=rest.end_line, end_column=rest.end_column)


def mend(whole: Scalar) -> str:
    """What would put the text right."""
    without = [number.replace(",", "") for number in _NUMBER.findall(whole.text)]
    return f"Put the whole text in quotes, or write {' and '.join(f'`{n}`' for n in without)}."
