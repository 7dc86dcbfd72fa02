"""Which inputs have to do with one another: moved together, they bring about what none does alone.

An input's company is met by walks through what the book states: a few steps on to what hangs on
it, and back down to an input on which that hangs, too. The more often two meet, the more often one
is drawn for the other. Which they are is left to chance, of which nothing depends but how soon
something is found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from random import Random

from tellback.logic.formula import Formula, Key, literals, references
from tellback.logic.symbols import changes_of
from tellback.logic.system import System

FARTHEST = 3
"""A walk goes on at most so many steps before it turns back."""

DEEPEST = 50
"""A walk that comes to no input in so many steps back is given up."""

STAYS = 0.7
"""How likely a walk ends at an input that itself hangs on something."""

Stop = Key | str
"""A value, or a variable, on a walk."""


def company_of(system: System, chance: Random) -> Callable[[str], str]:
    """Draws for an input one that has to do with it, the nearer ones more often."""
    below = _below(system)
    above: dict[Stop, list[Stop]] = {}
    for stop, several in below.items():
        for one in several:
            above.setdefault(one, []).append(stop)
    inputs = {variable.name for variable in system.variables.values() if variable.is_input}

    def met(name: str) -> str:
        at: Stop = name
        for _ in range(chance.randint(1, FARTHEST)):
            at = chance.choice(above[at]) if at in above else at
        for _ in range(DEEPEST):
            if at not in below:
                break
            at = chance.choice(below[at])
            if at in inputs and chance.random() < STAYS:
                break
        return at if isinstance(at, str) and at in inputs else name

    return met


def _below(system: System) -> dict[Stop, Sequence[Stop]]:
    """For each value, and each variable that changes, what it hangs on directly."""
    stated: dict[Stop, Iterable[Formula]] = {}
    stated.update((name, several) for name, several in changes_of(system).items())
    stated.update((key, (formula,)) for key, formula in system.values.items())
    found = {stop: list(dict.fromkeys(_spoken_of(formulas))) for stop, formulas in stated.items()}
    return {stop: several for stop, several in found.items() if several}


def _spoken_of(formulas: Iterable[Formula]) -> Iterable[Stop]:
    for formula in formulas:
        yield from (lit.variable for lit in literals(formula))
        yield from (key for key, _ in references(formula))
