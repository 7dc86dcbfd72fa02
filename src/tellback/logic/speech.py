"""The facts that definitions speak of, as formulas and in words.

A fact is a control at a position, a supply live, a pump running; what makes up a thing inside, such
as that it is available, is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book.english import running_words
from tellback.book.model import Indication, Means, Reading, Supply, Unit
from tellback.logic.facts import kind_of, said
from tellback.logic.formula import Formula, Key, Lit, Ref, conj, disj, neg
from tellback.logic.items import Item
from tellback.logic.picture import Picture
from tellback.logic.words import literal_text, range_text

IN_A_ROW = frozenset({"reading", "number", "place"})


@dataclass(frozen=True, slots=True)
class Fact:
    """A thing of the book, or a variable of it, has one of some values.

    `name` is that of the variable, or else that of the unit (0 not running, 1 running), means,
    indication, supply (its levels) or following reading (its regions).
    """

    name: str
    values: frozenset[int]


class Speech:
    """Which facts the definitions of a picture speak of, as formulas, and in words."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.system = picture.system
        self.things = {thing.name: thing for thing in picture.book.things}
        self._places = {name: place for place, name in enumerate(self.things)}

    def formula(self, name: str, values: frozenset[int]) -> Formula:
        """That a fact is so."""
        variable = self.system.variables.get(name)
        if variable is not None:
            lit = Lit(name, values)
            if variable.kind != "delay":
                return lit
            elapsed = conj([Ref((name, "held")), Lit(name, frozenset({1}))])
            return elapsed if values == {1} else neg(elapsed)
        thing = self.things[name]
        if isinstance(thing, Supply):
            return self._level(thing, values)
        if isinstance(thing, Reading):
            return disj(Ref((name, f"region {i}")) for i in sorted(values))
        running = Ref((name, _WORD[type(thing)]))
        return running if values == {1} else neg(running)

    def _level(self, supply: Supply, levels: frozenset[int]) -> Formula:
        low, high = min(levels), max(levels)
        at_least = [Ref((supply.name, f"at least {low}"))] if low else []
        over = [neg(Ref((supply.name, f"at least {high + 1}")))]
        return conj([*at_least, *(over if high + 1 < len(supply.levels) else [])])

    def size(self, name: str) -> int:
        """How many values a fact tells apart."""
        if name in self.system.variables:
            return len(self.system.variables[name].values)
        thing = self.things[name]
        if isinstance(thing, Supply):
            return len(thing.levels)
        return len(self.system.regions[name].cuts) + 1 if isinstance(thing, Reading) else 2

    def in_a_row(self, name: str) -> bool:
        """Whether the values lie in a row."""
        variable = self.system.variables.get(name)
        if variable is not None:
            return variable.kind in IN_A_ROW
        return isinstance(self.things[name], Supply | Reading)

    def told_at(self, name: str) -> tuple[int, int]:
        """Where a fact is told: failures, then what the crew moves, then the rest, by the book."""
        variable = self.system.variables.get(name)
        if variable is None:
            return 2, self._places[name]
        rank = {"failure": 0, "control": 1}.get(variable.kind, 2)
        return rank, self._places.get(variable.thing, len(self._places))

    def told(self, key: Key) -> tuple[str, frozenset[int]] | None:
        """The fact that a value is, None if it is part of what makes up a thing inside."""
        thing = self.things.get(key[0])
        match thing, key[1].split():
            case Unit(), ["running"]:
                return key[0], frozenset({1})
            case Means(), ["yes"]:
                return key[0], frozenset({1})
            case Indication(), ["shown"]:
                return key[0], frozenset({1})
            case Supply(levels=levels), ["live"]:
                return key[0], frozenset(range(1, len(levels)))
            case Supply(levels=levels), ["at", "least", level]:
                return key[0], frozenset(range(int(level), len(levels)))
            case Reading(follows=(_, *_)), ["region", region] if self.size(key[0]) > 1:
                return key[0], frozenset({int(region)})
        return None

    def text(self, name: str, values: frozenset[int]) -> str:
        """A fact in words."""
        thing = self.things.get(name)
        if name in self.system.variables or isinstance(thing, Supply):
            return literal_text(self.system, name, values)
        if isinstance(thing, Reading):
            return f"{name} {range_text(self.system.regions[name], sorted(values))}"
        assert thing is not None
        so = values == {1}
        if isinstance(thing, Unit):
            return f"{name} {running_words(thing.form)[0 if so else 1]}"
        if isinstance(thing, Indication):
            return f"{name} {'shown' if so else 'not shown'}"
        return said(name, kind_of(thing), "yes" if so else "no")

    def item(self, name: str, values: frozenset[int]) -> Item:
        """A fact as an item of an answer."""
        variable = self.system.variables.get(name)
        text = self.text(name, values)
        if variable is None:
            thing = self.things[name]
            kind, of = kind_of(thing), name
            words: Sequence[str] = ("no", "yes")
            if isinstance(thing, Supply):
                words = thing.levels
            elif isinstance(thing, Unit):
                words = running_words(thing.form)[::-1]
            elif isinstance(thing, Indication):
                words = ("not shown", "shown")
        else:
            kind, of, words = variable.kind, variable.thing, variable.values
        if kind in ("reading", "number"):
            states: tuple[str, ...] = (text.removeprefix(of).strip(),)
        else:
            states = tuple(words[i] for i in sorted(values))
        return Item(of, kind, states, text, self.picture.groups.together(of, text))


_WORD = {Unit: "running", Means: "yes", Indication: "shown"}
"""By which of its values a thing is told."""
