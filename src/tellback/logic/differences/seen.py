"""Formulas of two systems as functions, over one space, of what they look at.

What other things are doing is a variable of its own here (an *atom*): two formulas that are equal
so are equal whatever everything else does, and a difference is that of the formulas themselves.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import NamedTuple

from tellback.book.model import Reading, Supply, Thing
from tellback.logic.differences.shared import Names, Shared, of_regions, of_words
from tellback.logic.formula import (
    FALSE,
    TRUE,
    And,
    Formula,
    Key,
    Lit,
    Neg,
    Or,
    Ref,
    Some,
    conj,
    neg,
)
from tellback.logic.picture import Picture
from tellback.logic.space import Node, Space

NOTHING: frozenset[str] = frozenset()


class Atom(NamedTuple):
    """What a thing is doing, as a variable: `means` gives each joint value as either book has it.

    None on a side that does not have the thing.
    """

    size: int
    means: tuple[tuple[Formula, ...] | None, tuple[Formula, ...] | None]


class Seen:
    """Evaluates formulas of either side over what they look at; variables come as they are met."""

    def __init__(
        self,
        pictures: tuple[Picture, Picture],
        shared: Mapping[str, Shared],
        names: Names,
        space: Space,
    ) -> None:
        self.pictures = pictures
        self.shared = shared
        self.names = names
        self.space = space
        self.atoms: dict[str, Atom] = {}
        self._things: tuple[dict[str, Thing], dict[str, Thing]] = (
            {t.name: t for t in pictures[0].book.things},
            {t.name: t for t in pictures[1].book.things},
        )
        self._hidden = [
            {rule.variable for rule in p.system.delays} | {rule.variable for rule in p.system.lasts}
            for p in pictures
        ]

    def of(self, side: int, formula: Formula, own: Collection[str] = NOTHING) -> Node:
        """The function that the formula is; what the things in `own` do is followed further."""
        return self._of(side, formula, own, ())

    def _of(
        self, side: int, formula: Formula, own: Collection[str], within: tuple[Key, ...]
    ) -> Node:
        match formula:
            case Lit(name, values):
                return self.literal(side, name, values)
            case Ref(key):
                if key not in within and self._is_followed(side, key, own):
                    value = self.pictures[side].system.values[key]
                    return self._of(side, value, own, (*within, key))
                return self._atom(side, key)
            case Neg(part):
                return ~self._of(side, part, own, within)
            case And(parts):
                return self.space.all_of([self._of(side, p, own, within) for p in parts])
            case Or(parts):
                return self.space.any_of([self._of(side, p, own, within) for p in parts])
            case Some(count, parts):
                return self.space.at_least(count, [self._of(side, p, own, within) for p in parts])

    def literal(self, side: int, name: str, values: Collection[int]) -> Node:
        """A variable of one side has one of these values."""
        joint = self.names[side][name]
        shared = self.shared[joint]
        self._see(joint, shared.size)
        own = shared.own[side]
        return self.space.literal(joint, {i for i, v in enumerate(own) if v in values})

    def _see(self, name: str, size: int) -> None:
        if name not in self.space.names:
            self.space.add(name, size)

    def _is_followed(self, side: int, key: Key, own: Collection[str]) -> bool:
        thing, state = key
        if thing in own or thing in self._hidden[side] or state == "failed":
            return True
        readings = self._readings(thing)
        if not readings or any(r.follows for r in readings):
            return False
        return state.startswith("true ") or not any(r.fails for r in readings)

    def _readings(self, name: str) -> list[Reading]:
        found = (things.get(name) for things in self._things)
        return [thing for thing in found if isinstance(thing, Reading)]

    # -- atoms --------------------------------------------------------------------------------

    def _atom(self, side: int, key: Key) -> Node:
        thing, state = key
        here = self._things[side].get(thing)
        if isinstance(here, Supply) and (state == "live" or state.startswith("at least ")):
            level = 0 if state == "live" else int(state.removeprefix("at least "))
            return self._of_level(side, thing, level)
        if isinstance(here, Reading) and state.startswith(("region ", "true ")):
            return self._of_region(side, thing, state)
        name = f"{thing} {state}"
        if name not in self.atoms:
            means = [
                (neg(Ref(key)), Ref(key)) if key in p.system.values else None for p in self.pictures
            ]
            self._add(name, Atom(2, (means[0], means[1])))
        return self.space.literal(name, (1,))

    def _add(self, name: str, atom: Atom) -> None:
        self.atoms[name] = atom
        if atom.size > 1:
            self._see(name, atom.size)

    def _of_level(self, side: int, supply: str, level: int) -> Node:
        """At least that level, or (0) above the lowest; a level of the other book by its place."""
        name = f"level of {supply}"
        levels = [
            thing.levels if isinstance(thing, Supply) else ()
            for thing in (things.get(supply) for things in self._things)
        ]
        shared = of_words(levels[0], levels[1])
        if name not in self.atoms:
            means = [
                tuple(_at_level(supply, own, len(words)) for own in shared.own[i])
                if words
                else None
                for i, words in enumerate(levels)
            ]
            self._add(name, Atom(shared.size, (means[0], means[1])))
        first = shared.joint(side, level) if level else 1
        return self.space.literal(name, range(first, shared.size))

    def _of_region(self, side: int, reading: str, state: str) -> Node:
        """True and indicated are one where neither book lets the reading fail."""
        both = self._readings(reading)
        word, _, number = state.partition(" ")
        word = word if any(r.fails for r in both) else "region"
        name = f"{word} of {reading}"
        regions = [p.system.regions.get(reading) for p in self.pictures]
        shared = of_regions(regions[0], regions[1])
        if name not in self.atoms:
            means = [
                tuple(FALSE if v is None else Ref((reading, f"{word} {v}")) for v in shared.own[i])
                if regions[i] is not None
                else None
                for i in (0, 1)
            ]
            self._add(name, Atom(shared.size, (means[0], means[1])))
        if shared.size == 1:
            return self.space.true
        own = shared.own[side]
        return self.space.literal(name, {i for i, v in enumerate(own) if v == int(number)})


def _at_level(supply: str, level: int | None, levels: int) -> Formula:
    if level is None:
        return FALSE
    reached = Ref((supply, f"at least {level}")) if level else TRUE
    more = Ref((supply, f"at least {level + 1}")) if level + 1 < levels else FALSE
    return conj([reached, neg(more)])
