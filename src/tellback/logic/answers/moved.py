"""Where a move brings something about at once, over all possible states without failures."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property

from tellback.book.english import running_words
from tellback.book.model import Indication, Means, Supply, Thing, Unit
from tellback.logic.combinations import Combinations
from tellback.logic.formula import (
    Formula,
    Lit,
    Ref,
    conj,
    disj,
    neg,
)
from tellback.logic.items import Item, View
from tellback.logic.picture import Picture
from tellback.logic.primes import Cube
from tellback.logic.run import Moment
from tellback.logic.space import Node
from tellback.logic.symbols import variables_of
from tellback.logic.system import DelayRule
from tellback.logic.world import MOST_EDGES


class Moved:
    """Judges over all possible states without failures what a move does at once.

    Only where it sets off no memory that bears on what is asked: what follows then has come to
    stay. States in which the move cannot be made do not count.
    """

    def __init__(self, picture: Picture, moment: Moment, name: str, after: int) -> None:
        self.picture = picture
        self.view = View(picture, to_root=False, apart=supplies_moved(picture, name))
        self.moment = moment
        self.now = self.view.now(moment.state)
        self.space = self.view.space
        self.name, self.before, self.after = name, moment.state[name], after
        system = picture.system
        self.failures = [v.name for v in system.failures()]
        self.intact = self.space.all_of(self.space.literal(n, (0,)) for n in self.failures)
        bars = [r.condition for r in system.bars if (r.variable, r.value) == (name, after)]
        self.hindered = self._was(self._of(disj(bars))) | self._then(self._of(system.impossible))
        self.here = self.space.literal(name, (self.before,)) & ~self.hindered

    def _of(self, formula: Formula) -> Node:
        """The formula; a delay is one item, unless the move may begin or break its condition."""
        moved = any(self._moved_delays(formula))
        return self.picture.symbols.of(formula) if moved else self.view.of(formula)

    def _moved_delays(self, formula: Formula) -> Iterator[DelayRule]:
        """The delays behind a formula whose conditions look at the control."""
        graph = self.picture.graph
        behind = variables_of(graph, [formula])
        for rule in self.picture.system.delays:
            if rule.variable in behind and self.name in variables_of(graph, [rule.condition]):
                yield rule

    def _long_since(self, rule: DelayRule) -> Node:
        """If the delay has elapsed, its condition holds before the move: so it is when steady."""
        elapsed = self.space.literal(rule.variable, (1,))
        return ~elapsed | self._was(self.picture.symbols.of(rule.condition))

    def _was(self, node: Node) -> Node:
        """Where it is so before the move, nothing having failed."""
        return self._intact(self.space.assume(node, self.name, self.before))

    def _then(self, node: Node) -> Node:
        """Where it is so in the instant after the move, nothing else having changed."""
        return self._intact(self.space.assume(node, self.name, self.after))

    def _due(self, formula: Formula) -> Node:
        """Where a change is due in the instant after the move: at once, or by what then comes on.

        What comes on may bar at last what was due at once, and has happened.
        """
        symbols = self.picture.symbols
        node = self._then(symbols.of(formula))
        support = self.space.support(node)
        watched = [rule for rule in self.picture.system.lasts if rule.variable in support]
        for rule in watched:
            was = self._was(symbols.of(rule.condition))
            last = self.space.literal(rule.variable, (1,))
            both = (last & was) | ~(last | was)
            node = self.space.exists(node & both, [rule.variable])
        return node | self._then(symbols.quiet_values.of(formula)) if watched else node

    def _intact(self, node: Node) -> Node:
        return self.space.exists(node & self.intact, self.failures)

    def brought(self, formula: Formula) -> Node:
        """Where the move brings the formula about and sets off no memory that bears on it.

        Nowhere if such a memory watches too many things come and go to tell.
        """
        node = self._of(formula)
        brought = self._then(node) & ~self._was(node)
        brought = brought & self.space.all_of(map(self._long_since, self._moved_delays(formula)))
        set_off = list(self._set_off(formula)) if brought != self.space.false else []
        watched = variables_of(self.picture.graph, set_off)
        if sum(rule.variable in watched for rule in self.picture.system.lasts) > MOST_EDGES:
            return self.space.false
        return brought & ~self.space.any_of(map(self._due, set_off))

    def _set_off(self, formula: Formula) -> Iterator[Formula]:
        """When the memories that bear at once on the formula may be due to change by the move."""
        graph = self.picture.graph
        names, followed = variables_of(graph, [formula]), set[str]()
        while names - followed:
            rules = [r for r in self.picture.system.steps if r.variable in names - followed]
            followed |= names
            for i, rule in enumerate(rules):
                behind = variables_of(graph, [rule.condition])
                names |= behind
                if self.name in (*behind, rule.variable):
                    there = Lit(rule.variable, frozenset({rule.value}))
                    earlier = (r.condition for r in rules[:i] if r.variable == rule.variable)
                    yield conj([rule.condition, neg(there), *map(neg, earlier)])

    def has_failed(self, formula: Formula) -> bool:
        """Whether something has failed at the moment that bears on the formula."""
        behind = variables_of(self.picture.graph, [formula])
        return any(self.moment.state[name] for name in self.failures if name in behind)

    def combinations(self, brought: Node) -> Combinations:
        """What is known of the states before the move, of what a change depends on."""
        return self.view.combinations([brought, self.here], failures=0)

    def states_before(self, states: Node, brought: Node) -> Node:
        """States before the move, of the things that the change depends on alone."""
        items = {*self.space.support(brought)}.difference([self.name], self.failures)
        left = self.space.assume(states & self.here, self.name, self.before)
        return self.space.exists_but(left & self.intact, items)

    def items(self, cube: Cube) -> tuple[Item, ...]:
        """A condition in words."""
        return tuple(self.view.item(n, cube[n]) for n in self.view.in_order(cube))


Asking = Callable[[Combinations, Node], object]
"""Asks whether some of these combinations can be; what is found is kept in them."""


class Patience:
    """Asks what can be, as long as the effort of search for all that is asked lasts.

    One question takes no more than `at_most`, and counts for `at_least` more than its search.
    """

    def __init__(self, effort: int, at_most: int | None = None, at_least: int = 0) -> None:
        self._left = effort
        self._at_most = effort if at_most is None else at_most
        self._at_least = at_least

    def can_be(self, found: Combinations, doubt: Node) -> bool | None:
        """Whether some of these combinations can be; None if that was not decided."""
        if self._left <= 0:
            return None
        effort = found.possible.effort
        decided = found.can_be(doubt, min(self._at_most, self._left))
        self._left -= found.possible.effort - effort + self._at_least
        return decided


class Against:
    """The states in which a move does not bring something about, as far as they can be.

    Of what is not known `can_be` is asked. What is not decided then, and all that is not excluded
    if nothing is to be asked, counts as a state that can be.
    """

    def __init__(self, moved: Moved, brought: Node, can_be: Asking | None) -> None:
        self._moved, self._space, self._brought = moved, moved.space, brought
        self._found = moved.combinations(brought)
        self._doubtful = moved.here & moved.intact & ~brought
        self._can_be = can_be

    @cached_property
    def _not_excluded(self) -> Node:
        return self._moved.states_before(self._doubtful & self._found.widest, self._brought)

    def _within(self, cube: Cube) -> Node:
        """Such states in a cube, as far as the change depends on them."""
        within = self._space.cube(cube)
        if self._can_be is None:
            return within & self._not_excluded
        none, doubt = self._space.false, within & self._doubtful
        if doubt & self._found.known == none:
            self._can_be(self._found, doubt)
        known = doubt & self._found.known
        real = known if known != none else doubt & self._found.widest
        return self._moved.states_before(real, self._brought)

    def leaves(self, cube: Cube) -> bool:
        """Whether a cube holds no such state: it is enough for the change."""
        return self._within(cube) == self._space.false

    def differing(self, now: Mapping[str, int], cube: Cube) -> list[str] | None:
        """What differs from now in such a state of the cube; None if there is none."""
        changes = self._space.nearest_to(self._within(cube), now)
        return None if changes is None else list(changes)


def supplies_moved(picture: Picture, control: str) -> list[str]:
    """The supplies that a move of the control may change at once: a reason cannot stop at them."""
    return [
        thing.name
        for thing in picture.book.things
        if isinstance(thing, Supply) and control in variables_of(picture.graph, _levels(thing))
    ]


def _levels(supply: Supply) -> list[Formula]:
    return [Ref((supply.name, f"at least {k}")) for k in range(1, len(supply.levels))]


def states_at_once(thing: Thing) -> tuple[str, ...]:
    """The states of a thing that follow at once, as they are called; none of a memory."""
    match thing:
        case Unit():
            return running_words(thing.form)
        case Supply():
            return ("live", "lost")
        case Indication():
            return ("shown", "not shown")
        case Means():
            return ("yes", "no")
    return ()


def state_formula(thing: Thing, word: str) -> Formula | None:
    """The formula of a state that follows at once; None for memories and readings."""
    match thing:
        case Unit() | Supply() | Indication() | Means() if word in states_at_once(thing):
            affirmed, _ = states_at_once(thing)
            state = "running" if isinstance(thing, Unit) else affirmed
            first = Ref((thing.name, state))
            return first if word == affirmed else neg(first)
    return None
