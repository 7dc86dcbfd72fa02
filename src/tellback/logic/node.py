"""One function of a space, whichever engine holds it."""

import gc
from collections.abc import Callable
from functools import partial
from operator import and_, inv, or_, xor

from oxidd.bdd import BDDFunction, BDDManager

from tellback.logic.limits import TooLarge, look

MOST_NODES = 1 << 24
CACHE_ENTRIES = 1 << 18
FEW_CACHE_ENTRIES = 1 << 14
NODES_FOR_A_CACHE_ENTRY = 8


class Node:
    """One function of a space: combine with ``&``, ``|``, ``^``, ``~``; equal functions are equal.

    The operators raise ``TooLarge`` if the diagram outgrows its table, and ``TooLong`` if the time
    allowed is spent.
    """

    __slots__ = ("function",)

    def __init__(self, function: BDDFunction) -> None:
        self.function = function

    def __and__(self, other: "Node") -> "Node":
        return made(self.function, partial(and_, self.function, other.function))

    def __or__(self, other: "Node") -> "Node":
        return made(self.function, partial(or_, self.function, other.function))

    def __xor__(self, other: "Node") -> "Node":
        return made(self.function, partial(xor, self.function, other.function))

    def __invert__(self) -> "Node":
        return made(self.function, partial(inv, self.function))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Node) and self.function == other.function

    def __hash__(self) -> int:
        return hash(self.function)


def new_engine(small: bool, most: int | None) -> BDDManager:
    """An empty table of functions; memory is taken only as it fills.

    Clearing the cache of a large one takes longer than answering most questions. With `most`
    nodes, the cache is as large as these ask for.
    """
    if most is not None:
        return BDDManager(most, most // NODES_FOR_A_CACHE_ENTRY, 1)
    return BDDManager(MOST_NODES, FEW_CACHE_ENTRIES if small else CACHE_ENTRIES, 1)


def made(within: BDDFunction, attempt: Callable[[], BDDFunction]) -> Node:
    """What the attempt makes in the table of a function.

    If the table is full, it is tried once more without what nothing uses.
    """
    look()
    for tidy in (BDDManager.gc, _tidy):
        try:
            return Node(attempt())
        except MemoryError:
            tidy(within.manager)
    try:
        return Node(attempt())
    except MemoryError:
        raise too_many_nodes(MOST_NODES) from None


def _tidy(engine: BDDManager) -> None:
    """Throw out what nothing uses, such as what the frames of an earlier failure held."""
    gc.collect()
    engine.gc()


def too_many_nodes(most: int) -> TooLarge:
    """The error for a diagram that outgrew its table."""
    return TooLarge(f"the logic behind this question needs a diagram of more than {most:,} nodes")
