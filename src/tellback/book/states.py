"""The words that say what a thing is doing, by its form and kind."""

from __future__ import annotations

from collections.abc import Mapping

from tellback.book.names import Declared

# form -> state word -> (canonical state, whether it affirms it)
WORDS: Mapping[str, Mapping[str, tuple[str, bool]]] = {
    "unit": {"running": ("running", True), "available": ("available", True)},
    "supply": {
        "live": ("live", True),
        "lost": ("live", False),
        "paralleled": ("paralleled", True),
    },
    "surface": {"moving": ("moving", True), "still": ("moving", False)},
    "latch": {"set": ("set", True), "clear": ("set", False)},
    "indication": {
        "shown": ("shown", True),
        "lit": ("shown", True),
        "sounding": ("shown", True),
    },
}
_POWER = {"powered": ("live", True), "unpowered": ("live", False)}
_PRESSURE = {"pressurised": ("live", True), "unpressurised": ("live", False)}
_CLOSED_RUNS = {"closed": ("running", True), "open": ("running", False)}
_OPEN_RUNS = {"open": ("running", True), "closed": ("running", False)}


def words_for(thing: Declared) -> Mapping[str, tuple[str, bool]]:
    """The state words that fit a thing, each with the canonical state and whether it affirms."""
    words = dict(WORDS.get(thing.form, {}))
    kind = thing.kind.casefold().split()
    if thing.form == "supply":
        words |= {} if set(kind) & {"circuit", "duct"} else _POWER
        words |= {} if "bus" in kind else _PRESSURE
    if thing.form == "unit" and set(kind) & {"contactor", "relay"}:
        words |= _CLOSED_RUNS
    if thing.form == "unit" and "valve" in kind:
        words |= _OPEN_RUNS
    if thing.fails:
        words["failed"] = ("failed", True)
    return words


def states_in_words(thing: Declared) -> str:
    """What may be said of a thing, as a choice: `running` or `available`."""
    if thing.form == "reading":
        unit = "" if thing.unit == "none" else f" in {thing.unit}"
        return f"`above`, `below`, `at least`, `at most` or `between` with a number{unit}"
    words = [f"`{word}`" for word in words_for(thing)]
    if thing.states and not (thing.form == "supply" and len(thing.states) == 2):
        words += [f"`at {thing.states[0]}`"]
    if not words:  # that it has no positions is told where it is declared
        return "`at` and its position"
    return ", ".join(words[:-1]) + (" or " if len(words) > 1 else "") + words[-1]
