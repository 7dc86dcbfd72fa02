"""The items of an answer: literals over the places where an answer stops, and their minimising.

As seen, going back from a condition stops at the first control, situation, outside reading,
supply, surface position or memory; to the root only inputs and memories are stops.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, field
from functools import cached_property, partial

from tellback.book import conditions as c
from tellback.book.model import Supply
from tellback.logic.around import widened
from tellback.logic.combinations import Asked, Combinations
from tellback.logic.formula import Formula, Key, Ref
from tellback.logic.groups import Together
from tellback.logic.picture import Picture
from tellback.logic.primes import Cube, Primes, primes_within
from tellback.logic.run import State
from tellback.logic.solve import Valuation
from tellback.logic.space import Node
from tellback.logic.symbols import variables_of
from tellback.logic.system import DelayRule
from tellback.logic.words import literal_text
from tellback.logic.world import by_variable, first_to_hold

ORDERED = frozenset({"reading", "number", "place"})


@dataclass(frozen=True, slots=True)
class Item:
    """One literal of an answer: the thing, its states by the words of the book, and the text.

    `kind` is that of the variable (control, reading, failure ...) or `supply`. `together` is how
    it is told where the same is so of its whole group.
    """

    thing: str
    kind: str
    states: tuple[str, ...]
    text: str
    together: tuple[Together, ...] = field(default=(), repr=False, compare=False)

    def __str__(self) -> str:
        return self.text


class View:
    """A picture as seen (stopping at supplies other than `apart`) or to the root.

    A delay is one item: where it has elapsed, its condition holds in every steady state.
    """

    def __init__(self, picture: Picture, to_root: bool, apart: Collection[str] = ()) -> None:
        self.picture = picture
        self.symbols = picture.symbols
        self.space = picture.symbols.space
        self.to_root = to_root
        self.supplies: dict[str, Supply] = {}
        known: dict[Key, Node] = {
            (delay.variable, "held"): self.space.true for delay in picture.system.delays
        }
        if not to_root:
            for thing in picture.book.things:
                if isinstance(thing, Supply) and thing.name not in apart:
                    self.supplies[thing.name] = thing
                    known |= self._stops(thing)
        self.values: Valuation[Node] = Valuation(
            picture.graph,
            self.space.true,
            self.space.false,
            operator.invert,
            self.symbols.literal,
            known,
        )

    def _stops(self, supply: Supply) -> dict[Key, Node]:
        """The levels of a supply as a variable of its own."""
        top = len(supply.levels)
        self.symbols.see(supply.name, top)
        at_least = {k: self.space.literal(supply.name, range(k, top)) for k in range(1, top)}
        keys = {(supply.name, f"at least {k}"): node for k, node in at_least.items()}
        return keys | {(supply.name, "live"): at_least[1]}

    def of(self, formula: Formula) -> Node:
        """The function of the items that a formula is.

        What comes on or goes out is told by the condition that begins or ceases to hold.
        """
        behind = variables_of(self.picture.graph, [formula])
        for rule in self.picture.system.lasts:
            if rule.variable in behind and (rule.variable, "comes on") not in self.values.values:
                now = self.values.of(rule.condition)
                self.values.values[rule.variable, "comes on"] = now
                self.values.values[rule.variable, "goes out"] = ~now
        return self.values.of(formula)

    def combinations(self, nodes: Iterable[Node], failures: int | None = None) -> Combinations:
        """What is known of which combinations of the items of these functions can be."""
        items = {name for node in nodes for name in self.space.support(node)}
        seen = [name for name in items if name in self.supplies]
        actual = self.space.all_of(self._actual(name) for name in seen)
        levels = [Ref((name, "live")) for name in seen]
        possible = self.picture.possible(items - set(seen), levels, failures)
        witness = partial(self.picture.witnesses.find, failures=failures)
        guided = self.picture.guided if failures is None else None
        return Combinations(possible, actual, items, seen, self._tied(items), witness, guided)

    def _tied(self, items: Collection[str]) -> Node:
        """What the delays among the items have in common with the others in every steady state.

        One that has elapsed has its condition hold, and with it have shorter ones of the same. No
        memory that one sets or clears is due.
        """
        delays = [rule for rule in self.picture.system.delays if rule.variable in items]
        ties = []
        for rule in delays:
            elapsed, condition = self.space.literal(rule.variable, (1,)), self._held(rule)
            holds = self.values.of(condition)
            others = [name for name in self.space.support(holds) if name not in items]
            ties.append(~elapsed | self.space.exists_both(holds, self.space.true, others))
            for other in delays:
                if self._held(other) == condition and other.seconds < rule.seconds:
                    ties.append(~elapsed | self.space.literal(other.variable, (1,)))
        ties += self._calm(items, {rule.variable for rule in delays})
        return self.space.all_of(ties)

    def _calm(self, items: Collection[str], delays: Set[str]) -> Iterator[Node]:
        """That none of the memories among the items is due which one of these delays may change."""
        graph, system = self.picture.graph, self.picture.system
        lasts = {rule.variable for rule in system.lasts}
        for name, rules in by_variable(r for r in system.steps if r.variable in items).items():
            behind = variables_of(graph, [rule.condition for rule in rules])
            if not delays & behind or lasts & behind:  # what comes on is so for an instant only
                continue
            due = [(rule.value, self.values.of(rule.condition)) for rule in rules]
            for value, where in first_to_hold(self.space, due):
                calm = ~where | self.space.literal(name, (value,))
                others = [n for n in self.space.support(calm) if n not in items]
                yield self.space.exists(calm, others)

    def _held(self, rule: DelayRule) -> Formula:
        """What a delay waits for, which as an item it stands for."""
        return self.picture.system.values[rule.variable, "held"]

    def care(self, target: Node) -> Node:
        """Which combinations of the items of a function can be.

        All that can be are among them; those that cannot be are left out as far as its shortest
        reasons depend on it.
        """
        found = self.combinations([target])
        found.settle(Asked(partial(self.cubes, target), target, self.space.true))
        return found.widest

    def few_failures(self, node: Node, failures: int | None) -> Node:
        """No more of the things that a function looks at have failed than allowed."""
        if failures is None:
            return self.space.true
        names = [n for n in self.space.support(node) if self.is_failure(n)]
        failed = [self.space.literal(n, range(1, self.space.size(n))) for n in names]
        return ~self.space.at_least(failures + 1, failed)

    def _actual(self, name: str) -> Node:
        """The supply's own variable has the level that the system gives it."""
        levels = range(1, len(self.supplies[name].levels))
        true = {k: self.symbols.values[name, f"at least {k}"] for k in levels}
        own = {k: self.space.literal(name, range(k, len(levels) + 1)) for k in levels}
        return self.space.all_of((own[k] & true[k]) | (~own[k] & ~true[k]) for k in levels)

    def now(self, state: State) -> dict[str, int]:
        """What each item is in a state: a variable's value, a supply's level."""
        values = self.picture.aeroplane.values(state)
        levels = {
            name: sum(values[name, f"at least {k}"] for k in range(1, len(supply.levels)))
            for name, supply in self.supplies.items()
        }
        return {**state, **levels}

    def ordered(self, name: str) -> bool:
        """Whether the states of an item lie in a row."""
        variable = self.picture.system.variables.get(name)
        return variable is None or variable.kind in ORDERED

    def cubes(
        self, node: Node, care: Node, limit: int | None = None, meeting: Node | None = None
    ) -> Primes:
        """All minimal combinations of items that make the function true where it can be.

        Or those of at most `limit` items, or of which some are `meeting` this.
        """
        return primes_within(self.space, node, care, self.ordered, limit, meeting=meeting)

    def as_cube(self, node: Node) -> Cube | None:
        """The one combination of items that makes the function true; None if there are several."""
        space = self.space
        cube = {
            name: frozenset(
                value
                for value in range(space.size(name))
                if node & space.literal(name, (value,)) != space.false
            )
            for name in space.support(node)
        }
        in_a_row = all(
            len(values) > max(values) - min(values)
            for name, values in cube.items()
            if values and self.ordered(name)
        )
        return cube if in_a_row and space.cube(cube) == node else None

    def widened(self, cube: Cube, names: Iterable[str], enough: Callable[[Cube], bool]) -> Cube:
        """The cube with as many values of these items as are enough, one item after the other."""

        def every(name: str) -> frozenset[int]:
            return frozenset(range(self.space.size(name)))

        return widened(cube, names, enough, every, self.ordered)

    @cached_property
    def _places(self) -> Mapping[str, int]:
        return {thing.name: i for i, thing in enumerate(self.picture.book.things)}

    def told_at(self, name: str) -> tuple[int, int]:
        """Where an item is told: failures, then what the crew moves, then the rest, by the book."""
        if name in self.supplies:
            return 2, self._places[name]
        variable = self.picture.system.variables[name]
        rank = {"failure": 0, "control": 1}.get(variable.kind, 2)
        return rank, self._places.get(variable.thing, len(self._places))

    def in_order(self, names: Iterable[str]) -> list[str]:
        """Items in the order in which they are told."""
        return sorted(names, key=self.told_at)

    def is_failure(self, name: str) -> bool:
        """Whether an item is how a thing has failed."""
        return name not in self.supplies and self.picture.system.variables[name].kind == "failure"

    def item(self, name: str, values: frozenset[int]) -> Item:
        """A literal in words."""
        system = self.picture.system
        if name in self.supplies:
            kind, thing, words = "supply", name, self.supplies[name].levels
        else:
            variable = system.variables[name]
            kind, thing, words = variable.kind, variable.thing, variable.values
        states = tuple(words[i] for i in sorted(values))
        if kind in ("reading", "number"):
            states = (literal_text(system, name, values).removeprefix(thing).strip(),)
        text = literal_text(system, name, values)
        return Item(thing, kind, states, text, self.picture.groups.together(thing, text))


def minimal_cubes(cubes: Iterable[Cube]) -> list[Cube]:
    """The cubes that no other cube covers, each once, the shortest first."""
    several: list[Cube] = []
    for cube in sorted(cubes, key=len):
        if cube not in several:
            several.append(cube)
    return [c for c in several if not any(covers(o, c) for o in several if o is not c)]


def covers(wider: Mapping[str, frozenset[int]], cube: Cube) -> bool:
    """Whether every state of the cube is one of the wider cube."""
    return all(name in cube and cube[name] <= values for name, values in wider.items())


def apart_from(condition: c.Condition) -> tuple[str, ...]:
    """The supplies that the condition itself speaks of: no answer may explain X by X."""
    return tuple(
        node.thing if not isinstance(node, c.FedBy) else node.supply
        for node in c.walk(condition)
        if isinstance(node, c.State | c.Between | c.FedBy)
    )
