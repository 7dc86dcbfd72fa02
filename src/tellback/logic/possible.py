"""The states that can be: reached from a starting state, inputs moving one at a time.

Exact and symbolic, with one abstraction: any delay, surface or moving reading under way may be
the next to arrive, whatever the times. That can only add states, so what holds in all of them is
proved; a run found through them is replayed in time before anything is called false.

Inputs that no memory, lock or impossible statement ever looks at are free and left out. A search
goes only as far as the question needs.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Sequence
from functools import cached_property

from tellback.logic.events import Event, World
from tellback.logic.formula import Formula, Or
from tellback.logic.limits import TooLarge
from tellback.logic.run import State
from tellback.logic.space import Node
from tellback.logic.symbols import Symbols, changes_of, nearest_first, variables_of

PATIENCE = 10.0
"""Seconds of search after which a question is left undecided, unless it asks for less."""

FIRST_INPUTS = 12
"""How many inputs, those nearest to the question, move at first; then twice as many, and so on."""


class Possible:
    """The possible states of the variables `names`, as far as they have been worked out.

    `reached` are possible; where `done`, they are all there are.
    `layers` holds, for each number of events, the states first reached then (if `layered`).

    `inputs` come nearest first: the search lets a few of them move, then more, since a question
    is often decided long before all have moved.
    """

    def __init__(
        self, world: World, starts: Sequence[State], inputs: Sequence[str], layered: bool
    ) -> None:
        self.world = world
        self.space = world.space
        self.names = world.chosen
        self.layered = layered
        self.reached = self._frontier = world.start(starts)
        self.layers = [self.reached]
        self.spent = math.inf if world.opaque else 0.0
        self.done = False
        self._waiting = list(inputs)
        self._moving = 0
        self._timed: tuple[Event, ...] = ()
        self._events: list[Event] = []
        self._admit(len(inputs) if layered else FIRST_INPUTS)

    def _admit(self, count: int) -> None:
        """Let more inputs move."""
        admitted, self._waiting = self._waiting[:count], self._waiting[count:]
        self._moving += len(admitted)
        self._events += [self.world.input_event(name) for name in admitted]

    @property
    def tired(self) -> bool:
        """Whether the search has taken as long as it may."""
        return self.spent > PATIENCE

    def advance(self, patience: float = PATIENCE) -> None:
        """One round of events from what was reached last; given up if it grows too large."""
        try:
            self._advance(patience)
        except TooLarge:
            self.spent = math.inf

    def _advance(self, patience: float) -> None:
        begun = time.monotonic()
        if not self._timed:
            self._timed = tuple(self.world.time_events())
        fresh, frontier = self.space.false, self._frontier
        for event in (*self._events, *self._timed):
            new = event(frontier) & ~(self.reached | fresh)
            fresh = fresh | new
            if not self.layered:
                frontier = frontier | new
            if self.spent + time.monotonic() - begun > patience:
                break
        else:
            frontier = self.space.false
        self.spent += time.monotonic() - begun
        self.reached = self.reached | fresh
        self._frontier = frontier | fresh
        if frontier != self.space.false:
            return
        if fresh == self.space.false:
            self._widen()
        else:
            self.layers.append(fresh)

    def _widen(self) -> None:
        """Nothing new is reached: let more inputs move, or be done if all do."""
        if self._waiting:
            self._frontier = self.reached
            self._admit(self._moving)
        else:
            self.done = True

    def finish(self) -> bool:
        """Search to the end; whether it was reached in good time."""
        while not self.done and not self.tired:
            self.advance()
        return self.done

    @cached_property
    def bound(self) -> Node:
        """A set in which all possible states lie, known without a search."""
        return self.world.always()

    def meets(self, node: Node) -> bool | None:
        """Whether some possible state lies in the set; None if that was not decided."""
        if self.world.excludes(node):
            return False
        while self.reached & node == self.space.false:
            if self.done:
                return False
            if self.tired:
                return None
            self.advance()
        return True

    def seen_through(
        self, relation: Node, items: Iterable[str], patience: float
    ) -> tuple[Node, bool]:
        """The combinations of some items that can be, and whether they are exact.

        `relation` ties the items to the variables. If the seconds of `patience` do not suffice,
        all that can be are among them, but not all of them may be possible.
        """
        kept = set(items)
        hidden = [n for n in self.space.names if n not in kept]
        widest = self.space.exists_both(self.bound, relation, hidden)
        while True:
            found = self.space.exists_both(self.reached, relation, hidden)
            if found == widest or self.done:
                return found, True
            if self.spent > patience:
                return widest, False
            self.advance(patience)


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

    def over(
        self,
        chosen: frozenset[str],
        near: Iterable[str],
        formulas: Iterable[Formula],
        layered: bool = False,
    ) -> Possible:
        """The possible states of variables that are closed under what bears on them.

        `near` are the variables of the question, `formulas` the values it looks at.
        """
        world = World(self.symbols, chosen, self._limit(chosen))
        kinds = self.system.variables
        inputs = [
            n
            for n in dict.fromkeys(
                [*nearest_first(self.symbols.graph, near, formulas), *self.space.names]
            )
            if n in chosen
            and kinds[n].is_input
            and not (self.failures == 0 and kinds[n].kind == "failure")
        ]
        return Possible(world, self.starts, inputs, layered)

    def _limit(self, chosen: frozenset[str]) -> Node:
        """States that are not stated impossible and have no more failures than allowed."""
        parts = impossible_parts(self.system.impossible)
        here = [p for p in parts if variables_of(self.symbols.graph, [p]) <= chosen]
        limit = self.space.all_of(~self.symbols.of(part) for part in here)
        return limit & self.few_failures()

    def few_failures(self) -> Node:
        """No more failures than allowed."""
        if self.failures is None:
            return self.space.true
        failed = [
            self.space.literal(v.name, range(1, len(v.values))) for v in self.system.failures()
        ]
        return ~self.space.at_least(self.failures + 1, failed)


def impossible_parts(impossible: Formula) -> tuple[Formula, ...]:
    """The impossible statements one by one."""
    if isinstance(impossible, Or):
        return impossible.parts
    return (impossible,)
