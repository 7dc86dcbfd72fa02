"""A set of answers, each a choice of labels for some variables, counted without being listed."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Generic, TypeVar

from tellback.logic.families import EMPTY_SET, NONE, Families

Label = TypeVar("Label")
Chosen = tuple[tuple[int, Label], ...]


@dataclass(frozen=True)
class Choices(Generic[Label]):
    """A graph whose paths are the answers.

    A point has a variable, the labels that an answer can give it, each with the point that
    follows, and the point that follows for the answers that do not mention it. ``NONE`` leads to
    no answer, ``EMPTY_SET`` ends one. Points come in an order in which followers come first.
    """

    root: int
    variable: dict[int, int]
    labels: dict[int, tuple[tuple[Label, int], ...]]
    unmentioned: dict[int, int]

    @cached_property
    def _sizes(self) -> dict[int, list[int]]:
        """For each point, how many answers from there mention 0, 1, 2 ... variables."""
        sizes: dict[int, list[int]] = {NONE: [], EMPTY_SET: [1]}
        for point, labelled in self.labels.items():
            here = list(sizes[self.unmentioned[point]])
            for _, follower in labelled:
                below = sizes[follower]
                here.extend([0] * (len(below) + 1 - len(here)))
                for size, number in enumerate(below):
                    here[size + 1] += number
            sizes[point] = here
        return sizes

    def by_size(self) -> dict[int, int]:
        """How many answers there are of each size that occurs, smallest first."""
        return {size: number for size, number in enumerate(self._sizes[self.root]) if number}

    @property
    def count(self) -> int:
        """How many answers there are."""
        return sum(self._sizes[self.root])

    def __iter__(self) -> Iterator[Chosen[Label]]:
        """The answers, smallest first, then by the first variable that they mention."""
        for size in self.by_size():
            yield from self._of_size(size)

    def _of_size(self, size: int) -> Iterator[Chosen[Label]]:
        waiting: list[tuple[int, int, Chosen[Label]]] = [(self.root, size, ())]
        while waiting:
            point, left, chosen = waiting.pop()
            if point == EMPTY_SET:
                yield chosen
                continue
            self._add(waiting, self.unmentioned[point], left, chosen)
            variable = self.variable[point]
            for label, follower in reversed(self.labels[point]):
                self._add(waiting, follower, left - 1, (*chosen, (variable, label)))

    def _add(
        self,
        waiting: list[tuple[int, int, Chosen[Label]]],
        point: int,
        left: int,
        chosen: Chosen[Label],
    ) -> None:
        """Note the point as one to visit if it has answers of the size that is left."""
        sizes = self._sizes[point]
        if 0 <= left < len(sizes) and sizes[left]:
            waiting.append((point, left, chosen))


def choices_of(
    families: Families, root: int, label: Callable[[int, tuple[int, ...]], Label]
) -> Choices[Label]:
    """The sets of a family as choices: the items that a set has of a group become one label.

    ``label(group, items)`` makes it; labels are offered in their own order.
    """
    variable: dict[int, int] = {}
    labels: dict[int, tuple[tuple[Label, int], ...]] = {}
    unmentioned: dict[int, int] = {}
    for point in _heads(families, root):
        group = families.groups[families.item[point]]
        ways = _ways_through(families, point, group)
        variable[point] = group
        labels[point] = tuple(
            sorted((label(group, items), follower) for items, follower in ways if items)
        )
        unmentioned[point] = next((follower for items, follower in ways if not items), NONE)
    return Choices(root, variable, labels, unmentioned)


def _heads(families: Families, root: int) -> list[int]:
    """The families met on the way from ``root``, group by group, followers first."""
    seen, waiting = {NONE, EMPTY_SET}, [root]
    while waiting:
        point = waiting.pop()
        if point in seen:
            continue
        seen.add(point)
        group = families.groups[families.item[point]]
        waiting.extend(follower for _, follower in _ways_through(families, point, group))
    return sorted(seen - {NONE, EMPTY_SET})


def _ways_through(families: Families, point: int, group: int) -> list[tuple[tuple[int, ...], int]]:
    """Each choice of items of ``group`` from ``point`` on, with the family that follows it."""
    found: list[tuple[tuple[int, ...], int]] = []
    waiting: list[tuple[tuple[int, ...], int]] = [((), point)]
    while waiting:
        items, here = waiting.pop()
        if here <= EMPTY_SET or families.groups[families.item[here]] != group:
            if here != NONE:
                found.append((items, here))
            continue
        waiting.append((items, families.lacking[here]))
        waiting.append(((*items, families.item[here]), families.having[here]))
    return found
