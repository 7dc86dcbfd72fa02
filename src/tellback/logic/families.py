"""Families of sets of items, none of them containing another, held as zero-suppressed diagrams.

Items are numbered in diagram order. A family is a number: 0 is the empty family, 1 the family of
the empty set alone; any other stands for the sets that have its first item (and what follows it)
and those that lack it. Equal families have equal numbers.
"""

import math
import sys
from collections.abc import Callable, Iterable, Sequence

from tellback.logic.limits import TooLarge, look

NONE, EMPTY_SET = 0, 1
NODES_BETWEEN_LOOKS = 1 << 12
MOST_FAMILY_NODES = 1 << 23


class Families:
    """The table of all families made so far.

    ``groups`` gives each item's group, consecutive for neighbours; the size of a set is the
    number of groups that it has items of. Raises ``TooLarge`` from any method if the table
    outgrows its memory, ``TooLong`` if the time allowed is spent.
    """

    def __init__(self, groups: Sequence[int]) -> None:
        self.groups = groups
        self._last = len(groups)
        self.item = [self._last, self._last]
        self.having = [NONE, NONE]
        self.lacking = [NONE, NONE]
        self._numbers: dict[tuple[int, int, int], int] = {}
        self._known_without: dict[int, int] = {}
        self._known_at_most: dict[tuple[int, int, int], int] = {}
        # A call from Python to Python takes no machine stack, so depth costs only memory.
        sys.setrecursionlimit(max(sys.getrecursionlimit(), 2 * len(groups) + 1000))

    def family(self, item: int, having: int, lacking: int) -> int:
        """``item`` added to every set of ``having``, together with the sets of ``lacking``."""
        if having == NONE:
            return lacking
        key = (item, having, lacking)
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self.item)
            self.item.append(item)
            self.having.append(having)
            self.lacking.append(lacking)
            if not number % NODES_BETWEEN_LOOKS:
                self._look_at_limits(number)
        return number

    def _look_at_limits(self, nodes: int) -> None:
        look()
        if nodes > MOST_FAMILY_NODES:
            raise TooLarge(f"the answer needs a table of more than {MOST_FAMILY_NODES:,} entries")

    def without(self, kept: int, barring: int) -> int:
        """The sets of ``kept`` that contain (or equal) no set of ``barring``.

        Rauzy, "New algorithms for fault trees analysis" (1993), the operator of that name.
        """
        if kept == NONE or barring == EMPTY_SET:
            return NONE
        item, lacking = self.item, self.lacking
        first = item[kept]
        while item[barring] < first:
            barring = lacking[barring]
        if barring == EMPTY_SET or kept == barring:
            return NONE
        if barring == NONE or kept == EMPTY_SET:
            return kept
        key = kept << 32 | barring
        found = self._known_without.get(key)
        if found is None:
            having = self.having[kept]
            if item[barring] == first:
                having = self.without(having, self.having[barring])
                barring = lacking[barring]
            having = self.without(having, barring)
            found = self.family(first, having, self.without(lacking[kept], barring))
            self._known_without[key] = found
        return found

    def smallest(self, family: int, default: int) -> int:
        """The number of items in the smallest set of a family; the default if it has none."""
        sizes: dict[int, float] = {NONE: math.inf, EMPTY_SET: 0}
        waiting = [family]
        while waiting:
            one = waiting[-1]
            below = self.having[one], self.lacking[one]
            missing = [each for each in below if each not in sizes]
            if missing:
                waiting += missing
            else:
                sizes.setdefault(waiting.pop(), min(1 + sizes[below[0]], sizes[below[1]]))
        return default if family == NONE else int(sizes[family])

    def at_most(self, kept: int, size: int, begun: int = -1) -> int:
        """The sets of ``kept`` of at most ``size`` groups, not counting the group ``begun``."""
        if size < 0 or kept == NONE:
            return NONE
        if kept == EMPTY_SET:
            return EMPTY_SET
        key = (kept, size, begun)
        found = self._known_at_most.get(key)
        if found is None:
            item = self.item[kept]
            group = self.groups[item]
            left = size if group == begun else size - 1
            having = self.at_most(self.having[kept], left, group)
            lacking = self.at_most(self.lacking[kept], size, begun)
            found = self._known_at_most[key] = self.family(item, having, lacking)
        return found


def minimal_family(
    nodes: Iterable[tuple[int, Sequence[int]]],
    root: int,
    families: Families,
    items: Callable[[int, int], int],
    order: int | None,
) -> int:
    """The minimal sets of items that make the function true, all other variables being at 0.

    ``nodes`` gives the variable and the children of each node of the function's diagram from 2
    on, children before parents. ``items(variable, value)`` is the item that stands for a
    variable's value other than 0. With an ``order``, only the sets of at most that size. Rauzy's
    recursion, for several values: a set with a variable at ``value`` is barred by those that leave
    the variable at 0.
    """
    found = [NONE, EMPTY_SET]
    for variable, children in nodes:
        at_zero = result = found[children[0]]
        for value in range(len(children) - 1, 0, -1):
            moved = found[children[value]]
            if moved in (NONE, at_zero) or at_zero == EMPTY_SET:
                continue  # nothing is left of it
            item = items(variable, value)
            if order is not None:
                moved = families.at_most(moved, order - 1, families.groups[item])
            result = families.family(item, families.without(moved, at_zero), result)
        found.append(result)
    return found[root]
