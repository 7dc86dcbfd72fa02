"""One aeroplane in time, its values compiled to Python: the same answers, many times faster.

All values of a state are worked out at once by a function written for the system, sources first.
Circles take their fixed points as in `tellback.logic.solve`, which says where that comes from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from tellback.logic.formula import And, Formula, Key, Lit, Neg, Or, Ref, Some
from tellback.logic.run import Aeroplane, State
from tellback.logic.solve import Graph, Valuation
from tellback.logic.system import System

Write = Callable[[Formula, bool], str]
"""A formula as a Python expression, under an even number of `not` or not."""


class Program:
    """A system as a function from a state to all its values and rule conditions.

    Values are kept in a list; `index` tells where, by key, and for the condition of a rule by the
    identity of its formula.
    """

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        order = graph.components(graph.system.values, {})
        keys = [key for component in order for key in component]
        self.keys: dict[Key, int] = {key: i for i, key in enumerate(keys)}
        self.rules = {id(f): len(keys) + i for i, f in enumerate(_conditions(graph.system))}
        self._variables = {name: i for i, name in enumerate(graph.system.variables)}
        self._edges = frozenset(graph.system.edges())
        space: dict[str, object] = {"fixed_point": fixed_point}
        exec(compile("\n".join(self._lines(order)), "<system>", "exec"), space)
        self._run: Callable[[State, bool, list[int]], None] = space["run"]  # type: ignore[assignment]

    def values(self, state: State, quiet: bool) -> list[int]:
        """All values in a state, as 1 and 0; `quiet` sees no edges."""
        values = [0] * (len(self.keys) + len(self.rules))
        self._run(state, quiet, values)
        return values

    # -- writing the function ---------------------------------------------------------------

    def _lines(self, order: list[list[Key]]) -> Iterator[str]:
        yield "def run(s, quiet, v):"
        for name, i in self._variables.items():
            yield f"    x{i} = s[{name!r}]"
        for number, component in enumerate(order):
            if self.graph.is_circle(component):
                yield from self._circle(component, number)
            else:
                yield f"    {self._assignment(component[0], self._plain)}"
        for formula in _conditions(self.graph.system):
            yield f"    v[{self.rules[id(formula)]}] = {self._plain(formula, True)}"

    def _assignment(self, key: Key, write: Write) -> str:
        text = write(self.graph.system.values[key], True)
        loud = "0 if quiet else " if key in self._edges else ""
        return f"v[{self.keys[key]}] = {loud}{text}"

    def _circle(self, component: list[Key], number: int) -> Iterator[str]:
        """A function that goes round a circle once, denied members of it taken from `d`."""
        members = set(component)

        def write(formula: Formula, affirmed: bool) -> str:
            if isinstance(formula, Ref) and formula.key in members and not affirmed:
                return f"d[{self.keys[formula.key]}]"
            return self._expression(formula, affirmed, write)

        yield f"    def round{number}(v, d):"
        for key in component:
            yield f"        {self._assignment(key, write)}"
        indices = [self.keys[key] for key in component]
        yield f"    fixed_point(round{number}, v, {indices}, {self.graph.has_negation(component)})"

    def _plain(self, formula: Formula, affirmed: bool) -> str:
        return self._expression(formula, affirmed, self._plain)

    def _expression(self, formula: Formula, affirmed: bool, write: Write) -> str:
        match formula:
            case Lit(name, values):
                x = f"x{self._variables[name]}"
                if len(values) == 1:
                    return f"({x} == {min(values)})"
                return f"({x} in {tuple(sorted(values))})"
            case Ref(key):
                return f"v[{self.keys[key]}]"
            case Neg(part):
                return f"(not {write(part, not affirmed)})"
            case And(parts):
                return f"({' and '.join(write(p, affirmed) for p in parts) or '1'})"
            case Or(parts):
                return f"({' or '.join(write(p, affirmed) for p in parts) or '0'})"
            case Some(count, parts):
                total = " + ".join(f"bool({write(p, affirmed)})" for p in parts) or "0"
                return f"({total} >= {count})"


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
        if all(bool(v[i]) == bool(old) for i, old in zip(members, before, strict=True)):
            break
    found = [0] * len(v)
    for i in members:
        found[i] = int(bool(v[i]))
    return found


def _conditions(system: System) -> Iterable[Formula]:
    """The conditions of all rules, each once."""
    found = [rule.condition for rule in (*system.steps, *system.bars)]
    found += [rule.condition for rule in system.delays]
    found += [rule.condition for rule in system.lasts]
    found += [sent for surface in system.surfaces for _, sent in surface.targets]
    found += [drive.acts for surface in system.surfaces for drive in surface.drives]
    found += [row for number in system.numbers for row, _, _ in number.rows]
    return {id(formula): formula for formula in (*found, system.impossible)}.values()


class Computed(Valuation[int]):
    """Values of one state, all worked out."""

    def __init__(self, program: Program, state: State, quiet: bool) -> None:
        def literal(lit: Lit) -> int:
            return int(state[lit.variable] in lit.values)

        super().__init__(program.graph, 1, 0, lambda bit: 1 - bit, literal)
        self._program = program
        self._found = program.values(state, quiet)
        self._by_key = _ByKey(program.keys, self._found)

    def __getitem__(self, key: Key) -> int:
        return self._by_key[key]

    def of(self, formula: Formula) -> int:
        """The value of a formula."""
        index = self._program.rules.get(id(formula))
        if index is not None:
            return int(bool(self._found[index]))
        return self._evaluate(formula, True, self._by_key, self._by_key)


class _ByKey:
    """The values of a list by their keys."""

    def __init__(self, keys: Mapping[Key, int], found: list[int]) -> None:
        self._keys = keys
        self._found = found

    def __getitem__(self, key: Key) -> int:
        return int(bool(self._found[self._keys[key]]))


class CompiledAeroplane(Aeroplane):
    """The same aeroplane, for many runs."""

    def __init__(self, graph: Graph) -> None:
        super().__init__(graph)
        self._program = Program(graph)

    def values(self, state: State, quiet: bool = False) -> Valuation[int]:
        """The values that follow in a state, as 1 and 0; `quiet` sees no edges."""
        return Computed(self._program, state, quiet)
