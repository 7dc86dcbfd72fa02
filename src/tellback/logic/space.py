"""Functions over variables with finitely many values, held as decision diagrams.

The engine below is oxidd; nothing outside this file knows that. A variable of k values is coded
in as few bits as it takes, most significant first; codes that are left over stand for the last
value, so that every code is valid and no side condition is ever needed.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from heapq import heappop, heappush
from itertools import pairwise
from typing import NamedTuple

from oxidd.bdd import BDDFunction
from oxidd.util import BooleanOperator

from tellback.logic.diagram import FALSE, TRUE, Diagram, count_solutions, nearest_solution
from tellback.logic.limits import TooLarge
from tellback.logic.listing import Listing, listing
from tellback.logic.node import Node, made, new_engine

__all__ = ["Node", "Space"]

MOST_BITS = 20_000
"""So many levels a thread with the usual stack of 8 MB can descend safely."""


@dataclass(frozen=True, slots=True)
class _Coding:
    """Where a variable stands in the order, how many values it has, and its bits' levels."""

    index: int
    size: int
    levels: range


class _Came(NamedTuple):
    """From which function one came to another, and by which value of which variable."""

    before: BDDFunction | None
    name: str
    value: int


class Space:
    """A fixed order of finite-domain variables and the functions over them.

    Methods that make functions may raise ``TooLarge`` or ``TooLong``, and ``KeyError`` for a name.
    """

    def __init__(
        self, variables: Sequence[tuple[str, int]], small: bool = False, most: int | None = None
    ) -> None:
        """Make the space of ``(name, number of values)`` in diagram order.

        A ``small`` one is made more quickly, and takes longer over large diagrams. No more than
        ``most`` nodes may be held at a time, if that is given.
        """
        self._engine = new_engine(small, most)
        self._codings: dict[str, _Coding] = {}
        self._names: list[str] = []
        self._index_of_level: list[int] = []
        self._literals: dict[tuple[str, frozenset[int]], Node] = {}
        self._sets_of_bits: dict[frozenset[str], BDDFunction] = {}
        # Questions about one function come in a row, and making its table is most of the work.
        self._last_listed: tuple[Node, Diagram] | None = None
        self.true = Node(self._engine.true())
        self.false = Node(self._engine.false())
        for name, size in variables:
            self.add(name, size)

    def add(self, name: str, size: int) -> None:
        """Append a variable at the end of the order.

        Raises ValueError if it exists already or has fewer than two values.
        """
        if name in self._codings or size < 2:
            raise ValueError(f"variable {name!r} of {size} values")
        bits = (size - 1).bit_length()
        if len(self._index_of_level) + bits > MOST_BITS:
            raise TooLarge(f"the logic behind this takes more than {MOST_BITS:,} yes/no steps")
        levels = self._engine.add_vars(bits)
        self._codings[name] = _Coding(len(self._names), size, levels)
        self._index_of_level.extend([len(self._names)] * bits)
        self._names.append(name)
        self._last_listed = None
        self.__dict__.pop("_all", None)

    @property
    def names(self) -> tuple[str, ...]:
        """The variables, in diagram order."""
        return tuple(self._names)

    def size(self, name: str) -> int:
        """How many values the variable has."""
        return self._codings[name].size

    def literal(self, name: str, values: Collection[int]) -> Node:
        """The function "``name`` has one of ``values``" (value indices from 0)."""
        key = name, frozenset(values)
        if key not in self._literals:
            self._literals[key] = self._new_literal(*key)
        return self._literals[key]

    def _new_literal(self, name: str, values: frozenset[int]) -> Node:
        coding = self._codings[name]
        if any(not 0 <= value < coding.size for value in values):
            raise ValueError(f"{name!r} has values 0 to {coding.size - 1}, not {set(values)}")
        codes = 1 << len(coding.levels)
        wanted = [min(code, coding.size - 1) in values for code in range(codes)]
        return made(self.true.function, partial(self._from_codes, coding.levels, wanted))

    def _from_codes(self, levels: range, wanted: list[bool]) -> BDDFunction:
        """The function of the bits at ``levels`` with ``wanted`` as its truth table."""
        if all(wanted):
            return self.true.function
        if not any(wanted):
            return self.false.function
        half = len(wanted) // 2
        clear = self._from_codes(levels[1:], wanted[:half])
        is_set = self._from_codes(levels[1:], wanted[half:])
        return self._engine.var(levels[0]).ite(is_set, clear)

    def cube(self, literals: Mapping[str, Collection[int]]) -> Node:
        """True where each of these variables has one of its values."""
        return self.all_of(self.literal(name, values) for name, values in literals.items())

    def point(self, state: Mapping[str, int]) -> Node:
        """True where each of these variables has its value."""
        return self.cube({name: (value,) for name, value in state.items()})

    def all_of(self, nodes: Iterable[Node]) -> Node:
        """True where every one of ``nodes`` is (true if there are none)."""
        result = self.true
        for node in self.deepest_first(nodes):
            result = node & result
        return result

    def any_of(self, nodes: Iterable[Node]) -> Node:
        """True where at least one of ``nodes`` is (false if there are none)."""
        result = self.false
        for node in self.deepest_first(nodes):
            result = node | result
        return result

    def at_least(self, number: int, nodes: Iterable[Node]) -> Node:
        """True where at least ``number`` of ``nodes`` are; each counts as often as it is given."""
        ordered = self.deepest_first(nodes)
        reached = [self.true] + [self.false] * min(max(number, 0), len(ordered) + 1)
        for node in ordered:
            reached[1:] = [already | (node & less) for less, already in pairwise(reached)]
        return reached[-1]

    def deepest_first(self, nodes: Iterable[Node]) -> list[Node]:
        """In the order that keeps intermediate diagrams small: last variables first."""
        last = len(self._index_of_level)

        def level(node: Node) -> int:
            own = node.function.node_level()
            return last if own is None else own

        return sorted(nodes, key=level, reverse=True)

    def assume(self, node: Node, name: str, value: int) -> Node:
        """The function with ``name`` fixed at ``value``; it no longer depends on ``name``."""
        fixed, bits = self.literal(name, (value,)).function, self._bits_of((name,))
        both = BooleanOperator.AND
        return made(node.function, partial(node.function.apply_exists, both, fixed, bits))

    def exists(self, node: Node, names: Iterable[str]) -> Node:
        """True where some values of ``names`` make ``node`` true."""
        return made(node.function, partial(node.function.exists, self._bits_of(names)))

    def exists_but(self, node: Node, names: Iterable[str]) -> Node:
        """True where some values of all variables but ``names`` make ``node`` true."""
        kept = self._bits_of(names)
        return made(node.function, lambda: node.function.exists(self._all_bits.exists(kept)))

    def exists_both(self, node: Node, other: Node, names: Iterable[str]) -> Node:
        """True where some values of ``names`` make both functions true; quicker than in two."""
        both, bits = BooleanOperator.AND, self._bits_of(names)
        attempt = partial(node.function.apply_exists, both, other.function, bits)
        return made(node.function, attempt)

    def for_all(self, node: Node, names: Iterable[str]) -> Node:
        """True where all values of ``names`` make ``node`` true."""
        return made(node.function, partial(node.function.forall, self._bits_of(names)))

    def _bits_of(self, names: Iterable[str]) -> BDDFunction:
        """The conjunction of all bits of ``names``, the engine's way to state a set of them."""
        key = frozenset(names)
        if key not in self._sets_of_bits:
            levels = [level for name in key for level in self._codings[name].levels]
            bits = [made(self.true.function, partial(self._engine.var, level)) for level in levels]
            self._sets_of_bits[key] = self.all_of(bits).function
        return self._sets_of_bits[key]

    @cached_property
    def _all_bits(self) -> BDDFunction:
        return self._bits_of(self._names)

    def support(self, node: Node) -> tuple[str, ...]:
        """The variables that ``node`` truly depends on, in diagram order."""
        met, waiting, levels = {node.function}, [node.function], set[int]()
        while waiting:
            function = waiting.pop()
            level = function.node_level()
            if level is not None:
                levels.add(level)
                below = [half for half in function.cofactors() or () if half not in met]
                met.update(below)
                waiting += below
        return tuple(self._names[i] for i in sorted({self._index_of_level[n] for n in levels}))

    def weight(self, node: Node) -> int:
        """How many nodes the diagram of ``node`` has."""
        return int(node.function.node_count())

    def held(self) -> int:
        """How many nodes are held now, by all functions and those on the way to them."""
        return int(self._engine.num_inner_nodes())

    def holds(self, node: Node, state: Mapping[str, int]) -> bool:
        """Whether ``node`` is true in ``state``, which gives at least the values it looks at."""
        function = node.function
        while (level := function.node_level()) is not None:
            name = self._names[self._index_of_level[level]]
            function = self._children(function)[state[name]]
        return function.valid()

    def some_of(self, node: Node, states: Mapping[str, Sequence[int]], among: int) -> int:
        """Some of many states in which ``node`` is true; 0 if it is in none.

        A set of states is an integer, a bit each; ``states`` gives for every variable the states
        in which it has each of its values. Only what some of them come by is looked at.
        """
        coming = {node.function: among}
        waiting = [(self._level(node.function), 0, node.function)]
        count = 0
        while waiting:
            level, _, function = heappop(waiting)
            here = coming.pop(function)
            if level == len(self._index_of_level):
                if function.valid():
                    return here
                continue
            held = states[self._names[self._index_of_level[level]]]
            for child, having in zip(self._children(function), held, strict=True):
                further = here & having
                if not further:
                    continue
                if child in coming:
                    coming[child] |= further
                else:
                    coming[child] = further
                    count += 1
                    heappush(waiting, (self._level(child), count, child))
        return 0

    def _level(self, function: BDDFunction) -> int:
        level = function.node_level()
        return len(self._index_of_level) if level is None else level

    def pick(self, node: Node) -> dict[str, int] | None:
        """One solution over the support: low values first. None if there is no solution."""
        return nearest_solution(self.diagram(node), lambda _name, _value: 0)

    def nearest(self, node: Node, cost: Callable[[str, int], int]) -> dict[str, int] | None:
        """A solution over the support with the least total cost; None if there is no solution.

        Variables that ``node`` does not depend on are taken to cost nothing.
        """
        return nearest_solution(self.diagram(node), cost)

    def nearest_to(self, node: Node, state: Mapping[str, int]) -> dict[str, int] | None:
        """The fewest changes to a state that bring it into the set; None if that is empty.

        Only the part of the diagram that is no farther than that is looked at.
        """
        if node == self.false:
            return None
        came: dict[BDDFunction, _Came] = {}
        nearest: Iterable[tuple[_Came, BDDFunction]] = [(_Came(None, "", 0), node.function)]
        while True:
            as_near = []
            for by, function in nearest:
                while function not in came and function.satisfiable():
                    came[function] = by
                    level = function.node_level()
                    if level is None:
                        return _changes(function, came, state)
                    name = self._names[self._index_of_level[level]]
                    as_near.append((function, name))
                    by = _Came(function, name, state[name])
                    function = self._child(function, name, state[name])
            nearest = (
                (_Came(one, changed, value), child)
                for one, changed in reversed(as_near)
                for value, child in enumerate(self._children(one))
                if value != state[changed]
            )

    def _child(self, function: BDDFunction, name: str, value: int) -> BDDFunction:
        """What the function becomes for a value of its first variable."""
        levels = self._codings[name].levels
        for level in levels:
            function = _halves(function, level)[value >> (levels.stop - 1 - level) & 1]
        return function

    def count(self, node: Node, names: Iterable[str]) -> int:
        """How many assignments of ``names`` make ``node`` true, exactly.

        Raises ValueError if ``node`` depends on a variable that is not among ``names``.
        """
        diagram, wanted = self.diagram(node), set(names)
        missing = [name for name in diagram.support() if name not in wanted]
        if missing or not wanted <= self._codings.keys():
            raise ValueError(f"names to count over: {sorted(wanted)}; missing: {missing}")
        return count_solutions(diagram, wanted)

    def diagram(self, node: Node) -> Diagram:
        """The function as a plain table, free of the engine."""
        if self._last_listed is None or self._last_listed[0] != node:
            self._last_listed = node, self._listed(node)
        return self._last_listed[1]

    def listing(self, node: Node) -> Listing:
        """The bits of the function as a plain table; those of yes/no variables are these."""
        return listing(node.function)

    def _listed(self, node: Node) -> Diagram:
        bits = self.listing(node)
        last = len(self._names)
        if last == len(self._index_of_level):  # each bit is a variable
            pairs = zip(bits.low, bits.high, strict=True)
            return Diagram(*self._all, [last, last, *bits.level], [(), (), *pairs], bits.root)
        below: dict[int, Sequence[int]] = {}
        needed = {bits.root}
        for number in range(len(bits.level) + 1, TRUE, -1):
            if number in needed:
                below[number] = self._below(bits, number)
                needed.update(below[number])
        numbers = {FALSE: FALSE, TRUE: TRUE}
        variable = [last, last]
        children: list[tuple[int, ...]] = [(), ()]
        for number in reversed(below):
            numbers[number] = len(variable)
            variable.append(self._index_of_level[bits.level[number - 2]])
            children.append(tuple([numbers[child] for child in below[number]]))
        return Diagram(*self._all, variable, children, numbers[bits.root])

    def _below(self, bits: Listing, number: int) -> Sequence[int]:
        """The node that follows for each value of the variable of a listed node."""
        coding = self._codings[self._names[self._index_of_level[bits.level[number - 2]]]]
        parts: Sequence[int] = (number,)
        for level in coding.levels:
            parts = [half for part in parts for half in bits.halves(part, level)]
        return parts[: coding.size]

    @cached_property
    def _all(self) -> tuple[tuple[str, ...], tuple[int, ...]]:
        """All names and sizes; a space may have thousands, of which a function needs a few."""
        return self.names, tuple(coding.size for coding in self._codings.values())

    def _children(self, function: BDDFunction) -> Sequence[BDDFunction]:
        """What the function becomes for each value of its first variable."""
        coding = self._codings[self._names[self._index_of_level[self._level(function)]]]
        parts: Sequence[BDDFunction] = (function,)
        for level in coding.levels:
            parts = [half for part in parts for half in _halves(part, level)]
        return parts[: coding.size]


def _changes(
    end: BDDFunction, came: Mapping[BDDFunction, _Came], state: Mapping[str, int]
) -> dict[str, int]:
    """What the way to a function changes in a state, the first variable first."""
    changes: dict[str, int] = {}
    by = came[end]
    while by.before is not None:
        if state[by.name] != by.value:
            changes[by.name] = by.value
        by = came[by.before]
    return dict(reversed(changes.items()))


def _halves(function: BDDFunction, level: int) -> tuple[BDDFunction, BDDFunction]:
    """The function with the bit at ``level`` clear and set, that bit being its first at most."""
    if function.node_level() != level:
        return function, function
    cofactors = function.cofactors()
    assert cofactors is not None
    return cofactors[1], cofactors[0]
