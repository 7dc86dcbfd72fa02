"""Two aeroplanes of a fleet that move alike: what is proved of one need not be proved again."""

from __future__ import annotations

from tellback.logic.compiled import conditions_of
from tellback.logic.formula import Formula, references
from tellback.logic.picture import Picture
from tellback.logic.system import System


class Alike:
    """An aeroplane that has the same variables as another, and changes them by the same rules.

    Only values differ to which nothing that changes looks, such as lights that only one of them
    has wired. So the same states are possible, and the same runs lead to them.
    """

    def __init__(self, one: Picture, other: Picture) -> None:
        systems = one.system, other.system
        values, there = (system.values for system in systems)
        differing = {key for key in {**values, **there} if values.get(key) != there.get(key)}
        self._otherwise = one.graph.above(differing) | other.graph.above(differing) | differing
        conditions = [c for system in systems for c in conditions_of(system)]
        self.moving = (
            one.book.starts == other.book.starts
            and _rules(one.system) == _rules(other.system)
            and self.holds_alike(*conditions)
        )

    def holds_alike(self, *formulas: Formula) -> bool:
        """Whether none of the formulas looks at a value that differs."""
        return not any(key in self._otherwise for f in formulas for key, _ in references(f))

    def speaks_alike(self, *formulas: Formula) -> bool:
        """Whether the two move alike, and the formulas hold in the same of their states."""
        return self.moving and self.holds_alike(*formulas)


def _rules(system: System) -> tuple[object, ...]:
    return (
        system.variables, system.steps, system.delays, system.bars, system.surfaces,
        system.numbers, system.lasts, system.impossible, system.regions,
    )  # fmt: skip
