"""Evaluating a system's values in any Boolean algebra: diagrams, or many states at a time as bits.

Circles take their least fixed point; with `not` inside a circle the well-founded value is found
by alternating fixed points (Van Gelder, "The alternating fixpoint of logic programs with
negation", 1993), and what stays undecided is kept apart.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cached_property
from typing import Generic, Protocol, Self, TypeVar

from tellback.logic.formula import And, Formula, Key, Lit, Neg, Or, Ref, Some, literals, references
from tellback.logic.system import System


class Element(Protocol):
    """A member of a Boolean algebra."""

    def __and__(self, other: Self, /) -> Self: ...
    def __or__(self, other: Self, /) -> Self: ...


T = TypeVar("T", bound=Element)
T_co = TypeVar("T_co", bound=Element, covariant=True)


class Graph:
    """Which value refers to which, prepared once for a system."""

    def __init__(self, system: System) -> None:
        self.system = system
        self._refs: dict[Key, tuple[tuple[Key, bool], ...]] = {}
        self._depending: dict[str, frozenset[Key]] = {}

    def refs(self, key: Key) -> tuple[tuple[Key, bool], ...]:
        """The keys that the value of `key` refers to, each with its sign."""
        if key not in self._refs:
            self._refs[key] = tuple(dict.fromkeys(references(self.system.values[key])))
        return self._refs[key]

    def depth(self, key: Key) -> int:
        """The longest chain of values, circles counted once, that the value of `key` needs."""
        return self._depths.get(key, 0)

    @cached_property
    def _depths(self) -> dict[Key, int]:
        depths: dict[Key, int] = {}
        for component in self.order:
            below = (depths.get(child, -1) for key in component for child, _ in self.refs(key))
            depths |= dict.fromkeys(component, 1 + max(below, default=-1))
        return depths

    @cached_property
    def order(self) -> list[list[Key]]:
        """The circles among all values, sources first."""
        return self.components(self.system.values, {})

    @cached_property
    def supports(self) -> Mapping[Key, frozenset[str]]:
        """For each value the variables that it may depend on, by structure."""
        supports: dict[Key, frozenset[str]] = {}
        for component in self.order:
            found: set[str] = set()
            for key in component:
                found.update(lit.variable for lit in literals(self.system.values[key]))
                found.update(*(supports.get(child, ()) for child, _ in self.refs(key)))
            supports |= dict.fromkeys(component, frozenset(found))
        return supports

    def depending_on(self, variable: str) -> frozenset[Key]:
        """The keys whose values may depend on the variable."""
        if variable not in self._depending:
            self._depending[variable] = self.above([variable])
        return self._depending[variable]

    def above(self, looked_at: Iterable[Key | str]) -> frozenset[Key]:
        """The keys whose values may depend on some of these values or variables."""
        found: set[Key] = set()
        work = [key for one in looked_at for key in self._parents.get(one, ())]
        while work:
            key = work.pop()
            if key not in found:
                found.add(key)
                work.extend(self._parents.get(key, ()))
        return frozenset(found)

    @cached_property
    def _parents(self) -> dict[Key | str, list[Key]]:
        """For each value, and each variable, the keys that refer to it directly."""
        parents: dict[Key | str, list[Key]] = {}
        for key, formula in self.system.values.items():
            for lit in literals(formula):
                parents.setdefault(lit.variable, []).append(key)
            for child, _ in self.refs(key):
                parents.setdefault(child, []).append(key)
        return parents

    def components(self, roots: Iterable[Key], known: Mapping[Key, object]) -> list[list[Key]]:
        """The circles among all keys that the roots need and that are not known, sources first.

        Tarjan's strongly connected components, without recursion.
        """
        number: dict[Key, int] = {}
        low: dict[Key, int] = {}
        stack: list[Key] = []
        on_stack: set[Key] = set()
        found: list[list[Key]] = []
        for root in roots:
            if root in number or root in known:
                continue
            work: list[tuple[Key, Iterator[tuple[Key, bool]]]] = []
            _enter(root, number, low, stack, on_stack, work, self)
            while work:
                key, rest = work[-1]
                for child, _ in rest:
                    if child in known:
                        continue
                    if child not in number:
                        _enter(child, number, low, stack, on_stack, work, self)
                        break
                    if child in on_stack:
                        low[key] = min(low[key], number[child])
                else:
                    work.pop()
                    if work:
                        parent = work[-1][0]
                        low[parent] = min(low[parent], low[key])
                    if low[key] == number[key]:
                        found.append(_leave(key, stack, on_stack))
        return found

    def is_circle(self, component: list[Key]) -> bool:
        """Whether the keys feed one another (or one feeds itself)."""
        return len(component) > 1 or any(k == component[0] for k, _ in self.refs(component[0]))

    def spelled_out(self, component: list[Key]) -> frozenset[Key]:
        """The keys of a circle that are no values of their own: what they stand for is put in.

        A delay is its condition, and a following reading its rows, so that a circle means the same
        whether it is told with them or without.
        """
        members = {key for key in component if _stands_for_others(key)}
        found: set[Key] = set()
        while True:  # but for those that go round among themselves
            more = {
                key
                for key in members - found
                if all(child in found for child, _ in self.refs(key) if child in members)
            }
            if not more:
                return frozenset(found)
            found |= more

    def has_negation(self, component: list[Key]) -> bool:
        """Whether some key of the circle depends on another (or itself) through `not`."""
        members = set(component)
        return any(
            not sign and child in members for key in component for child, sign in self.refs(key)
        )


def _stands_for_others(key: Key) -> bool:
    _, what = key
    return what == "held" or what.startswith(("true ", "region "))


def _enter(
    key: Key,
    number: dict[Key, int],
    low: dict[Key, int],
    stack: list[Key],
    on_stack: set[Key],
    work: list[tuple[Key, Iterator[tuple[Key, bool]]]],
    graph: Graph,
) -> None:
    number[key] = low[key] = len(number)
    stack.append(key)
    on_stack.add(key)
    work.append((key, iter(graph.refs(key))))


def _leave(key: Key, stack: list[Key], on_stack: set[Key]) -> list[Key]:
    component = []
    while True:
        member = stack.pop()
        on_stack.discard(member)
        component.append(member)
        if member == key:
            return component[::-1]


class Valuation(Generic[T]):
    """The values of a system under an interpretation of its literals.

    `literal` interprets literals, `invert` is the complement; `known` values are taken as given
    (the places where an answer stops). `undecided` collects, for each key of a circle through
    `not`, the part where it has no well-founded value.
    """

    def __init__(
        self,
        graph: Graph,
        true: T,
        false: T,
        invert: Callable[[T], T],
        literal: Callable[[Lit], T],
        known: Mapping[Key, T] | None = None,
    ) -> None:
        self.graph = graph
        self.true = true
        self.false = false
        self.invert = invert
        self.literal = literal
        self.values: dict[Key, T] = dict(known or {})
        self.undecided: dict[Key, T] = {}
        self._spelled: frozenset[Key] = frozenset()

    def __getitem__(self, key: Key) -> T:
        """The value of a key."""
        self.prepare([key])
        return self.values[key]

    def of(self, formula: Formula) -> T:
        """The value of a formula."""
        self.prepare([key for key, _ in references(formula)])
        return self._evaluate(formula, True, self.values, self.values)

    def otherwise(self, other: Valuation[T]) -> Iterable[Key]:
        """All values that are not the same in another valuation."""
        keys = self.graph.system.values
        return [key for key in keys if self[key] != other[key]]

    def prepare(self, keys: Iterable[Key]) -> None:
        """Evaluate the keys and all they need."""
        missing = [key for key in keys if key not in self.values]
        if missing:
            for component in self.graph.components(missing, self.values):
                self._solve(component)

    def _solve(self, component: list[Key]) -> None:
        if not self.graph.is_circle(component):
            key = component[0]
            formula = self.graph.system.values[key]
            self.values[key] = self._evaluate(formula, True, self.values, self.values)
            return
        self._spelled = self.graph.spelled_out(component)
        surely = dict.fromkeys(component, self.false)
        if not self.graph.has_negation(component):
            self.values |= self._least(component, surely)
            return
        while True:
            possibly = self._least(component, surely)
            again = self._least(component, possibly)
            if again == surely:
                break
            surely = again
        self.values |= surely
        for key in component:
            open_part = possibly[key] & self.invert(surely[key])
            if open_part != self.false:
                self.undecided[key] = open_part

    def _least(self, component: list[Key], denied: Mapping[Key, T]) -> dict[Key, T]:
        """The least fixed point, negated members of the circle taken from `denied`."""
        current = dict.fromkeys(component, self.false)
        affirmed = _Layered(current, self.values)
        negated = _Layered(denied, self.values)
        formulas = self.graph.system.values
        changed = True
        while changed:
            changed = False
            for key in component:
                value = self._evaluate(formulas[key], True, affirmed, negated)
                if value != current[key]:
                    current[key] = value
                    changed = True
        return current

    def _evaluate(self, formula: Formula, sign: bool, affirmed: Lookup[T], negated: Lookup[T]) -> T:
        match formula:
            case Lit():
                return self.literal(formula)
            case Ref(key):
                if not sign and key in self._spelled and key not in self.values:
                    stated = self.graph.system.values[key]
                    return self._evaluate(stated, False, affirmed, negated)
                return (affirmed if sign else negated)[key]
            case Neg(part):
                return self.invert(self._evaluate(part, not sign, affirmed, negated))
            case And(parts):
                value = self.true
                for part in parts:
                    value = value & self._evaluate(part, sign, affirmed, negated)
                    if value == self.false:
                        break
                return value
            case Or(parts):
                value = self.false
                for part in parts:
                    value = value | self._evaluate(part, sign, affirmed, negated)
                    if value == self.true:
                        break
                return value
            case Some(count, parts):
                each = [self._evaluate(part, sign, affirmed, negated) for part in parts]
                return at_least(count, each, self.true, self.false)


def at_least(count: int, values: list[T], true: T, false: T) -> T:
    """At least `count` of the values hold."""
    if count > len(values):
        return false
    return counted(count, values, true, false)[count]


def counted(most: int, values: list[T], true: T, false: T) -> list[T]:
    """At least 0, 1, ... `most` of the values hold, by dynamic programming over the count."""
    reached = [true] + [false] * most
    for value in values:
        for n in range(most, 0, -1):
            reached[n] = reached[n] | (reached[n - 1] & value)
    return reached


class Lookup(Protocol[T_co]):
    """Anything that gives a value for a key."""

    def __getitem__(self, key: Key, /) -> T_co: ...


class _Layered(Generic[T]):
    """A mapping over another one."""

    def __init__(self, top: Mapping[Key, T], base: Mapping[Key, T]) -> None:
        self.top = top
        self.base = base

    def __getitem__(self, key: Key) -> T:
        return self.top[key] if key in self.top else self.base[key]
