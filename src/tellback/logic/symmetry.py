"""Like ways of like members, told once.

Members written with one `for each` merge if swapping two of them, with everything of the same
index, maps the ways onto themselves.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations

from tellback.book.model import Book
from tellback.logic.items import Item


@dataclass(frozen=True, slots=True)
class Statement:
    """What the book says of a way: its name (may be empty), its words and its source."""

    name: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Combination:
    """One minimal sufficient combination of items.

    `stated` are the statements it meets (none: it follows from the rest of the book), or if
    `together`, those of which it meets one or another; `failure`
    tells that a failure brings it about; `bare` that it does so without the needs. `inferred`
    tells that it suffices only through what else must then be so. `likewise` are the same ways
    of the other members of a group, merged into this one. `same_as` are the items of an earlier
    way, if this one tells exactly the same possible states in other words. `not_failed` are the
    things taken as not failed; of several such sets, any one will do.
    """

    items: tuple[Item, ...]
    stated: tuple[Statement, ...]
    together: bool
    failure: bool
    bare: bool
    inferred: bool
    likewise: tuple[Combination, ...] = ()
    same_as: tuple[Item, ...] = ()
    not_failed: tuple[tuple[str, ...], ...] = ((),)


Mark = frozenset[tuple[str, str, tuple[str, ...]]]
"""What tells one way from another, in whatever order its items stand."""

Swap = Mapping[str, str]
"""What each name becomes when two members of a group change places."""


def merge(book: Book, ways: Sequence[Combination]) -> tuple[Combination, ...]:
    """The ways, those of symmetric members merged into the first of them."""
    marks = {_mark(way.items): i for i, way in enumerate(ways)}
    leader = list(range(len(ways)))
    for swap in swaps(book):
        images = [marks.get(_mark(_swapped(way.items, swap))) for way in ways]
        if None in images:
            continue
        for i, image in enumerate(images):
            if image is not None:
                old, new = max(leader[i], leader[image]), min(leader[i], leader[image])
                leader = [new if head == old else head for head in leader]
    return tuple(
        replace(
            way,
            likewise=tuple(w for w, h in zip(ways, leader, strict=True) if h == i and w is not way),
            same_as=_same_as(i, ways, leader, marks),
        )
        for i, way in enumerate(ways)
        if leader[i] == i
    )


def _same_as(
    first: int, ways: Sequence[Combination], leader: Sequence[int], marks: Mapping[Mark, int]
) -> tuple[Item, ...]:
    """The items of the way with which those merged into the first are the same, if each is."""
    merged = [way for way, head in zip(ways, leader, strict=True) if head == first]
    heads = {leader[marks[_mark(way.same_as)]] if way.same_as else first for way in merged}
    return ways[heads.pop()].items if len(heads) == 1 and first not in heads else ()


@lru_cache(maxsize=8)
def swaps(book: Book) -> Sequence[Swap]:
    """For every two members of a `for each`, what each name becomes if they change places."""
    by_place = {(t.family, t.index): t.name for t in book.things if t.index}
    domains: dict[str, dict[str, None]] = {}
    for thing in book.things:
        for parameter, value in thing.index:
            domains.setdefault(parameter, {})[value] = None
    found = []
    for parameter, values in domains.items():
        for a, b in combinations(values, 2):
            exchange = {a: b, b: a}
            swap = {}
            for thing in book.things:
                index = tuple(
                    (p, exchange.get(v, v) if p == parameter else v) for p, v in thing.index
                )
                other = by_place.get((thing.family, index))
                if other and other != thing.name:
                    swap[thing.name] = other
            if swap:
                found.append(swap)
    return found


def _swapped(items: tuple[Item, ...], swap: Swap) -> tuple[Item, ...]:
    present = (name for name in swap if any(name in i.thing or name in i.text for i in items))
    names = sorted(present, key=len, reverse=True)
    if not names:
        return items
    pattern = re.compile("|".join(re.escape(name) for name in names))

    def exchanged(text: str) -> str:
        return pattern.sub(lambda found: swap[found[0]], text)

    return tuple(
        replace(item, thing=exchanged(item.thing), text=exchanged(item.text)) for item in items
    )


def _mark(items: tuple[Item, ...]) -> Mark:
    return frozenset((item.thing, item.kind, item.states) for item in items)
