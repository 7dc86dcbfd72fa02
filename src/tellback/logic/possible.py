"""The states that can be: reached from a starting state, inputs moving one at a time.

Exact and symbolic, with one abstraction: any delay, surface or moving reading under way may be
the next to arrive, whatever the times. That can only add states, so what holds in all of them is
proved; a run found through them is replayed in time before anything is called false.

Inputs that no memory, lock or impossible statement ever looks at are free and left out. A search
goes only as far as the question needs, from room to room, first to those nearest to its goal.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import suppress
from functools import cached_property
from heapq import heappop, heappush
from itertools import chain, count
from typing import Literal

from tellback.logic.diagram import nearest_solution
from tellback.logic.formula import Formula, Or
from tellback.logic.layers import Layers
from tellback.logic.limits import TooLarge
from tellback.logic.rooms import Exit, Memories, Room, Rooms
from tellback.logic.run import State
from tellback.logic.space import Node
from tellback.logic.symbols import Symbols, changes_of, steps_back, variables_of
from tellback.logic.system import NumberRule
from tellback.logic.world import World

PATIENCE = 1_000_000
"""The effort after which a question is left undecided, unless it asks for less.

Effort is counted in nodes of diagrams, not timed, so that how far a search goes does not depend on
the machine..
"""

EFFORT_OF_STEP = 20
"""The effort of the smallest step."""

NEARNESS = 3
"""How many steps back to the goal of what must change on the way one place nearer outweighs."""

Sought = Room | Literal[False] | None
"""Where a state that was looked for is possible: False if it is not, None if undecided."""


class Possible:
    """The possible states of the variables `names`, as far as they have been worked out."""

    def __init__(self, world: World, starts: Sequence[State]) -> None:
        self.world = world
        self.space = world.space
        self.names = world.chosen
        self._starts = starts
        self.effort = 0
        self._given_up = world.opaque
        self._open: dict[Memories, dict[Exit, None]] = {}
        self._pushed = count()
        self._undecided: dict[Node, int] = {}
        self._steps: dict[tuple[str, ...], dict[str, int]] = {}

    @cached_property
    def rooms(self) -> Rooms:
        """The rooms entered so far, made when a search first needs them."""
        return Rooms(self.world, self._starts)

    @property
    def entered(self) -> tuple[Room, ...]:
        """The rooms entered so far."""
        return tuple(self.rooms.entered.values())

    @property
    def reached(self) -> Node:
        """The states known to be possible; all there are if the search was finished."""
        return self.space.any_of(map(self.whole, self.entered))

    @cached_property
    def bound(self) -> Node:
        """A set in which all possible states lie, known without a search."""
        return self.world.always()

    def finish(self) -> bool:
        """Search to the end; whether it was reached."""
        limit = self.effort + PATIENCE
        return self._sought(self.space.true, self.space.false, limit) is False

    def meets(self, node: Node, patience: int = PATIENCE) -> bool | None:
        """Whether some possible state lies in the set; None if that was not decided."""
        if self.world.excludes(node):
            return False
        found = self.seek(node, patience)
        return True if isinstance(found, Room) else found

    def seek(self, node: Node, patience: int) -> Sought:
        """The same, for a set that is not looked through for contradictions first."""
        goal, limit = node & self.bound, self.effort + patience
        if goal == self.space.false:
            return False
        for room in chain(self.entered, self._widened(self.space.support(node), limit)):
            self.effort += EFFORT_OF_STEP
            if self.met_in(room, goal) != self.space.false:
                return room
        if self._undecided.get(goal, -1) >= patience or self.effort > limit:
            return None
        inputs = [n for n in self.space.names if n not in self.rooms.memories]
        found = self._sought(self.space.exists(goal, inputs), goal, limit)
        if found is None and self.effort > limit:
            self._undecided[goal] = patience
        return found

    def enter(self, state: State) -> Room | None:
        """Note a state that a run came to; its room, None if it is not among those looked at."""
        return self.rooms.enter(state)

    def widen(self, room: Room, inputs: Collection[str]) -> None:
        """Find what moving these inputs leads to within a room, unless that is past searching."""
        if not (room.closed or self.world.opaque):
            with suppress(TooLarge):
                self.rooms.widen(room, inputs)

    def _widened(self, inputs: Collection[str], limit: int) -> Iterator[Room]:
        """The rooms with what moving a few inputs leads to, unless that is past searching."""
        for room in () if self.world.opaque else self.entered:
            if not room.closed and self.effort < limit:
                with suppress(TooLarge):
                    self.rooms.widen(room, inputs)
                    self.effort += self.space.weight(room.reached)
                    yield room

    def met(self, node: Node) -> Node:
        """The states of the set that are known to be possible."""
        return self.space.any_of(node & self.whole(room) for room in self.entered)

    def whole(self, room: Room) -> Node:
        """The states of a room that are known to be possible, whatever else has failed."""
        return self.rooms.whole(room) & self.world.few_failures

    def met_in(self, room: Room, goal: Node) -> Node:
        """The states of the goal that are known to be possible in a room, memories left out."""
        held = dict(zip(self.rooms.memories, room.memories, strict=True))
        return self.rooms.with_memories(goal, held) & room.reached

    def _sought(self, aims: Node, goal: Node, limit: int) -> Sought:
        """Go on to the goal, first where the memories are nearest to the aims.

        And where those that differ from the starting states have most to do with the aims.
        """
        away, strange = self._distance(aims), self._strangeness(aims)
        waiting: list[tuple[int, int, Room, Exit | None]] = []

        def push(room: Room, way_out: Exit | None) -> None:
            beyond = self.rooms.behind(room, way_out) if way_out else room.memories
            cost = NEARNESS * away(beyond) + strange(beyond)
            heappush(waiting, (cost, next(self._pushed), room, way_out))

        for room in self.entered:
            for way_out in self._open[room.memories] if room.closed else (None,):
                push(room, way_out)
        while waiting and self.effort < limit and not self._given_up:
            _, _, room, way_out = heappop(waiting)
            if not room.closed and self._is_past(room, limit):
                return None
            for changed in self._one_step(room, way_out):
                if self.met_in(changed, goal) != self.space.false:
                    return changed
                for new in self._open[changed.memories] if changed.closed else (None,):
                    push(changed, new)
        return None if waiting or self._given_up else False

    def _is_past(self, room: Room, limit: int) -> bool:
        """Whether closing a room may well take more effort than is left."""
        return self.effort + self.space.weight(self.rooms.calm(room.memories)) > limit

    def _one_step(self, room: Room, way_out: Exit | None) -> list[Room]:
        """Close a room, or follow a way out of it; the rooms to look at again."""
        self.effort += EFFORT_OF_STEP + self.space.weight(room.reached)
        try:
            if way_out is None and not room.closed:
                self.rooms.close(room)
                self._open[room.memories] = dict.fromkeys(self.rooms.exits(room))
                return [room]
            if way_out is not None and room.closed and way_out in self._open[room.memories]:
                entered = self.rooms.leave(room, way_out)
                # Only then: what was not followed to its end must never count as followed.
                del self._open[room.memories][way_out]
                return entered
        except TooLarge:
            self._given_up = True
        return []

    def _distance(self, aims: Node) -> Callable[[Memories], int]:
        """How many places memories are away from the nearest of the aims."""
        diagram = self.space.diagram(aims)

        def away(memories: Memories) -> int:
            held = dict(zip(self.rooms.memories, memories, strict=True))
            nearest = nearest_solution(diagram, lambda n, v: abs(held[n] - v)) or {}
            return sum(abs(held[n] - v) for n, v in nearest.items())

        return away

    def _strangeness(self, aims: Node) -> Callable[[Memories], int]:
        """How much differs from the nearest starting state that has little to do with the aims."""
        names = self.space.support(aims)
        if names not in self._steps:
            self._steps[names] = steps_back(self.world.symbols.graph, names)
        steps = self._steps[names]
        weights = [steps.get(name, len(steps)) for name in self.rooms.memories]

        def strange(memories: Memories) -> int:
            return min(
                sum(w for w, a, b in zip(weights, memories, start, strict=True) if a != b)
                for start in self.rooms.starts
            )

        return strange


class Search:
    """Finds the possible states of the variables that bear on a question."""

    def __init__(self, symbols: Symbols, starts: Sequence[State], failures: int | None) -> None:
        self.symbols = symbols
        self.space = symbols.space
        self.system = symbols.system
        self.starts = starts
        self.failures = failures
        self._supports: dict[str, frozenset[str]] = {}
        self._rules = changes_of(self.system)

    # -- what bears on the question ---------------------------------------------------------

    def bearing(self, names: Iterable[str]) -> frozenset[str]:
        """The variables whose past bears on these: closed under changes, locks and impossibles."""
        chosen: set[str] = set()
        work = [n for n in names if self._has_past(n)]
        while work:
            name = work.pop()
            if name in chosen:
                continue
            chosen.add(name)
            work.extend(self._looked_at(name) - chosen)
        return frozenset(chosen)

    def _has_past(self, name: str) -> bool:
        variable = self.system.variables[name]
        return not variable.is_input or name in self._rules or bool(self._looked_at(name))

    def _looked_at(self, name: str) -> frozenset[str]:
        """The variables that the changes and locks of this one look at."""
        if name not in self._supports:
            found = variables_of(self.symbols.graph, self._rules.get(name, ()))
            for part in impossible_parts(self.system.impossible):
                support = variables_of(self.symbols.graph, [part])
                if name in support:
                    found |= support
            self._supports[name] = frozenset(found)
        return self._supports[name]

    # -- the search -------------------------------------------------------------------------

    def over(self, chosen: frozenset[str]) -> Possible:
        """The possible states of variables that are closed under what bears on them."""
        return Possible(self._world(chosen), self.starts)

    def layers(self, chosen: frozenset[str]) -> Layers:
        """The same, kept apart by the number of events."""
        return Layers(self._world(chosen), self.starts)

    def _world(self, chosen: frozenset[str]) -> World:
        failures = [variable.name for variable in self.system.failures()]
        few_here = self._few_failed(chosen.intersection(failures))
        return World(
            self.symbols, chosen, self._limit(chosen) & few_here, self._few_failed(failures)
        )

    def _limit(self, chosen: frozenset[str]) -> Node:
        """States that are not stated impossible, and no reading beyond where it goes."""
        parts = impossible_parts(self.system.impossible)
        here = [p for p in parts if variables_of(self.symbols.graph, [p]) <= chosen]
        limit = self.space.all_of(~self.symbols.of(part) for part in here)
        ranges = [self._range(rule) for rule in self.system.numbers if rule.variable in chosen]
        return limit & self.space.all_of(ranges)

    def _range(self, rule: NumberRule) -> Node:
        """A moving reading never leaves the range of where it starts and where it may go."""
        ends = [state[rule.variable] for state in self.starts]
        ends += [rule.regions.index(goal) for _, goal, _ in rule.rows]
        return self.space.literal(rule.variable, range(min(ends), max(ends) + 1))

    def _few_failed(self, failures: Iterable[str]) -> Node:
        """No more of these failures than allowed."""
        if self.failures is None:
            return self.space.true
        failed = [self.space.literal(n, range(1, self.space.size(n))) for n in failures]
        return ~self.space.at_least(self.failures + 1, failed)


def impossible_parts(impossible: Formula) -> tuple[Formula, ...]:
    """The impossible statements one by one."""
    if isinstance(impossible, Or):
        return impossible.parts
    return (impossible,)
