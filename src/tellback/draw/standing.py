"""How each thing stands at a moment: a word for it, and one of a few marks."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from tellback.book.conditions import Condition
from tellback.book.english import running_words
from tellback.book.model import Control, Means, Supply, Surface, Thing, Unit
from tellback.draw.wiring import Wire
from tellback.logic.facts import Facts, level_words
from tellback.logic.picture import Picture
from tellback.logic.run import Moment
from tellback.logic.translate import failure_name

ON, READY, OFF, FAILED, MOVING, STILL = "on", "ready", "off", "failed", "moving", "still"


@dataclass(frozen=True, slots=True)
class Stand:
    """How a thing stands: in words, and its mark.

    A unit is `on`, `ready` (available, but not called for) or `off`, a supply on or off, a surface
    `moving` or `still`, a control still; anything may have `failed`.
    """

    word: str
    mark: str


def words_of(thing: Thing) -> tuple[str, ...]:
    """Every word that tells how a thing can stand."""
    failed = tuple(f"failed: {mode}" for mode in thing.fails)
    match thing:
        case Control():
            return (*thing.positions, *failed)
        case Unit():
            on, off = running_words(thing.form)
            return (on, *(("available", "off") if off == "not running" else (off,)), *failed)
        case Supply():
            return (*level_words(thing), *failed)
        case Surface():
            between = tuple(f"between {a} and {b}" for a, b in pairwise(thing.points))
            return (*thing.points, *between, *failed)
    return ("yes", "no")


class Standing:
    """How all stands on an aeroplane at a moment."""

    def __init__(self, picture: Picture, moment: Moment) -> None:
        self.picture = picture
        self.moment = moment
        self.words = Facts(picture).at(moment)
        self._values = picture.aeroplane.values(moment.state)

    def of(self, thing: Thing) -> Stand:
        """How a control, unit, supply or surface stands."""
        word = self.words[thing.name]
        failure = self._failure(thing)
        if failure:
            return Stand(f"failed: {failure}", FAILED)
        match thing:
            case Unit():
                return self._unit(thing, word)
            case Supply():
                return Stand(word, OFF if word == thing.levels[0] else ON)
            case Surface():
                return self._surface(thing, word)
            case Means():
                return Stand(word, ON if word == "yes" else OFF)
        return Stand(word, STILL)

    def carries(self, wire: Wire) -> bool:
        """Whether something passes along a wire."""
        return any(
            all(self._so(wire.owner, condition) for condition in every) for every in wire.carries
        )

    def _so(self, owner: str, condition: Condition) -> bool:
        return bool(self._values.of(self.picture.formula(condition, owner)))

    def _failure(self, thing: Thing) -> str:
        mode = self.moment.state.get(failure_name(thing.name), 0)
        return thing.fails[mode - 1] if mode else ""

    def _unit(self, unit: Unit, word: str) -> Stand:
        if self._values[unit.name, "running"]:
            return Stand(word, ON)
        if self._values[unit.name, "available"]:
            return Stand("available" if word == "not running" else word, READY)
        return Stand("off" if word == "not running" else word, OFF)

    def _surface(self, surface: Surface, word: str) -> Stand:
        word = word.removeprefix("in transit ")
        return Stand(word, MOVING if surface.name in self.moment.under_way else STILL)
