"""How a value that follows is said: `left pump running`, `AC bus 1 live`."""

from __future__ import annotations

from collections.abc import Iterable

from tellback.book.model import Supply, Thing
from tellback.logic.formula import Key

TOLD = ("running", "shown", "yes", "live")
"""The states of values that a pilot speaks of, the plainest first."""


def value_text(thing: Thing, state: str) -> str:
    """A value in words; empty for one that only the program knows."""
    if state == "yes":
        return thing.name
    if state.startswith("at least ") and isinstance(thing, Supply):
        level = int(state.removeprefix("at least "))
        word = "live" if level == 1 else f"at least {thing.levels[level]}"
        return f"{thing.name} {word}"
    if state in TOLD or state.startswith("fed by "):
        return f"{thing.name} {state}"
    return ""


def plainest(keys: Iterable[Key]) -> list[Key]:
    """The values, those that a pilot speaks of first."""

    def rank(key: Key) -> int:
        state = "live" if key[1] == "at least 1" else key[1]
        return TOLD.index(state) if state in TOLD else len(TOLD)

    return sorted(keys, key=rank)
