"""Explanations that are alike, told as one: every choice of these with every choice of those."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tellback.logic.items import Item

FEW = 3
"""Fewer pairs than this are told one by one."""


@dataclass(frozen=True, slots=True)
class Explained:
    """What would explain what is seen: failures, facts and readings from outside, controls.

    `kind` says what it is, or that it is several things together. Of a control or reading it may
    list several states: each of them does as well as the others. `before`: it must have been so
    before the last move, and would not do after it.
    """

    kind: str
    causes: tuple[Item, ...]
    before: bool


@dataclass(frozen=True, slots=True)
class Fold:
    """Explanations told together: those of every choice of one item from each of the `choices`.

    `numbers` are their places in the answer, the first being 1.
    """

    kind: str
    choices: tuple[tuple[Item, ...], ...]
    before: bool
    numbers: tuple[int, ...]


Placed = tuple[int, Explained]
"""An explanation with where it stands among those that were to be folded."""


Choices = tuple[tuple[Item, ...], ...]

Group = tuple[Choices, list[Placed]]
"""What is told together, and the explanations that it is."""


def folded(explained: Sequence[Explained]) -> tuple[list[Fold], list[int]]:
    """The explanations in folds, those with the most ordinary ones first.

    Also gives in which order they then stand, as places in what was given; the numbers in the
    folds are of that order.
    """
    groups: list[Group] = []
    left = list(enumerate(explained))
    while left:
        group = _group(left)
        groups.append(group)
        taken = {place for place, _ in group[1]}
        left = [one for one in left if one[0] not in taken]
    order = [place for _, members in groups for place, _ in members]
    number = {place: i for i, place in enumerate(order, 1)}
    folds = [
        Fold(m[0][1].kind, choices, m[0][1].before, tuple(number[place] for place, _ in m))
        for choices, m in groups
    ]
    return folds, order


def _group(left: Sequence[Placed]) -> Group:
    """The first of several with those that are told together with it."""
    first = left[0][1]
    alone: Choices = tuple((item,) for item in first.causes)
    if len(first.causes) == 1:
        members = [one for one in left if _alike(one[1], first) and _same_besides(one[1], first)]
        return (tuple(one.causes[0] for _, one in members),), members
    if len(first.causes) != 2:
        return alone, [left[0]]
    pairs = [one for one in left if _alike(one[1], first)]
    largest = max((_product(item, pairs) for item in first.causes), key=lambda one: len(one[1]))
    return largest if len(largest[1]) >= FEW else (alone, [left[0]])


def _alike(one: Explained, other: Explained) -> bool:
    """Whether two may be told together."""
    same = (one.kind, one.before) == (other.kind, other.before)
    return same and len(one.causes) == len(other.causes)


def _same_besides(one: Explained, other: Explained) -> bool:
    """Whether the same is so of things that differ in the first word of their names alone."""
    rests = [explained.causes[0].text.partition(" ")[2] for explained in (one, other)]
    return rests[0] == rests[1] and (bool(rests[0]) or one == other)


def _product(item: Item, pairs: Sequence[Placed]) -> Group:
    """All pairs of one of the items that go with all that this one goes with, and one of those."""
    partners = list(_partners(item, pairs))
    going = [one for one in _items(pairs) if set(partners) <= set(_partners(one, pairs))]
    members = [
        (place, one)
        for place, one in pairs
        if any(i in going and _other(i, one) in partners for i in one.causes)
    ]
    return (tuple(going), tuple(partners)), members


def _items(pairs: Sequence[Placed]) -> Iterator[Item]:
    yield from dict.fromkeys(item for _, one in pairs for item in one.causes)


def _partners(item: Item, pairs: Sequence[Placed]) -> Iterator[Item]:
    """What stands beside an item in pairs."""
    for _, one in pairs:
        if item in one.causes:
            yield _other(item, one)


def _other(item: Item, pair: Explained) -> Item:
    return next((other for other in pair.causes if other != item), item)
