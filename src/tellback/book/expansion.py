"""`for each`: what is written once for several members, written out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

from tellback.book.context import Context, scalars
from tellback.book.names import fold
from tellback.book.nodes import Filling, Items, Node, Pairs, Scalar
from tellback.book.yaml_nodes import MOST_VALUES, count

MOST_MEMBERS = 100
_WORK_OF_A_MEMBER = 4  # as much as so many values
_EACH = re.compile(r"\s*(\w{1,20})\s+in\s+\[([^\[\]]+)\]\s*")


class Member(NamedTuple):
    """One member: what each letter stands for, the name and the body with that filled in."""

    letters: tuple[tuple[str, str], ...]
    name: Scalar
    body: Node


def members(context: Context, name: Scalar, body: Node) -> Iterator[Member]:
    """The members that a name and a mapping with `for each` stand for; without it just one."""
    each = _each_of(body)
    if each is None or not isinstance(body, Pairs):
        yield Member((), name, body)
        return
    indices = _indices(context, each) if context.values <= MOST_VALUES else []
    rest = body._replace(pairs=tuple(p for p in body.pairs if p[1] is not each))
    for index in indices:
        context.values += _WORK_OF_A_MEMBER + count(rest)
        if context.values > MOST_VALUES:
            context.error(each, "too-big", "`for each` makes the book too big", "Use fewer.")
            return
        filled = _fill(name, dict(index))
        assert isinstance(filled, Scalar)
        yield Member(index, filled, _fill(rest, dict(index)))


def _each_of(body: Node) -> Node | None:
    if isinstance(body, Pairs):
        for key, value in body.pairs:
            if fold(key.text) == "for each":
                return value
    return None


def _indices(context: Context, each: Node) -> list[tuple[tuple[str, str], ...]]:
    """All combinations of members, each as pairs of letter and what it stands for."""
    letters: dict[str, list[tuple[str, str]]] = {}
    for node in scalars(each):
        match = _EACH.fullmatch(node.text)
        words = [word.strip() for word in match[2].split(",")] if match else []
        if match is None or not all(words) or match[1] in letters:
            _refuse(context, node)
            return []
        letters[match[1]] = [(match[1], word) for word in words]
    count = 1
    for several in letters.values():
        count *= len(several)
    if not letters or count > MOST_MEMBERS:
        _refuse(context, each)
        return []
    return list(product(*letters.values()))


def _refuse(context: Context, node: Node) -> None:
    context.error(
        node, "for-each", "`for each` wants a letter and its members, a hundred at most",
        "Write `for each: n in [1, 2]` on a line of its own, or in quotes within { }.",
    )  # fmt: skip


def _fill(node: Node, index: dict[str, str]) -> Node:
    if isinstance(node, Pairs):
        return node._replace(
            pairs=tuple((_fill_text(key, index), _fill(value, index)) for key, value in node.pairs)
        )
    if isinstance(node, Items):
        return node._replace(items=tuple(_fill(item, index) for item in node.items))
    return _fill_text(node, index)


def _fill_text(node: Scalar, index: dict[str, str]) -> Scalar:
    if "<" not in node.text:
        return node
    text, fillings, copied = "", [], 0
    for match in re.finditer("<(" + "|".join(map(re.escape, index)) + ")>", node.text):
        text += node.text[copied : match.start()]
        fillings.append(Filling(len(text), len(index[match[1]]), len(match[0])))
        text += index[match[1]]
        copied = match.end()
    return node._replace(text=text + node.text[copied:], fillings=tuple(fillings))
