"""What makes something so at an instant: the smallest part of its definition that is enough.

A definition speaks of *facts*: a control at a position, a supply live, a pump running. A *part* is
a set of facts that are so then and are enough for the definition, whatever all else is. What makes
up a thing inside, such as that it is available, is looked into. That something has not failed is
taken for granted, unless it had failed earlier in the run.
"""

from __future__ import annotations

import operator
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, islice

from tellback.book.model import Reading
from tellback.logic.formula import And, Formula, Key, Lit, Neg, Or, Ref, Some
from tellback.logic.founded import Circles, Founded
from tellback.logic.instants import Instants
from tellback.logic.picture import Picture
from tellback.logic.solve import Valuation
from tellback.logic.space import Node, Space
from tellback.logic.speech import Fact, Speech
from tellback.logic.translate import failure_name

MOST_PARTS = 24
"""So many parts are kept while they are put together, the best of them."""

Rank = tuple[int, int, list[tuple[int, int]]]

Part = Mapping[str, frozenset[int]]
"""Facts by name."""


@dataclass(frozen=True, slots=True)
class At:
    """An instant as it is looked at: with what comes on and goes out, or `quiet`, without."""

    index: int
    quiet: bool = False


class Reasons:
    """The parts by which formulas are so, in one run."""

    def __init__(self, picture: Picture, instants: Instants) -> None:
        self.speech = Speech(picture)
        self.instants = instants
        self._picture = picture
        self._system = picture.system
        self._circles = Circles(picture.graph)
        self._founded: dict[At, Founded] = {}
        self._in_time: dict[tuple[str, frozenset[int], int], int] = {}

    # -- what is so -------------------------------------------------------------------------

    def holds(self, formula: Formula, at: At) -> bool:
        """Whether a formula is so."""
        return bool(self._values(at).of(formula))

    def since(self, name: str, values: frozenset[int], at: int) -> int:
        """The first instant since which a fact has been so."""
        key = name, values, at
        if key not in self._in_time:
            self._in_time[key] = self.instants.since(self.speech.formula(name, values), at)
        return self._in_time[key]

    def _values(self, at: At) -> Valuation[int]:
        return self.instants.values(at.index, at.quiet)

    def now(self, name: str, at: At) -> int:
        """Which of its values a fact has."""
        if name in self._system.variables:
            return self.instants.passed[at.index].state[name]
        sizes = range(self.speech.size(name))
        return next(i for i in sizes if self.holds(self.speech.formula(name, frozenset({i})), at))

    def fact(self, formula: Formula, at: At) -> Fact | None:
        """The one fact that a formula is; None if it is of more than one."""
        fact = self._fact(formula, True, at, None)
        return Fact(fact.name, self._about(fact, at)) if fact else None

    # -- the part that is enough ------------------------------------------------------------

    def part(self, formula: Formula, at: At, owner: Key | None = None) -> Part | None:
        """The smallest part that makes the formula so; None if only a circle would.

        Of several that which has been so for longest, then the one of the fewest facts, then the
        first in the order of the book. `owner` is the value that the formula defines.
        """
        found = next(iter(self._parts(formula, True, at, owner, frozenset())), None)
        return None if found is None else self._least(formula, found, at)

    def rank(self, part: Part, at: int) -> Rank:
        """The less the better: since when it has been so, of how many facts, and of which."""
        since = max((self.since(n, v, at) for n, v in part.items()), default=0)
        return since, len(part), sorted(map(self.speech.told_at, part))

    def _parts(
        self, formula: Formula, so: bool, at: At, owner: Key | None, behind: frozenset[Key]
    ) -> list[Part]:
        """Parts that make the formula so, or not so; best first; none if it is otherwise."""
        if self.holds(formula, at) != so:
            return []
        fact = self._fact(formula, so, at, owner)
        if fact is not None:
            return self._of_fact(fact, at)
        match formula:
            case Neg(part):
                return self._parts(part, not so, at, owner, behind)
            case Ref(key):
                if not self._founded_at(at).may_rest(owner, key):
                    return []
                if key in behind or (at.quiet and key in self._edges):
                    return [{}]  # nothing outside the circle makes it so; nothing comes on yet
                return self._parts(self._system.values[key], so, at, key, behind | {key})
            case And(parts) | Or(parts):
                every = isinstance(formula, And) == so
                joined = self._all if every else self._any
                return joined(parts, so, at, owner, behind)
            case Some(count, parts):
                enough = max(0, count if so else len(parts) - count + 1)
                apt = [part for part in parts if self.holds(part, at) == so]
                chosen = islice(combinations(apt, enough), MOST_PARTS)
                found = (p for some in chosen for p in self._all(some, so, at, owner, behind))
                return self._best(found, at)
        return []

    def _all(
        self, parts: Iterable[Formula], so: bool, at: At, owner: Key | None, behind: frozenset[Key]
    ) -> list[Part]:
        together: list[Part] = [{}]
        for part in parts:
            more = self._parts(part, so, at, owner, behind)
            together = self._best((_both(one, other) for one in together for other in more), at)
        return together

    def _any(
        self, parts: Iterable[Formula], so: bool, at: At, owner: Key | None, behind: frozenset[Key]
    ) -> list[Part]:
        """Of several that do, each; what is said of one thing in several of them is one fact."""
        facts: dict[str, frozenset[int]] = {}
        rest: list[Formula] = []
        for part in parts:
            fact = self._fact(part, so, at, owner)
            if fact is None:
                rest.append(part)
            else:
                facts[fact.name] = facts.get(fact.name, frozenset()) | fact.values
        found = [
            part
            for name, values in facts.items()
            if self.now(name, at) in values
            for part in self._of_fact(Fact(name, values), at)
        ]
        found += (p for part in rest for p in self._parts(part, so, at, owner, behind))
        return self._best(found, at)

    def _best(self, found: Iterable[Part], at: At) -> list[Part]:
        several: list[Part] = []
        for part in found:
            if part not in several:
                several.append(part)
        return sorted(several, key=lambda part: self.rank(part, at.index))[:MOST_PARTS]

    # -- facts ------------------------------------------------------------------------------

    def _fact(self, formula: Formula, so: bool, at: At, owner: Key | None) -> Fact | None:
        """The fact that a formula, or its denial, is; None if it is of more than one."""
        while True:
            match formula:
                case Neg(part):
                    formula, so = part, not so
                case Lit(name, values):
                    return self._one(name, values, so)
                case And((Ref((delay, "held")), Lit(name, values))) if name == delay:
                    return self._one(name, values, so)
                case Ref(key):
                    told = self.speech.told(key)
                    if told is not None:
                        allowed = self._founded_at(at).may_rest(owner, key)
                        return self._one(*told, so) if allowed else None
                    inside = self._inside(key, at)
                    if inside is None:
                        return None
                    formula = inside
                case Or((_, *_) as parts):
                    return self._of_one_thing(parts, so, at, owner)
                case _:
                    return None

    def _of_one_thing(
        self, parts: Sequence[Formula], so: bool, at: At, owner: Key | None
    ) -> Fact | None:
        """The fact that one of several values is, or none of them; None if of several things."""
        facts = [self._fact(part, True, at, owner) for part in parts]
        names = {fact.name if fact else "" for fact in facts}
        if len(names) > 1 or "" in names:
            return None
        values = frozenset(value for fact in facts if fact for value in fact.values)
        return self._one(names.pop(), values, so)

    def _inside(self, key: Key, at: At) -> Formula | None:
        """What a value is where it is one fact: a failure, or a reading that has not failed."""
        reading = self.speech.things.get(key[0])
        inside = self._system.values[key]
        if isinstance(reading, Reading) and key[1].startswith("region "):
            failed = self._state(at).get(failure_name(reading.name), 0)
            return None if failed else Ref((reading.name, f"true {key[1].split()[1]}"))
        is_one = key[1] == "failed" or key[1].startswith("true ")
        return inside if is_one and isinstance(inside, Lit | Neg) else None

    def _state(self, at: At) -> Mapping[str, int]:
        return self.instants.passed[at.index].state

    def _one(self, name: str, values: frozenset[int], so: bool) -> Fact:
        every = frozenset(range(self.speech.size(name)))
        return Fact(name, values if so else every - values)

    def _of_fact(self, fact: Fact, at: At) -> list[Part]:
        """A fact as a part: as it is told, or nothing, if it is taken for granted."""
        if self._is_granted(fact, at):
            return [{}]
        values = self._about(fact, at)
        return [{}] if len(values) == self.speech.size(fact.name) else [{fact.name: values}]

    def _about(self, fact: Fact, at: At) -> frozenset[int]:
        """The values of a fact in a row with the present one; of a failure, that which it is."""
        here = self.now(fact.name, at)
        if 0 not in fact.values and self._kind(fact.name) == "failure":
            return frozenset({here})
        return _row_around(fact.values, here) if self.speech.in_a_row(fact.name) else fact.values

    def _is_granted(self, fact: Fact, at: At) -> bool:
        """Whether it is that what never failed has not; or what was so in the last steady state."""
        kind = self._kind(fact.name)
        return kind == "last" or (0 in fact.values and self._is_sound(fact.name, at))

    def _kind(self, name: str) -> str:
        return self._system.variables[name].kind if name in self._system.variables else ""

    @cached_property
    def _edges(self) -> frozenset[Key]:
        return frozenset(self._system.edges())

    def _is_sound(self, name: str, at: At) -> bool:
        """Whether it is the failure of something that has not failed so far."""
        if self._kind(name) != "failure":
            return False
        return not any(i.state[name] for i in self.instants.passed[: at.index + 1])

    # -- no fact too many -------------------------------------------------------------------

    def _least(self, formula: Formula, part: Part, at: At) -> Part:
        """The part without what it can do without, as shown by the function that the formula is."""
        missing = ~(self._quiet if at.quiet else self._spoken).of(formula)
        for name in self._space.support(missing):
            if self._is_sound(name, at) or self._kind(name) == "last":
                granted = self._space.literal(name, (self._state(at)[name],))
                missing = missing & granted
        left = dict(part)
        for name in reversed(list(part)):
            fewer = {n: values for n, values in left.items() if n != name}
            if (missing & self._space.cube(fewer)) == self._space.false:
                left = fewer
        return left

    @cached_property
    def _space(self) -> Space:
        return Space([(n, len(v.values)) for n, v in self._system.variables.items()], small=True)

    @cached_property
    def _spoken(self) -> Valuation[Node]:
        """Every formula as a function of the facts that it speaks of."""
        return self._functions({})

    @cached_property
    def _quiet(self) -> Valuation[Node]:
        """The same where nothing comes on or goes out."""
        return self._functions(dict.fromkeys(self._edges, self._space.false))

    def _functions(self, known: dict[Key, Node]) -> Valuation[Node]:
        space = self._space
        known |= {(d.variable, "held"): space.true for d in self._system.delays}
        for key in self._system.values:
            told = self.speech.told(key)
            if told is not None:
                if told[0] not in space.names:
                    space.add(told[0], self.speech.size(told[0]))
                known[key] = space.literal(*told)
        return Valuation(
            self._picture.graph,
            space.true,
            space.false,
            operator.invert,
            lambda lit: space.literal(lit.variable, lit.values),
            known,
        )

    def _founded_at(self, at: At) -> Founded:
        if at not in self._founded:
            self._founded[at] = Founded(self._circles, self._values(at), self._state(at))
        return self._founded[at]


def _both(one: Part, other: Part) -> Part:
    """The facts of both."""
    shared = {name: one[name] & values for name, values in other.items() if name in one}
    return {**one, **other, **shared}


def _row_around(values: frozenset[int], here: int) -> frozenset[int]:
    """Those of the values that lie in an unbroken row with this one."""
    low = high = here
    while low - 1 in values:
        low -= 1
    while high + 1 in values:
        high += 1
    return frozenset(range(low, high + 1))
