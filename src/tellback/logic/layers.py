"""The possible states by the number of events that lead to them: for the shortest runs."""

from __future__ import annotations

from collections.abc import Sequence

from tellback.logic.events import World
from tellback.logic.limits import TooLarge
from tellback.logic.run import State
from tellback.logic.space import Node

MOST_NODES = 20_000
"""With a larger diagram of what was reached the search for shortest runs is given up."""


class Layers:
    """`layers` holds, for each number of events, the states of `names` first reached then."""

    def __init__(self, world: World, starts: Sequence[State]) -> None:
        self.names = world.chosen
        self._world = world
        self._reached = world.start(starts)
        self.layers = [self._reached]
        self._given_up = world.opaque

    def finish(self) -> bool:
        """Search to the end; whether it was reached before it grew too large."""
        try:
            while not self._given_up and self.layers[-1] != self._world.space.false:
                self.layers.append(self._next())
        except TooLarge:
            self._given_up = True
        return not self._given_up

    def _next(self) -> Node:
        space = self._world.space
        fresh = space.false
        for event in self._world.events:
            fresh = fresh | (event(self.layers[-1]) & ~(self._reached | fresh))
            if space.weight(fresh) > MOST_NODES:
                raise TooLarge("too much can be in too many ways to find the shortest run")
        self._reached = self._reached | fresh
        return fresh
