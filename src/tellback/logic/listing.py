"""The nodes of one function of the diagram engine, as plain tables."""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory

from oxidd.bdd import BDDFunction

from tellback.logic.diagram import FALSE, TRUE
from tellback.logic.limits import look
from tellback.logic.node import too_many_nodes

MOST_LISTED_NODES = 1 << 24

FEW_NODES = 2_000
"""Up to so many nodes are asked of the engine one by one; more come quicker through a file."""

LINES_AT_ONCE = 100_000


@dataclass(frozen=True, slots=True)
class Listing:
    """The nodes of a function of bits: 0 is false, 1 true, any other comes after its children.

    `level`, `low` and `high` give the bit of each node from 2 on, and the node that follows where
    that bit is clear and where it is set.
    """

    level: Sequence[int]
    low: Sequence[int]
    high: Sequence[int]
    root: int

    def nodes(self) -> Iterator[tuple[int, tuple[int, int]]]:
        """The level of each node from 2 on, with what follows."""
        return zip(self.level, zip(self.low, self.high, strict=True), strict=True)

    def halves(self, number: int, level: int) -> tuple[int, int]:
        """A node with the bit at ``level`` clear and set, that bit being its first at most."""
        if number <= TRUE or self.level[number - 2] != level:
            return number, number
        return self.low[number - 2], self.high[number - 2]


def listing(function: BDDFunction) -> Listing:
    """All nodes of a function. Raises ``TooLarge`` if they are too many."""
    look()
    count = function.node_count()
    if count > MOST_LISTED_NODES:
        raise too_many_nodes(MOST_LISTED_NODES)
    return _one_by_one(function) if count <= FEW_NODES else _through_a_file(function, count)


def _one_by_one(function: BDDFunction) -> Listing:
    level, low, high = list[int](), list[int](), list[int]()
    numbers: dict[BDDFunction, int] = {}
    waiting = [function]
    while waiting:
        one = waiting[-1]
        cofactors = one.cofactors()
        if cofactors is None:
            numbers[one] = TRUE if one.valid() else FALSE
        open_parts = [part for part in cofactors or () if part not in numbers]
        if open_parts:
            waiting += open_parts
            continue
        waiting.pop()
        if cofactors is not None and one not in numbers:
            own = one.node_level()
            assert own is not None
            numbers[one] = len(level) + 2
            level.append(own)
            high.append(numbers[cofactors[0]])
            low.append(numbers[cofactors[1]])
    return Listing(level, low, high, numbers[function])


def _through_a_file(function: BDDFunction, count: int) -> Listing:
    """As the engine writes them: a line for each node, the constants false and true first.

    A line has the place of its bit among those that the function looks at, whose levels are above.
    """
    level, low, high = array("i"), array("i"), array("i")
    levels: Sequence[int] = ()
    with TemporaryDirectory() as folder:
        path = Path(folder) / "nodes"
        function.manager.export_dddmp(path, [function], ascii=True)
        with path.open(encoding="ascii") as lines:
            for line in lines:
                if line.startswith(".permids "):
                    levels = tuple(map(int, line.split()[1:]))
                if line == ".nodes\n":
                    break
            assert next(lines).split()[1] == "F"
            assert next(lines).split()[1] == "T"
            for begun in range(2, count, LINES_AT_ONCE):
                look()
                some = islice(lines, min(LINES_AT_ONCE, count - begun))
                numbers = array("i", map(int, "".join(some).split()))
                level += numbers[1::4]
                high += numbers[2::4]
                low += numbers[3::4]
    for place, bit in enumerate(level):
        level[place] = levels[bit]
    # The engine counts its nodes from 1.
    for table in (high, low):
        for place, number in enumerate(table):
            table[place] = number - 1
    return Listing(level, low, high, len(level) + 1)
