"""How each thing stands at a moment: a word for it, and one of a few marks."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from itertools import pairwise

from tellback.book.english import running_words
from tellback.book.model import (
    Control,
    Indication,
    Means,
    Reading,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.draw.wiring import Carries, Delivers, Meant, Wire
from tellback.logic.facts import Facts, level_words
from tellback.logic.picture import Picture
from tellback.logic.run import Moment
from tellback.logic.translate import failure_name
from tellback.logic.words import number, range_text

ON, READY, OFF, FAILED, MOVING, STILL = "on", "ready", "off", "failed", "moving", "still"

OPEN, SHUT = frozenset({"open", "normal"}), frozenset({"shut", "closed"})
"""Words for the ends of what opens and shuts; any other place of it is open in part."""

CARRIES, LIVE, DEAD = "carries", "live", "dead"
"""What is on a wire."""

BLANK = "blank"
"""What a gauge shows that is not at work."""


@dataclass(frozen=True, slots=True)
class Stand:
    """How a thing stands: in words, and its mark.

    A unit is `on`, `ready` (available, but not called for) or `off`, a supply on or off, a surface
    `moving` or `still`, a control still; anything may have `failed`. `at_work` is what its symbol
    tells even so: it runs, or it lets through; `partly`, that it does so in part.
    """

    word: str
    mark: str
    at_work: bool = False
    partly: bool = False


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
        self._things = {thing.name: thing for thing in picture.book.things}
        self._values = picture.aeroplane.values(moment.state)

    def of(self, thing: Thing) -> Stand:
        """How a control, unit, supply or surface stands."""
        stand = self._without_failure(thing)
        failure = self._failure(thing)
        return replace(stand, word=f"failed: {failure}", mark=FAILED) if failure else stand

    def _without_failure(self, thing: Thing) -> Stand:
        word = self.words[thing.name]
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

    def shown(self, thing: Thing) -> tuple[str, Collection[str]]:
        """What a panel shows of a control, an indication or a reading, and all that it can show."""
        word = self.words[thing.name]
        match thing:
            case Control(positions=positions):
                return word, positions
            case Indication(shows=""):
                return word, ("shown", "not shown")
            case Indication(shows=reading):
                shown = self.words[reading] if word == "shown" else BLANK
                return shown, (BLANK, *self._reads(self._things[reading]))
        return word, self._reads(thing)

    def _reads(self, reading: Thing) -> Collection[str]:
        """All that a reading can read, in words."""
        assert isinstance(reading, Reading)
        if reading.follows:
            numbers = {row.value for row in reading.follows} | {reading.low}
            numbers |= {float(mode.removeprefix("reads ")) for mode in reading.fails}
            return [f"{number(value)} {reading.unit}".rstrip() for value in numbers]
        regions = self.picture.system.regions[reading.name]
        return [range_text(regions, [place]) for place in range(len(regions.cuts) + 1)]

    def carries(self, wire: Wire) -> bool:
        """Whether something passes along a wire."""
        return self._any_is_so(wire.carries)

    def current(self, wire: Wire) -> str:
        """What is on a wire: it `carries` something, is only `live`, or `dead`."""
        if self.carries(wire):
            return CARRIES
        return LIVE if self._any_is_so(wire.live) else DEAD

    def _any_is_so(self, ways: Collection[Carries]) -> bool:
        return any(all(map(self._is_so, way)) for way in ways)

    def _is_so(self, part: Meant | Delivers) -> bool:
        if isinstance(part, Delivers):
            return bool(self._values[part.supply, f"row {part.row}"])
        return bool(self._values.of(self.picture.formula(part.condition, part.owner)))

    def _failure(self, thing: Thing) -> str:
        mode = self.moment.state.get(failure_name(thing.name), 0)
        return thing.fails[mode - 1] if mode else ""

    def _unit(self, unit: Unit, word: str) -> Stand:
        if self._values[unit.name, "running"]:
            return Stand(word, ON, at_work=True)
        if self._values[unit.name, "available"]:
            return Stand("available" if word == "not running" else word, READY)
        return Stand("off" if word == "not running" else word, OFF)

    def _surface(self, surface: Surface, word: str) -> Stand:
        word = word.removeprefix("in transit ")
        mark = MOVING if surface.name in self.moment.under_way else STILL
        ends = word.casefold()
        partly = ends not in OPEN | SHUT and not SHUT.isdisjoint(map(str.casefold, surface.points))
        return Stand(word, mark, at_work=ends in OPEN or partly, partly=partly)
