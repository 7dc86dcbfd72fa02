"""The possible states by the number of events that lead to them: for the shortest runs."""

from __future__ import annotations

from collections.abc import Sequence

from tellback.logic.limits import TooLarge
from tellback.logic.rooms import Parts, Rooms
from tellback.logic.run import State
from tellback.logic.world import World

MOST_NODES = 20_000
"""With larger diagrams of what was reached last the search for shortest runs is given up."""


class Layers:
    """`layers` holds, for each number of events, the states of `names` first reached then."""

    def __init__(self, world: World, starts: Sequence[State]) -> None:
        self.names = world.chosen
        self.few_failures = world.few_failures
        self._rooms = Rooms(world, starts)
        self._last: Parts = {r.memories: r.reached for r in self._rooms.entered.values()}
        self._reached = dict(self._last)
        self.layers = [self._rooms.joined(self._last)]
        self._given_up = world.opaque

    def finish(self) -> bool:
        """Search to the end; whether it was reached before it grew too large."""
        try:
            while not self._given_up and self._last:
                self._last = self._next()
                self.layers.append(self._rooms.joined(self._last))
        except TooLarge:
            self._given_up = True
        return not self._given_up

    def _next(self) -> Parts:
        space, fresh = self._rooms.space, Parts()
        for before, states in self._last.items():
            for memories, after in self._rooms.after(before, states).items():
                new = after & ~self._reached.get(memories, space.false)
                if new != space.false:
                    fresh[memories] = fresh.get(memories, space.false) | new
                    self._reached[memories] = self._reached.get(memories, space.false) | new
            if sum(map(space.weight, fresh.values())) > MOST_NODES:
                raise TooLarge("too much can be in too many ways to find the shortest run")
        return fresh
