"""Which combinations of the items of an answer can be, as far as the answer depends on it.

Two sets close in on the truth: the combinations met in states known to be possible, and those not
known to be impossible. Whatever suffices in truth suffices for what is known, where what is asked
for but not known is counted in: if that gives the same shortest reasons as all that is not known to
be impossible, so does the truth between them. Where they differ, a search decides for the
combinations that make the difference.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from tellback.logic.guided import GuidedRuns
from tellback.logic.possible import Possible
from tellback.logic.primes import Cube, Primes
from tellback.logic.rooms import Room
from tellback.logic.run import State
from tellback.logic.space import Node

PATIENCE = 3_000
"""The effort of search, as `tellback.logic.possible` counts it, that one answer may take."""

MOST_RUNS = 12
"""So many runs are made to show that the shortest reasons are that."""

FIRST_ROOMS = 8
"""Rooms looked into before any doubt is settled."""

MOST_CUBES = 3000
"""With more shortest reasons than this they are not compared."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of combinations: the shortest reasons, by `cubes`, of a target.

    `assumed` is taken for granted; whether a reason meets each that is `judged` is asked too.
    """

    cubes: Callable[[Node], Primes]
    target: Node
    assumed: Node
    judged: tuple[Node, ...] = ()


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
        guided: GuidedRuns | None,
    ) -> None:
        self.possible, self.space = possible, possible.space
        self.actual, self.seen = actual, seen
        self._witness, self._guided = witness, guided
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
        return self._combined(self.possible.whole(room))

    def _look_into(self, room: Room) -> None:
        self.known = self.known | self._met_in(room)

    def settle(self, asked: Asked, patience: int = PATIENCE) -> bool:
        """Whether the shortest reasons of the target are the same over all that is not excluded.

        Searches for what makes a difference to them, or to whether one of them meets each that is
        judged.
        """
        limit = self.possible.effort + patience
        while self.known != self.widest:
            doubts = self._doubts(asked)
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
        return self._is_met(doubt, self._witness(doubt)) or self._sought(doubt, patience)

    def comes_about(self, doubt: Node) -> bool | None:
        """Whether some of these combinations can be, as what is known, a run or a search shows."""
        return True if self._is_shown(doubt) else self._brought_about(doubt)

    def exclude(self, combinations: Node) -> None:
        """Take note that these combinations cannot be."""
        self.widest = self.widest & ~combinations

    def _is_met(self, doubt: Node, state: State | None) -> bool:
        """Whether some of these combinations are known, with the state that a run came to."""
        room = self.possible.enter(state) if state is not None else None
        if room is not None:
            self._look_into(room)
        return room is not None and doubt & self.known != self.space.false

    def _sought(self, doubt: Node, patience: int) -> bool | None:
        """Whether a search finds that some of these combinations can be; None if undecided."""
        found = self.possible.seek(self._states(doubt), patience)
        if found is False:
            self.widest = self.widest & ~doubt
            return False
        if found is not None:
            self._look_into(found)
            return True
        return None

    def _states(self, doubt: Node) -> Node:
        """The states with one of some combinations."""
        return self.space.exists_both(doubt, self.actual, self.seen)

    def are_shortest(self, asked: Asked) -> bool:
        """Whether each of the shortest reasons is known to come about, and nothing less to do.

        That is less than `settle` asks for: what they cover might be told by other reasons too.
        What is in doubt is brought about by a run, or excluded by a search.
        """
        runs = MOST_RUNS
        while doubts := self._about_shortest(asked):
            for doubt in doubts:
                if self._is_shown(doubt):
                    continue
                runs -= 1
                brought_about = self._brought_about(doubt) if runs >= 0 else None
                if brought_about is None:
                    return False
                if not brought_about:
                    break
        return doubts is not None

    def _is_shown(self, doubt: Node) -> bool:
        """Whether what is known already shows that the doubtful can be."""
        if doubt & self.known != self.space.false:
            return True
        doubt = doubt & self.widest
        shown = self._guided.at_hand(self._states(doubt)) if self._guided else None
        return self._is_met(doubt, shown or self._witness(doubt))

    def _brought_about(self, doubt: Node) -> bool | None:
        """Whether a run that is made for it, or a search, finds that the doubtful can be."""
        doubt = doubt & self.widest
        if doubt == self.space.false:
            return False
        run = self._guided.soon_to(self._states(doubt)) if self._guided else None
        return self._is_met(doubt, run.end.state if run else None) or self._sought(doubt, PATIENCE)

    def _about_shortest(self, asked: Asked) -> list[Node] | None:
        """What is not known of each reason and of each that says less; None if it is too much."""
        wide, known = self.widest & asked.assumed, self.known & asked.assumed
        most = asked.cubes(wide)
        if most.count > MOST_CUBES:
            return None
        reasons = list(most)
        met = [self.space.cube(cube) & wide for cube in reasons]
        less = [where & wide & ~asked.target for cube in reasons for where in self._with_less(cube)]
        none = self.space.false
        doubts = [doubt for doubt in (*met, *less) if doubt != none and doubt & known == none]
        return doubts or list(self._unjudged(reasons, asked.judged, wide, known))

    def _with_less(self, cube: Cube) -> Iterator[Node]:
        """Where one thing of a cube is otherwise, for each value that it may have instead."""
        for name, values in cube.items():
            others = self.space.cube({n: v for n, v in cube.items() if n != name})
            for value in range(self.space.size(name)):
                if value not in values:
                    yield others & self.space.literal(name, (value,))

    def _doubts(self, asked: Asked) -> list[Node] | None:
        """Sets of combinations of which one must be decided; None if there are too many."""
        wide, known = self.widest & asked.assumed, self.known & asked.assumed
        most, least = asked.cubes(wide), asked.cubes(known | (wide & asked.target))
        if max(most.count, least.count) > MOST_CUBES:
            return None
        by_most, by_least = list(most), list(least)
        doubts = [self.space.cube(cube) & wide & ~asked.target for cube in by_least]
        met = [self.space.cube(cube) & wide for cube in by_most]
        doubts += [where for where in met if where & known == self.space.false]
        real = [doubt for doubt in doubts if doubt != self.space.false]
        return real or list(self._unjudged(by_most, asked.judged, wide, known))

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
