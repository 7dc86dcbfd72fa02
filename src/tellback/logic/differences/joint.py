"""The systems of two books in one space of variables, for the states that both can be in."""

from __future__ import annotations

import operator
from collections.abc import Collection, Hashable, Iterable, Iterator, Mapping
from functools import cached_property
from itertools import permutations

from tellback.book import conditions as c
from tellback.book.model import Book
from tellback.logic.cuts import regions_of
from tellback.logic.differences.seen import Seen
from tellback.logic.differences.shapes import shape
from tellback.logic.differences.shared import Names, Shared, of_regions, of_words
from tellback.logic.formula import Formula, Lit, conj, disj, neg
from tellback.logic.picture import Picture
from tellback.logic.possible import impossible_parts
from tellback.logic.solve import Valuation
from tellback.logic.space import Node, Space
from tellback.logic.symbols import diagram_order
from tellback.logic.system import System, Variable

SIDES = (0, 1)


def pictures_of(book_a: Book, book_b: Book) -> tuple[Picture, Picture]:
    """Both books prepared, their readings cut at the numbers of either.

    What is one thing in both must have one name.
    """
    asked = _asked(book_a), _asked(book_b)
    same = asked[0].keys() & asked[1].keys()
    new = [[c for mark, c in of.items() if mark not in same] for of in asked]
    return (
        Picture(book_a, (*cuts_of(book_b, book_a), *new[0])),
        Picture(book_b, (*cuts_of(book_a, book_b), *new[1])),
    )


def _asked(book: Book) -> dict[Hashable, c.Condition]:
    """The conditions of procedures that are judged if they differ, by their shapes."""
    return {
        shape(statement.condition): statement.condition
        for procedure in book.procedures
        for statement in (*procedure.called_for, *procedure.secures)
    }


def cuts_of(book: Book, other: Book) -> Iterable[c.Condition]:
    """Comparisons that cut the readings of the other book as this one does."""
    there = regions_of(other, ())
    for name, regions in regions_of(book, ()).items():
        for number, above in regions.cuts if name in there else ():
            yield c.Compare(name, number, not above, None, False)


