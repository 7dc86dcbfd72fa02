"""What a move brings about at once in other states only, with a case of each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial

from tellback.logic.answers.moved import Moved, state_formula, states_at_once
from tellback.logic.facts import kind_of, said
from tellback.logic.items import Item
from tellback.logic.possible import Possible
from tellback.logic.primes import Cube
from tellback.logic.run import Moment
from tellback.logic.space import Node

PATIENCE = 50_000
"""The effort of search for all that a move does elsewhere."""

LITTLE = 1_000
"""The effort of search for the shortest condition of one change."""

FEW_ITEMS = 8
"""With more things than this bearing on a change its condition may be too long."""

FEW = 4
"""How many conditions for one change are searched for."""

BASES = 3
"""From so many moments what is missing is moved."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A change at once that comes only in other states, and a condition for it.

    The condition is enough and can be; where more than a few things bear on the change, it may be
    longer than it must be.
    """

    thing: str
    text: str
    when: tuple[Item, ...]


def elsewhere(moved: Moved, told: set[str]) -> tuple[Elsewhere, ...]:
    """What changes at once in other possible states only, less the things that were told."""
    changes = list(_changes(moved, told))
    cases = _Cases(moved).of(dict.fromkeys(node for *_, node in changes))
    return tuple(
        Elsewhere(thing, text, moved.items(cases[node]))
        for thing, text, node in changes
        if node in cases
    )


def _changes(moved: Moved, told: set[str]) -> Iterator[tuple[str, str, Node]]:
    """Each change that the move may bring about, and where it does."""
    for thing in moved.picture.book.things:
        for word in states_at_once(thing) if thing.name not in told else ():
            formula = state_formula(thing, word)
            node = moved.brought(formula) if formula is not None else moved.space.false
            if node & moved.here != moved.space.false:
                yield thing.name, said(thing.name, kind_of(thing), word), node


class _Cases:
    """Finds a condition for each of many changes, met in a possible state."""

    def __init__(self, moved: Moved) -> None:
        self.moved, self.space, self.view = moved, moved.space, moved.view
        self.witnesses = moved.picture.witnesses
        self.patience = PATIENCE

    def of(self, changes: Iterable[Node]) -> dict[Node, Cube]:
        """For each change a case, if one is found: where few things bear on it, a shortest one."""
        few = [node for node in changes if len(self.space.support(node)) <= FEW_ITEMS]
        found = {node: self._shortest(node) for node in few}
        met = self._met([node for node in changes if found.get(node) is None])
        return {n: c for n, c in found.items() if c is not None} | {
            node: self._around(node, moment) for node, moment in met.items()
        }

    def _shortest(self, brought: Node) -> Cube | None:
        """A smallest condition for a change that is known to be met in a possible state."""
        found, here = self.moved.combinations(brought), self.moved.here
        shortest = partial(self.view.cubes, brought)
        with self._charged(found.possible):
            found.settle(shortest, brought, here, patience=min(LITTLE, self.patience))
        cubes = list(shortest(self.moved.states_before(found.widest, brought)))
        for cube in cubes:
            if self.space.cube(cube) & here & found.known != self.space.false:
                return cube
        for cube in cubes[:FEW]:
            with self._charged(found.possible):
                can_be = found.can_be(self.space.cube(cube) & here, self.patience // FEW)
            if can_be:
                return cube
        return None

    @contextmanager
    def _charged(self, possible: Possible) -> Iterator[None]:
        """What is searched meanwhile is taken from the patience that is left."""
        effort = possible.effort
        yield
        self.patience -= possible.effort - effort

    def _met(self, changes: Iterable[Node]) -> dict[Node, Moment]:
        """Moments to which runs came, in which the move brings each of the changes about."""
        met, left = dict[Node, Moment](), list[Node]()
        for node in changes:
            moment = self.witnesses.at_hand(node & self.moved.here, failures=0)
            if moment is None:
                left.append(node)
            else:
                met[node] = moment
        often = Counter(map(id, met.values()))
        by_id = {id(moment): moment for moment in met.values()}
        bases = [self.moved.moment, *(by_id[i] for i, _ in often.most_common(BASES - 1))]
        wanted = [node & self.moved.here for node in left]
        near = self.witnesses.near(wanted, [(m, self.view.now(m.state)) for m in bases], failures=0)
        return met | {left[i]: moment for i, moment in near.items()}

    def _around(self, brought: Node, moment: Moment) -> Cube:
        """A condition that is met at a moment, no part of it idle."""
        now, here = self.view.now(moment.state), self.moved.now
        can_be = self.moved.states_before(self.moved.combinations(brought).widest, brought)
        as_here = [name for name in self.space.support(brought) if now[name] == here[name]]
        return self.view.cube_around(now, brought, can_be, as_here)
