"""Which combinations of the items of an answer can be, as far as the answer depends on it.

Two sets close in on the truth: the combinations met in states known to be possible, and those not
known to be impossible. Whatever suffices in truth suffices for what is known, where what is asked
for but not known is counted in: if that gives the same shortest reasons as all that is not known to
be impossible, so does the truth between them. Where they differ, a search decides for the
combinations that make the difference.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from functools import cached_property

from tellback.logic.possible import Possible
from tellback.logic.primes import Cube, Primes
from tellback.logic.rooms import Room
from tellback.logic.run import State
from tellback.logic.space import Node

PATIENCE = 3_000
"""The effort of search, as `tellback.logic.possible` counts it, that one answer may take."""

FIRST_ROOMS = 8
"""Rooms looked into before any doubt is settled."""

MOST_CUBES = 3000
"""With more shortest reasons than this they are not compared."""


class Combinations:
    """What is known of the combinations of some items.

    `actual` ties those of the items that are not variables (`seen`) to the variables; `tied`
    holds of the items in every possible state. `witness` may know a possible state with
    one of a set of them.
    """

    def __init__(
        self,
        possible: Possible,
        actual: Node,
        items: Collection[str],
        seen: Collection[str],
        tied: Node,
        witness: Callable[[Node], State | None],
    ) -> None:
        self.possible, self.space = possible, possible.space
        self.actual, self.seen = actual, seen
        self._witness = witness
        self._items = [name for name in items if name not in seen]
        behind = {*possible.names, *self.space.support(actual)}
        self.hidden = [name for name in behind if name not in items]
        self.widest = self._combined(possible.bound) & tied

    @cached_property
    def known(self) -> Node:
        """The combinations met in states known to be possible."""
        known = self.space.false
        for room in self.possible.entered[:FIRST_ROOMS]:
            if known != self.widest:
                known = known | self._met_in(room)
        return known

    def _combined(self, states: Node) -> Node:
        return self.space.exists_both(states, self.actual, self.hidden)

    def _met_in(self, room: Room) -> Node:
        """The combinations in what moving the items leads to in a room."""
        self.possible.widen(room, self._items)
        return self._combined(self.possible.rooms.whole(room))

    def _look_into(self, room: Room) -> None:
        self.known = self.known | self._met_in(room)

    def settle(
        self,
        cubes: Callable[[Node], Primes],
        target: Node,
        assumed: Node,
        judged: Iterable[Node] = (),
        patience: int = PATIENCE,
    ) -> bool:
        """Whether the shortest reasons of the target are the same over all that is not excluded.

        Searches for what makes a difference to them, or to whether one of them meets each that is
        `judged`, `assumed` being taken for granted.
        """
        judged, limit = tuple(judged), self.possible.effort + patience
        while self.known != self.widest:
            doubts = self._doubts(cubes, target, assumed, judged)
            if not doubts:
                return doubts is not None
            settled = False
            for doubt in doubts:
                left = limit - self.possible.effort
                settled = (left > 0 and self.can_be(doubt, left) is not None) or settled
            if not settled:
                return False
        return True

    def can_be(self, doubt: Node, patience: int) -> bool | None:
        """Whether some of these combinations can be; None if that was not decided."""
        if doubt & self.known != self.space.false:
            return True
        doubt = doubt & self.widest
        if doubt == self.space.false:
            return False
        states = self.space.exists_both(doubt, self.actual, self.seen)
        shown = self._witness(doubt)
        if shown is not None and (room := self.possible.enter(shown)) is not None:
            self._look_into(room)
            return True
        found = self.possible.seek(states, patience)
        if found is False:
            self.widest = self.widest & ~doubt
            return False
        if found is not None:
            self._look_into(found)
            return True
        return None

    def _doubts(
        self,
        cubes: Callable[[Node], Primes],
        target: Node,
        assumed: Node,
        judged: tuple[Node, ...],
    ) -> list[Node] | None:
        """Sets of combinations of which one must be decided; None if there are too many."""
        wide, known = self.widest & assumed, self.known & assumed
        most, least = cubes(wide), cubes(known | (wide & target))
        if max(most.count, least.count) > MOST_CUBES:
            return None
        by_most, by_least = list(most), list(least)
        doubts = [self.space.cube(cube) & wide & ~target for cube in by_least]
        met = [self.space.cube(cube) & wide for cube in by_most]
        doubts += [where for where in met if where & known == self.space.false]
        real = [doubt for doubt in doubts if doubt != self.space.false]
        return real or list(self._unjudged(by_most, judged, wide, known))

    def _unjudged(
        self, cubes: Iterable[Cube], judged: Iterable[Node], wide: Node, known: Node
    ) -> Iterator[Node]:
        """Where a shortest reason meets what is judged only in combinations that are doubtful."""
        none = self.space.false
        for cube in cubes:
            for node in judged:
                where = self.space.cube(cube) & node
                if where & wide != none and where & known == none:
                    yield where & wide