class Joint:
    """Both systems, with each variable that both have once, and both kinds of functions.

    `local` gives functions of what a formula looks at; `actual` puts in what everything is doing.
    """

    def __init__(self, book_a: Book, book_b: Book) -> None:
        self.pictures = pictures_of(book_a, book_b)
        self.names = Names({}, {})
        self.shared: dict[str, Shared] = {}
        a, b = (picture.system for picture in self.pictures)
        for name in dict.fromkeys((*b.variables, *a.variables)):
            self._share(name, a.variables.get(name), b.variables.get(name))
        self.local = Seen(self.pictures, self.shared, self.names, Space([]))
        self._take_for_one_what_is_equal(a, b)

    def _share(self, name: str, a: Variable | None, b: Variable | None) -> None:
        for side, variable in enumerate((a, b)):
            if variable is not None:
                self.names[side][name] = name
        kinds = {variable.kind for variable in (a, b) if variable is not None}
        if kinds <= {"reading", "number"}:
            regions = [
                picture.system.regions[name] if variable is not None else None
                for picture, variable in zip(self.pictures, (a, b), strict=True)
            ]
            self.shared[name] = of_regions(regions[0], regions[1])
        else:
            self.shared[name] = of_words(a.values if a else (), b.values if b else ())

    def _take_for_one_what_is_equal(self, a: System, b: System) -> None:
        """Delays and last values that differ only in wording are one variable."""
        delays = (a.delays, b.delays)
        lasts = (a.lasts, b.lasts)
        for rules_a, rules_b in (delays, lasts):
            only_b = {r.variable: r for r in rules_b if r.variable not in a.variables}
            for rule in rules_a:
                if rule.variable in b.variables:
                    continue
                mine = self.local.of(0, rule.condition)
                for name, other in only_b.items():
                    same_time = getattr(rule, "seconds", 0) == getattr(other, "seconds", 0)
                    if same_time and self.local.of(1, other.condition) == mine:
                        self._take_for_one(rule.variable, name)
                        del only_b[name]
                        break

    def _take_for_one(self, name_a: str, name_b: str) -> None:
        del self.shared[name_a]
        self.names.a[name_a] = name_b
        words = [self.pictures[1].system.variables[name_b].values] * 2
        self.shared[name_b] = of_words(words[0], words[1])

    # -- what is so ---------------------------------------------------------------------------

    @cached_property
    def space(self) -> Space:
        """All variables of both, then what formulas look at."""
        order = [self.names.a[n] for n in diagram_order(self.pictures[0].graph)]
        before = -1
        for name in (self.names.b[n] for n in diagram_order(self.pictures[1].graph)):
            if name not in order:
                order.insert(before + 1, name)
            before = order.index(name)
        return Space([(name, self.shared[name].size) for name in order])

    @cached_property
    def seen(self) -> Seen:
        """The functions of what formulas look at, in the space of all variables."""
        return Seen(self.pictures, self.shared, self.names, self.space)

    @cached_property
    def _values(self) -> tuple[Valuation[Node], Valuation[Node]]:
        return self._valuation(0), self._valuation(1)

    def _valuation(self, side: int) -> Valuation[Node]:
        def literal(lit: Lit) -> Node:
            return self.seen.literal(side, lit.variable, lit.values)

        space = self.space
        graph = self.pictures[side].graph
        return Valuation(graph, space.true, space.false, operator.invert, literal)

    def of(self, side: int, formula: Formula) -> Node:
        """The formula as a function of inputs and memories, as one book has it."""
        return self._values[side].of(formula)

    def open(self, side: int) -> Node:
        """Where what was worked out of one book so far does not follow from it."""
        return self.space.any_of(self._values[side].undecided.values())

    def actual(self, side: int, node: Node) -> Node:
        """A function of what formulas look at, with everything doing what one book says.

        What only the other book has does what that one says.
        """
        for name in self.space.support(node):
            if name in self.seen.atoms:
                node = self.space.exists_both(node, self._is_actual(side, name), [name])
        return node

    def _is_actual(self, side: int, name: str) -> Node:
        key = side, name
        if key not in self._actual:
            means = self.seen.atoms[name].means
            chosen = side if means[side] is not None else 1 - side
            formulas = means[chosen]
            assert formulas is not None
            self._actual[key] = self.space.any_of(
                self.space.literal(name, (i,)) & self.of(chosen, formula)
                for i, formula in enumerate(formulas)
            )
        return self._actual[key]

    @cached_property
    def _actual(self) -> dict[tuple[int, str], Node]:
        return {}

    def calm(self, node: Node) -> Node:
        """Where no delay at which this function looks is running: all that waits is over."""
        names = self.space.support(node)
        waits = (
            self.of(side, rule.condition)
            & self.space.literal(self.names[side][rule.variable], (0,))
            for side in SIDES
            for rule in self.pictures[side].system.delays
            if self.names[side][rule.variable] in names
        )
        return ~self.space.any_of(waits)

    # -- which states -------------------------------------------------------------------------

    def known(self, sides: Iterable[int], names: Iterable[str]) -> Iterator[Node]:
        """For each variable, that these books, if they have it at all, have its value."""
        for side in sides:
            for name in names:
                own = self.shared[name].own[side]
                if None in own:
                    known = {i for i, v in enumerate(own) if v is not None}
                    yield self.space.literal(name, known)

    def limits(self, names: Iterable[str], but: str = "") -> Iterator[Node]:
        """What holds in every state that both can be in, one by one.

        Neither states it impossible, and no memory among these (`but` left aside) is due to change.
        """
        for side in SIDES:
            for part in impossible_parts(self.pictures[side].system.impossible):
                yield ~self.of(side, part)
            for name in names:
                for own in self.own_names(side, name):
                    if name != but:
                        yield self._is_at_rest(side, own)
        yield from self._longer_is_later(set(names))

    def own_names(self, side: int, name: str) -> list[str]:
        """The names, at most one, that a joint variable has in one book."""
        return [own for own, joint in self.names[side].items() if joint == name]

    def _is_at_rest(self, side: int, own: str) -> Node:
        key = side, own
        if key not in self._resting:
            due: list[Formula] = []
            earlier: list[Formula] = []
            for rule in self.pictures[side].system.steps:
                if rule.variable == own:
                    elsewhere = neg(Lit(own, frozenset({rule.value})))
                    due.append(conj([rule.condition, elsewhere, *map(neg, earlier)]))
                    earlier.append(rule.condition)
            self._resting[key] = ~self.of(side, disj(due))
        return self._resting[key]

    @cached_property
    def _resting(self) -> dict[tuple[int, str], Node]:
        return {}

    def _longer_is_later(self, names: Collection[str]) -> Iterator[Node]:
        """If one condition holds only where another does, its delay is not over sooner.

        Unless it is the shorter.
        """
        waits = [
            (rule.seconds, self.names[side][rule.variable], self.of(side, rule.condition))
            for side in SIDES
            for rule in self.pictures[side].system.delays
            if self.names[side][rule.variable] in names
        ]
        for (short, sooner, wider), (long, later, part) in permutations(waits, 2):
            if sooner != later and short <= long and part & ~wider == self.space.false:
                sooner_is_over = self.space.literal(sooner, (1,))
                yield sooner_is_over | ~self.space.literal(later, (1,))

    def start(self, name: str) -> Mapping[str, int]:
        """A starting state of both (or one that only one has) as a joint state."""
        state: dict[str, int] = {}
        for side in SIDES:
            own = self.pictures[side].starts.get(name)
            for n, variable in self.pictures[side].system.variables.items():
                value = variable.normal if own is None else own.state[n]
                joint = self.names[side][n]
                if value in self.shared[joint].own[side]:
                    state[joint] = self.shared[joint].joint(side, value)
        return state

    def joint_state(self, side: int, own: Mapping[str, int]) -> dict[str, int]:
        """A state of one book as a joint state."""
        names = self.names[side]
        return {names[n]: self.shared[names[n]].joint(side, v) for n, v in own.items()}

    def own_state(self, side: int, state: Mapping[str, int]) -> dict[str, int]:
        """A joint state as one book has it, as far as it has the variables and their values."""
        found: dict[str, int] = {}
        for own, joint in self.names[side].items():
            if joint in state:
                value = self.shared[joint].own[side][state[joint]]
                if value is not None:
                    found[own] = value
        return found
