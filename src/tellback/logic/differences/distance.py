"""How far a state of two books is from a starting state: what each departure costs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property

from tellback.book.model import Control
from tellback.logic.differences.joint import SIDES, Joint

COSTS = {"control": 2000, "failure": 2004, "delay": 2}
INPUT, MEMORY, HELD = 2002, 2006, 1
"""What a departure from the start costs.

As few as can be; of as many, what the crew moves rather than what comes from outside, that rather
than what fails, and what is to be seen rather than what has come of the past. A delay runs out by
itself. A control at a place from which it springs costs a little more, as it has to be held.
"""


class Distance:
    """What it costs that variables of a joint space are not as at a start."""

    def __init__(self, joint: Joint) -> None:
        self.joint = joint

    def cost_from(self, start: Mapping[str, int]) -> Callable[[str, int], int]:
        """What each value of a variable costs, seen from a start."""

        def cost(name: str, value: int) -> int:
            if start.get(name) == value:
                return 0
            return self._departures.get(name, 0) + HELD * ((name, value) in self._held)

        return cost

    def is_delay(self, name: str) -> bool:
        """Whether a variable is a delay."""
        return self._departures[name] == COSTS["delay"]

    @cached_property
    def _departures(self) -> dict[str, int]:
        return {name: self._departure(name) for name in self.joint.shared}

    def _departure(self, name: str) -> int:
        for side in SIDES:
            for own in self.joint.own_names(side, name):
                variable = self.joint.pictures[side].system.variables[own]
                return COSTS.get(variable.kind, INPUT if variable.is_input else MEMORY)
        return 0

    @cached_property
    def _held(self) -> frozenset[tuple[str, int]]:
        """The positions of controls, by the names of the joint space, from which they spring."""
        return frozenset(
            joint
            for side in SIDES
            for thing in self.joint.pictures[side].book.things
            if isinstance(thing, Control) and thing.name in self.joint.names[side]
            for position, _ in thing.springs
            for joint in self.joint.joint_state(
                side, {thing.name: thing.positions.index(position)}
            ).items()
        )
