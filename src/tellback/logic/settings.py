"""Reading `thing: state` pairs (starting states, changes) into values of variables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book.model import Reading
from tellback.book.names import Names, fold
from tellback.logic.system import System, Variable
from tellback.logic.translate import failure_name
from tellback.logic.words import measured
from tellback.refusals import Refusal
from tellback.units import UnitError, convert


class BadSetting(Refusal, ValueError):
    """A setting that no variable has; `mend` tells what could be meant."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Values of variables, and the numbers of moving readings among them."""

    values: dict[str, int]
    numbers: dict[str, float]


def read_settings(system: System, names: Names, pairs: Sequence[tuple[str, str]]) -> Settings:
    """What the pairs set. A failure is set by naming its mode (`left pump: stops`).

    Raises BadSetting for a name that is not declared, a thing that follows from others, or a
    state that the thing does not have.
    """
    values: dict[str, int] = {}
    numbers: dict[str, float] = {}
    for name, state in pairs:
        thing = names.find(name)
        if not thing:
            near = names.near(name)
            raise BadSetting(f"nothing in the book is called “{name}”", _did_you_mean(near))
        if _is_never_compared(system, thing) and not _is_failure(system, thing, state):
            number_of(system, thing, state)
            continue
        variable, value = _setting(system, thing, state)
        values[variable] = value
        if system.variables[variable].kind == "number":
            numbers[variable] = number_of(system, thing, state)
    return Settings(values, numbers)


def _setting(system: System, thing: str, state: str) -> tuple[str, int]:
    own = system.variables.get(thing)
    failure = system.variables.get(failure_name(thing))
    if own is not None and own.kind in ("reading", "number"):
        if failure and fold(state) in map(fold, failure.values):
            return failure.name, _index(failure, state)
        return own.name, system.regions[thing].index(number_of(system, thing, state))
    for variable in (own, failure):
        if variable is not None and _index(variable, state) >= 0:
            return variable.name, _index(variable, state)
    options = [w for v in (own, failure) if v is not None for w in v.values if w != "ok"]
    if own is None:
        how = "write " + " or ".join(f"`{thing}: {mode}`" for mode in options)
        how = how if options else "state how under `fails` in the book"
        mend = f"Set what it follows from. To let it fail, {how}."
        raise BadSetting(f"{thing} cannot be set to “{state}”: it follows from other things", mend)
    raise BadSetting(f"{thing} cannot be “{state}”", f"It can be: {', '.join(options)}.")


def _is_never_compared(system: System, name: str) -> bool:
    """A reading that may be given and that changes nothing: it is no variable."""
    thing = system.book.thing(name)
    return isinstance(thing, Reading) and not thing.follows and not system.regions[name].cuts


def _is_failure(system: System, thing: str, state: str) -> bool:
    failure = system.variables.get(failure_name(thing))
    return failure is not None and _index(failure, state) >= 0


def _index(variable: Variable, state: str) -> int:
    words = [fold(word) for word in variable.values]
    wanted = fold(state).removeprefix("at ")
    return words.index(wanted) if wanted in words else -1


def number_of(system: System, thing: str, state: str) -> float:
    """The number of a reading that a text states, in the reading's unit. Raises BadSetting."""
    regions = system.regions[thing]
    digits, _, unit = state.strip().replace(",", "").partition(" ")
    try:
        value = convert(float(digits), unit or regions.unit, regions.unit)
    except (ValueError, OverflowError, UnitError):
        low, high = (measured(value, regions.unit) for value in (regions.low, regions.high))
        mend = f"Write a number from {low} to {high}."
        raise BadSetting(f"“{state}” is no value of {thing}", mend) from None
    if not regions.low <= value <= regions.high:
        span = f"{regions.low:g} to {regions.high:g} {regions.unit}"
        raise BadSetting(f"{thing} cannot be {state}", f"Its range is {span}.")
    return value


def _did_you_mean(near: Sequence[str]) -> str:
    if not near:
        return (
            "Write a name as it stands in the book: a control, a fact, a reading, or what can fail."
        )
    return f"Did you mean {' or '.join(near)}?"
