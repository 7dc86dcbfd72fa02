"""Through what a change comes: which of the things that changed brought it about, causes first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tellback.logic.formula import Formula, Key, Lit, Ref, leaves, literals
from tellback.logic.solve import Valuation
from tellback.logic.system import System

Leaf = tuple[str, Lit | Ref, bool]
"""A thing, what is said of it, and whether that stands affirmed."""

Times = Sequence[tuple[float, Valuation[int]]]
"""Moments in order: the time, and the values then."""


class Stated:
    """What the definitions of the things speak of."""

    def __init__(self, system: System) -> None:
        self.system = system
        self._depends: dict[str, tuple[str, ...]] = {}
        self._definitions: dict[str, list[Formula]] = {}
        for (thing, _), formula in system.values.items():
            self._definitions.setdefault(thing, []).append(formula)
        for rule in system.steps:
            self._definitions.setdefault(rule.variable, []).append(rule.condition)

    def definitions(self, name: str) -> Sequence[Formula]:
        """All that says how a thing is."""
        return self._definitions.get(name, ())

    def depends(self, name: str) -> tuple[str, ...]:
        """The things that the definition of a thing speaks of directly, in order."""
        if name not in self._depends:
            found = self.leaves(self.definitions(name), lambda key: False)
            self._depends[name] = tuple(dict.fromkeys(thing for thing, _, _ in found))
        return self._depends[name]

    def leaves(self, formulas: Iterable[Formula], through: Callable[[Key], bool]) -> Iterator[Leaf]:
        """Each thing that formulas speak of, and what they say of it.

        Delays, what comes on or goes out, and the keys to go `through` are looked into.
        """
        variables = self.system.variables
        work = [(formula, True) for formula in formulas]
        seen: set[tuple[Lit | Ref, bool]] = set()
        while work:
            formula, so = work.pop()
            for leaf, as_said in leaves(formula):
                one = leaf, as_said == so
                if one in seen:
                    continue
                seen.add(one)
                match leaf:
                    case Lit(name) if variables[name].kind == "delay":
                        work.append((self.system.values[name, "held"], one[1]))
                    case Lit(name) if variables[name].kind != "last":
                        yield variables[name].thing, *one
                    case Ref(key) if self._is_memory(key[0]) or through(key):
                        work.append((self.system.values[key], one[1]))
                    case Ref(key):
                        yield key[0], *one

    def run_out(self, formulas: Iterable[Formula], now: Times) -> list[Formula]:
        """What the delays waited for that have run out by now, or that their end has ended."""
        delays = [
            (lit, Ref((lit.variable, "held")))
            for formula in formulas
            for lit in literals(formula)
            if self.system.variables[lit.variable].kind == "delay"
        ]
        return [
            self.system.values[held.key]
            for ran, held in delays
            if _varied(ran, now) or _varied(held, now)
        ]

    def _is_memory(self, name: str) -> bool:
        """Whether it is a delay, or the last value of a condition."""
        variables = self.system.variables
        return name in variables and variables[name].kind in ("delay", "last")


@dataclass(frozen=True, slots=True)
class Past:
    """The times and values so far, and the things changed: what a change comes through.

    `feeders` are the values of changed feeders, of supplies that need not have changed themselves.
    """

    stated: Stated
    values: list[tuple[float, Valuation[int]]]
    changed: set[str]
    feeders: set[Key]

    def causes(self, name: str, formulas: Sequence[Formula]) -> set[str]:
        """The changed things of which the definition, in formulas, says what is otherwise now.

        Those that speak for the change, or failing that all. If there is none, as after a delay or
        a travel, then those of which it says what was not always so; after a delay, only of what
        it waited for. What is not seen of an unchanged thing (that a broken loop is not available)
        is looked into.
        """
        now = self._of_this_time()
        waited_for = self.stated.run_out(formulas, now)
        return (
            self._for_it(name, formulas, now)
            or self._among(name, formulas, now)
            or self._among(name, waited_for or formulas, self.values)
        )

    def _of_this_time(self) -> Times:
        """The values of this time, after the last ones before it."""
        time = self.values[-1][0]
        first = next(i for i, (since, _) in enumerate(self.values) if since == time)
        return self.values[max(first - 1, 0) :]

    def _for_it(self, name: str, formulas: Sequence[Formula], now: Times) -> set[str]:
        """Those that changed the way in which they bring the change about."""
        return {
            thing
            for formula in formulas
            if (way := _way(formula, now))
            for thing, leaf, affirmed in self._leaves(name, [formula], now)
            if _way(leaf, now) == (way if affirmed else -way)
        }

    def _among(self, name: str, formulas: Sequence[Formula], past: Times) -> set[str]:
        return {
            thing for thing, leaf, _ in self._leaves(name, formulas, past) if _varied(leaf, past)
        }

    def _leaves(self, name: str, formulas: Iterable[Formula], past: Times) -> Iterator[Leaf]:
        def hidden(key: Key) -> bool:
            return not self._is_told(key[0], Ref(key)) and _varied(Ref(key), past)

        for leaf in self.stated.leaves(formulas, hidden):
            if leaf[0] != name and self._is_told(leaf[0], leaf[1]):
                yield leaf

    def _is_told(self, thing: str, leaf: Lit | Ref) -> bool:
        """Whether what is said of a thing is told as changed."""
        return thing in self.changed or (isinstance(leaf, Ref) and leaf.key in self.feeders)


def _varied(formula: Formula, past: Times) -> bool:
    return len({values.of(formula) for _, values in past}) > 1


def _way(formula: Formula, past: Times) -> int:
    """1 if it has come to be so, -1 if it is so no more, 0 if it is as it was."""
    return past[-1][1].of(formula) - past[0][1].of(formula)


def _behind(name: str, causes: Mapping[str, set[str]]) -> set[str]:
    """All that the thing comes through, as far as its causes are told."""
    found, work = set[str](), [name]
    while work:
        new = (causes[work.pop()] & causes.keys()) - found
        found |= new
        work += new
    return found


def causes_first(causes: Mapping[str, set[str]], moved: set[str]) -> Iterator[str]:
    """The things, each after those that it comes through; in the given order otherwise.

    A circle is entered once all before it is told: at what depends on what was `moved` itself, or
    else at what comes through something told as well.
    """
    left, told = dict(causes), set[str]()
    while left:
        now = [name for name in left if not left.keys() & causes[name]]
        if not now:
            behind = {name: _behind(name, left) for name in left}
            first = [name for name in left if all(name in behind[n] for n in behind[name])]
            entries = ([n for n in first if known & causes[n]] for known in (moved, told))
            now = next(filter(None, entries), first)[:1]
        yield from now
        told.update(now)
        for name in now:
            del left[name]
