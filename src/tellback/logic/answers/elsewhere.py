"""What a move brings about at once in other states only, with a case of each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from tellback.book.model import Thing
from tellback.logic.answers.moved import Against, Moved, Patience, state_formula, states_at_once
from tellback.logic.facts import kind_of, said
from tellback.logic.items import Item
from tellback.logic.primes import Cube
from tellback.logic.run import Moment
from tellback.logic.space import Node

PATIENCE = 30_000
"""The effort of search for all that a move does elsewhere."""

LITTLE = 1_000
"""The effort of search for one combination."""

EFFORT_OF_ASKING = 1_000
"""What asking for a combination takes at least."""

FEW_ITEMS = 8
"""With more things than this bearing on a change its condition may be too long."""

BASES = 3
"""From so many moments what is missing is moved."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A change at once that comes only in other states, and a condition for it.

    The condition is enough and can be; where more than a few things bear on the change, it may be
    longer than it must be.
    """

    thing: str
    kind: str
    before: str
    after: str
    text: str
    when: tuple[Item, ...]


def brought_elsewhere(moved: Moved, told: set[str]) -> tuple[Elsewhere, ...]:
    """What changes at once in other possible states only, less the things that were told."""
    changes = list(_changes(moved, told))
    cases = _Cases(moved).of(dict.fromkeys(node for *_, node in changes))
    return tuple(
        _told(thing, word, moved.items(cases[node]))
        for thing, word, node in changes
        if node in cases
    )


def _told(thing: Thing, word: str, when: tuple[Item, ...]) -> Elsewhere:
    kind = kind_of(thing)
    (before,) = (state for state in states_at_once(thing) if state != word)
    return Elsewhere(thing.name, kind, before, word, said(thing.name, kind, word), when)


def _changes(moved: Moved, told: set[str]) -> Iterator[tuple[Thing, str, Node]]:
    """Each change that the move may bring about, and where it does."""
    for thing in moved.picture.book.things:
        for word in states_at_once(thing) if thing.name not in told else ():
            formula = state_formula(thing, word)
            node = moved.brought(formula) if formula is not None else moved.space.false
            if node & moved.here != moved.space.false:
                yield thing, word, node


class _Cases:
    """Finds a condition for each of many changes, met in a possible state."""

    def __init__(self, moved: Moved) -> None:
        self.moved, self.space, self.view = moved, moved.space, moved.view
        self.witnesses = moved.picture.witnesses
        self._can_be = Patience(PATIENCE, LITTLE, EFFORT_OF_ASKING).can_be

    def of(self, changes: Iterable[Node]) -> dict[Node, Cube]:
        """For each change a case, no part of which is idle, if one is found."""
        changes = list(changes)
        met = {node: self.view.now(moment.state) for node, moment in self._met(changes).items()}
        for node in changes:
            if node not in met and len(self.space.support(node)) <= FEW_ITEMS:
                sought = self._sought(node)
                if sought is not None:
                    met[node] = sought
        return {node: self._around(node, now) for node, now in met.items()}

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

    def _sought(self, brought: Node) -> dict[str, int] | None:
        """What a state that was searched for has, of the things that bear on the change."""
        found = self.moved.combinations(brought)
        where = brought & self.moved.here & self.moved.intact
        state = self.space.pick(where & found.known) if self._can_be(found, where) else None
        # What the set does not look at may be as it is here.
        return None if state is None else {**self.moved.now, **state}

    def _around(self, brought: Node, now: Mapping[str, int]) -> Cube:
        """A condition that is met now, no part of it idle; what is as here is left out first."""
        names, here = self.space.support(brought), self.moved.now
        against = Against(self.moved, brought, self._can_be if len(names) <= FEW_ITEMS else None)
        whole = {name: frozenset([now[name]]) for name in names}
        as_here_first = sorted(names, key=lambda name: now[name] != here[name])
        return self.view.widened(whole, as_here_first, against.leaves)
