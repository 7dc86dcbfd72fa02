"""YAML in block style from plain data, for books drawn at random."""

from __future__ import annotations

from collections.abc import Mapping

Tree = str | list["Tree"] | dict[str, "Tree"]


def block(tree: Mapping[str, Tree], indent: int = 0) -> str:
    """A mapping in block style; scalars stand as they are."""
    return "".join(entry(key, value, indent) for key, value in tree.items())


def entry(key: str, value: Tree, indent: int) -> str:
    """One key with its value."""
    start = f"{' ' * indent}{key}:"
    if isinstance(value, str):
        return f"{start} {value}\n"
    if isinstance(value, dict):
        return f"{start}\n{block(value, indent + 2)}"
    return start + "\n" + "".join(item(part, indent + 2) for part in value)


def item(value: Tree, indent: int) -> str:
    """One item of a list."""
    if isinstance(value, str):
        return f"{' ' * indent}- {value}\n"
    assert isinstance(value, dict)
    lines = block(value, indent + 2)
    return f"{' ' * indent}- {lines[indent + 2 :]}"
