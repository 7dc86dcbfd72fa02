"""The values of an aeroplane, compiled to Python: the same as by `solve`, many times faster.

All values of a state are worked out at once by a function written for the system, sources first:
those that the rules look at by one, and the others by another, written when first needed.
Circles take their fixed points as in `tellback.logic.solve`, which says where that comes from.

A function is written for one state, or for many of them at a time, each a bit of an integer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import compress
from operator import itemgetter, ne

from tellback.logic.formula import And, Formula, Key, Lit, Neg, Or, Ref, Some, references
from tellback.logic.solve import Graph, Valuation, at_least
from tellback.logic.system import System

State = Mapping[str, int]
"""The value of each variable, by its index."""

Write = Callable[[Formula, bool], str]
"""A formula as a Python expression, under an even number of `not` or not."""


class OneState:
    """How a formula of one state is written: an input is its number, a value is 1 or 0.

    No brackets but those needed: Python takes long to read them.
    """

    def __init__(self, system: System) -> None:
        self._names = {name: f"x{i}" for i, name in enumerate(system.variables)}
        self.inputs = tuple(self._names.values())

    def literal(self, lit: Lit) -> str:
        """An input has one of some values."""
        if len(lit.values) == 1:
            return f"{self._names[lit.variable]} == {min(lit.values)}"
        return f"{self._names[lit.variable]} in {tuple(sorted(lit.values))}"

    def negated(self, text: str) -> str:
        """Not so."""
        return f"not {text}"

    def all_of(self, texts: Iterable[str]) -> str:
        """All are so."""
        return f"({' and '.join(texts) or '1'})"

    def any_of(self, texts: Iterable[str]) -> str:
        """One at least is so."""
        return f"({' or '.join(texts) or '0'})"

    def some_of(self, count: int, texts: Iterable[str]) -> str:
        """So many at least are so."""
        return f"{' + '.join(f'bool({text})' for text in texts) or '0'} >= {count}"


class ManyStates:
    """How a formula of many states is written: sets of states, `a` that of all.

    An input has as many places as values: the set of the states in which it has each.
    """

    def __init__(self, system: System) -> None:
        self._names = {
            variable.name: [f"x{i}_{value}" for value in range(len(variable.values))]
            for i, variable in enumerate(system.variables.values())
        }
        self.inputs = tuple(name for names in self._names.values() for name in names)

    def literal(self, lit: Lit) -> str:
        """An input has one of some values."""
        return self.any_of(self._names[lit.variable][value] for value in sorted(lit.values))

    def negated(self, text: str) -> str:
        """Not so."""
        return f"(a ^ {text})"

    def all_of(self, texts: Iterable[str]) -> str:
        """All are so."""
        return f"({' & '.join(texts) or 'a'})"

    def any_of(self, texts: Iterable[str]) -> str:
        """One at least is so."""
        return f"({' | '.join(texts) or '0'})"

    def some_of(self, count: int, texts: Iterable[str]) -> str:
        """So many at least are so."""
        return f"at_least({count}, [{', '.join(texts)}], a, 0)"


class Program:
    """A function from a state to the values that formulas need, and of the formulas themselves.

    Values are kept in a list; `keys` tells where, and `formulas` where by the identity of each.
    The last of the list tells whether there are edges that were not seen, as it was `quiet`. A
    program may go on from what another one, `first`, has worked out.
    """

    def __init__(
        self,
        graph: Graph,
        needed: Iterable[Key],
        formulas: Iterable[Formula] = (),
        writing: type[OneState] | type[ManyStates] = OneState,
        first: Program | None = None,
    ) -> None:
        self.graph = graph
        known = first.keys if first else {}
        order = graph.components(needed, known)
        keys = [key for component in order for key in component]
        begin = first.length if first else 0
        self.keys: Mapping[Key, int] = {**known, **{k: i for i, k in enumerate(keys, begin)}}
        self.formulas = {id(f): i for i, f in enumerate(formulas, begin + len(keys))}
        self.length: int = begin + len(keys) + len(self.formulas) + 1
        self._writing = writing(graph.system)
        self._edges = frozenset(graph.system.edges())
        space: dict[str, object] = {"fixed_point": fixed_point, "at_least": at_least}
        exec(compile("\n".join(self._lines(order, formulas)), "<system>", "exec"), space)
        self._run: Callable[..., None] = space["run"]  # type: ignore[assignment]

    def values(
        self, inputs: Iterable[int], quiet: bool, everything: int = 1, found: Sequence[int] = ()
    ) -> list[int]:
        """The values for the inputs, in the order of the system; `quiet` sees no edges.

        `everything` is the set of all states, where there are many; `found` the values of `first`.
        """
        values = [*found, *([0] * (self.length - len(found)))]
        self._run(inputs, quiet, values, everything)
        return values

    # -- writing the function ---------------------------------------------------------------

    def _lines(self, order: list[list[Key]], formulas: Iterable[Formula]) -> Iterator[str]:
        yield "def run(x, quiet, v, a):"
        yield f"    [{', '.join(self._writing.inputs)}] = x"
        for number, component in enumerate(order):
            if self.graph.is_circle(component):
                yield from self._circle(component, number)
            else:
                yield from (f"    {line}" for line in self._assignment(component[0], self._plain))
        for formula in formulas:
            yield f"    v[{self.formulas[id(formula)]}] = {self._plain(formula, True)}"

    def _assignment(self, key: Key, write: Write) -> Iterator[str]:
        text = write(self.graph.system.values[key], True)
        if key in self._edges:
            yield f"if quiet: v[-1] |= {text}"
            yield f"else: v[{self.keys[key]}] = {text}"
        else:
            yield f"v[{self.keys[key]}] = {text}"

    def _circle(self, component: list[Key], number: int) -> Iterator[str]:
        """A function that goes round a circle once, denied members of it taken from `d`."""
        members, spelled = set(component), self.graph.spelled_out(component)

        def write(formula: Formula, affirmed: bool) -> str:
            if isinstance(formula, Ref) and formula.key in members and not affirmed:
                if formula.key in spelled:
                    return write(self.graph.system.values[formula.key], False)
                return f"d[{self.keys[formula.key]}]"
            return self._expression(formula, affirmed, write)

        yield f"    def round{number}(v, d):"
        for key in component:
            yield from (f"        {line}" for line in self._assignment(key, write))
        indices = [self.keys[key] for key in component]
        yield f"    fixed_point(round{number}, v, {indices}, {self.graph.has_negation(component)})"

    def _plain(self, formula: Formula, affirmed: bool) -> str:
        return self._expression(formula, affirmed, self._plain)

    def _expression(self, formula: Formula, affirmed: bool, write: Write) -> str:
        match formula:
            case Lit():
                return self._writing.literal(formula)
            case Ref(key):
                return f"v[{self.keys[key]}]"
            case Neg(part):
                return self._writing.negated(write(part, not affirmed))
            case And(parts):
                return self._writing.all_of(write(part, affirmed) for part in parts)
            case Or(parts):
                return self._writing.any_of(write(part, affirmed) for part in parts)
            case Some(count, parts):
                return self._writing.some_of(count, [write(part, affirmed) for part in parts])


def fixed_point(
    once: Callable[[list[int], list[int]], None], v: list[int], members: list[int], denies: bool
) -> None:
    """Leave the least fixed point of a circle in `v`, or with `not` in it the surely true part."""
    surely = [0] * len(v)
    while True:
        possibly = _least(once, v, members, surely)
        if not denies:
            return
        again = _least(once, v, members, possibly)
        if again == surely:
            return
        surely = again


def _least(
    once: Callable[[list[int], list[int]], None],
    v: list[int],
    members: list[int],
    denied: list[int],
) -> list[int]:
    """The least fixed point for given denied members; a list that is 0 outside the circle."""
    for i in members:
        v[i] = 0
    while True:
        before = [v[i] for i in members]
        once(v, denied)
        if all(v[i] == old for i, old in zip(members, before, strict=True)):
            break
    found = [0] * len(v)
    for i in members:
        found[i] = v[i]
    return found


def conditions_of(system: System) -> list[Formula]:
    """The conditions of all rules, each once."""
    found = [rule.condition for rule in (*system.steps, *system.bars)]
    found += [rule.condition for rule in system.delays]
    found += [rule.condition for rule in system.lasts]
    found += [sent for surface in system.surfaces for _, sent in surface.targets]
    found += [drive.acts for surface in system.surfaces for drive in surface.drives]
    found += [row for number in system.numbers for row, _, _ in number.rows]
    return list({id(formula): formula for formula in (*found, system.impossible)}.values())


class Evaluator:
    """The values of one aeroplane, state by state: those that the rules look at, and the others.

    `at` tells where each condition of the rules stands among what `conditions` gives.
    """

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        formulas = conditions_of(graph.system)
        needed = (key for formula in formulas for key, _ in references(formula))
        self.rules = Program(graph, needed, formulas)
        self.at: Mapping[int, int] = self.rules.formulas

    def conditions(self, state: State, quiet: bool) -> list[int]:
        """The values behind the rules in a state; `quiet` sees nothing come on or go out.

        The last one tells whether there was something that was not seen.
        """
        return self.rules.values(self._in_order(state), quiet)

    def all_values(self, state: State, quiet: bool, conditions: list[int]) -> list[int]:
        """All values in a state, given those behind the rules, in the order of `places`."""
        return self.others.values(self._in_order(state), quiet, found=conditions)

    @cached_property
    def _in_order(self) -> Callable[[State], Sequence[int]]:
        # Far quicker than a list made in Python; of a single name it would give a bare number.
        names = tuple(self.graph.system.variables)
        return itemgetter(*names) if len(names) > 1 else lambda state: [state[n] for n in names]

    @cached_property
    def others(self) -> Program:
        """All values of the system that no rule needs."""
        return Program(self.graph, self.graph.system.values, first=self.rules)

    @cached_property
    def places(self) -> list[Key | None]:
        """What stands at each place of the list of all values; None for what is no value."""
        places: list[Key | None] = [None] * self.others.length
        for key, at in self.others.keys.items():
            places[at] = key
        return places


class Computed(Valuation[int]):
    """Values of one state: those behind the rules worked out, the others when first asked for."""

    def __init__(
        self,
        evaluator: Evaluator,
        state: State,
        quiet: bool,
        conditions: list[int] | None = None,
    ) -> None:
        def literal(lit: Lit) -> int:
            return int(state[lit.variable] in lit.values)

        super().__init__(evaluator.graph, 1, 0, lambda bit: 1 - bit, literal)
        self._evaluator, self._state, self._quiet = evaluator, state, quiet
        if conditions is not None:
            self._conditions = conditions

    @cached_property
    def _conditions(self) -> list[int]:
        return self._evaluator.conditions(self._state, self._quiet)

    @cached_property
    def _all(self) -> list[int]:
        return self._evaluator.all_values(self._state, self._quiet, self._conditions)

    def __getitem__(self, key: Key) -> int:
        at = self._evaluator.rules.keys.get(key)
        if at is not None:
            return 1 if self._conditions[at] else 0
        return 1 if self._all[self._evaluator.others.keys[key]] else 0

    def otherwise(self, other: Valuation[int]) -> Iterable[Key]:
        """All values that are not the same in another valuation."""
        assert isinstance(other, Computed)
        differ = map(ne, self._all, other._all)
        return [key for key in compress(self._evaluator.places, differ) if key]

    def of(self, formula: Formula) -> int:
        """The value of a formula."""
        index = self._evaluator.at.get(id(formula))
        if index is not None:
            return 1 if self._conditions[index] else 0
        return self._evaluate(formula, True, self, self)
