"""What can be seen of every thing at a moment, what changed between two, and through what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from tellback.book.english import running_words
from tellback.book.model import (
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Situation,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.logic.formula import literals, references
from tellback.logic.picture import Picture
from tellback.logic.run import Moment
from tellback.logic.solve import Valuation
from tellback.logic.translate import failure_name
from tellback.logic.words import number, range_text, seconds_text


@dataclass(frozen=True, slots=True)
class Change:
    """Something that is otherwise than before: after how many seconds, and through what.

    `through` names the things, themselves changed, on which it depends directly; empty where it
    depends on what was moved itself. `shown` tells whether the crew is shown it: an indication, or
    a reading with a gauge at work.
    """

    seconds: float
    thing: str
    kind: str
    before: str
    after: str
    through: tuple[str, ...]
    shown: bool

    @property
    def text(self) -> str:
        """The new state in words: `left pump running`."""
        return said(self.thing, self.kind, self.after)

    def __str__(self) -> str:
        when = "at once" if self.seconds == 0 else f"after {seconds_text(self.seconds)}"
        through = f" (through {', '.join(self.through)})" if self.through else ""
        return f"{when}: {self.text}{through}"


def said(thing: str, kind: str, word: str) -> str:
    """A thing and its state in words."""
    if kind == "means":
        return thing if word == "yes" else f"not {thing}"
    if kind in ("control", "surface") and not word.startswith(("in transit", "moving")):
        return f"{thing} at {word}"
    return f"{thing} {word}"


def kind_of(thing: Thing) -> str:
    """The kind of a thing, as the book calls it."""
    return type(thing).__name__.casefold()


class Facts:
    """The visible state of every thing of a picture."""

    def __init__(self, picture: Picture) -> None:
        self.picture = picture
        self.system = picture.system
        self._depends: dict[str, frozenset[str]] = {}

    def at(self, moment: Moment) -> dict[str, str]:
        """The state of every thing in words (situations and outside readings are inputs)."""
        values = self.picture.aeroplane.values(moment.state)
        return {
            thing.name: self._word(thing, moment, values)
            for thing in self.picture.book.things
            if not isinstance(thing, Situation)
        }

    def _word(self, thing: Thing, moment: Moment, values: Valuation[int]) -> str:
        name = thing.name
        match thing:
            case Control():
                return thing.positions[moment.state[name]]
            case Reading():
                return self._reading(thing, moment, values)
            case Means():
                return "yes" if values[name, "yes"] else "no"
            case Unit():
                on, off = running_words(thing.form)
                return on if values[name, "running"] else off
            case Supply():
                reached = [k for k in range(1, len(thing.levels)) if values[name, f"at least {k}"]]
                return thing.levels[max(reached, default=0)].replace("normal", "live")
            case Surface():
                place = moment.state[name]
                word = self.system.variables[name].values[place]
                return word if place % 2 == 0 else f"in transit {word}"
            case Latch():
                return "set" if moment.state[name] else "clear"
            case Indication():
                return "shown" if values[name, "shown"] else "not shown"
        raise AssertionError(thing)

    def _reading(self, reading: Reading, moment: Moment, values: Valuation[int]) -> str:
        if reading.follows or moment.state.get(failure_name(reading.name), 0):
            shown = self._number_shown(reading, moment, values)
            return f"{number(shown)} {reading.unit}".rstrip()
        regions = self.system.regions[reading.name]
        here = next(i for i in range(len(regions.cuts) + 1) if values[reading.name, f"region {i}"])
        return range_text(regions, [here])

    def _number_shown(self, reading: Reading, moment: Moment, values: Valuation[int]) -> float:
        """What a following reading indicates: a false number, the first row, or its low end."""
        mode = moment.state.get(failure_name(reading.name), 0)
        if mode:
            return float(reading.fails[mode - 1].removeprefix("reads "))
        for row in reading.follows:
            if row.when is None or values.of(
                self.picture.formula(row.when.condition, reading.name)
            ):
                return row.value
        return reading.low

    def changes(self, moments: Iterable[Moment], moved: Iterable[str] = ()) -> list[Change]:
        """Everything that changes from the first moment on, in order of time.

        `moved` are the things moved from outside; they are not told.
        """
        history = list(moments)
        moved = set(moved)
        changed = set(moved)
        found: list[Change] = []
        before = self.at(history[0])
        for moment in history[1:]:
            now = self.at(moment)
            new = [name for name in now if now[name] != before[name] and name not in moved]
            changed |= set(new)
            for name in new:
                thing = self.picture.book.thing(name)
                causes = self.depends(name) & changed - {name}
                through = () if causes & moved else tuple(n for n in now if n in causes)
                found.append(
                    Change(
                        seconds=moment.time - history[0].time,
                        thing=name,
                        kind=kind_of(thing),
                        before=before[name],
                        after=now[name],
                        through=through,
                        shown=isinstance(thing, Indication) or self._on_a_gauge(name, now),
                    )
                )
            before = now
        return found

    @cached_property
    def gauges(self) -> dict[str, tuple[str, ...]]:
        """The gauges of each reading that has some."""
        found: dict[str, tuple[str, ...]] = {}
        for thing in self.picture.book.things:
            if isinstance(thing, Indication) and thing.shows:
                found[thing.shows] = (*found.get(thing.shows, ()), thing.name)
        return found

    def _on_a_gauge(self, name: str, now: dict[str, str]) -> bool:
        return any(now[gauge] == "shown" for gauge in self.gauges.get(name, ()))

    def depends(self, name: str) -> frozenset[str]:
        """The things that the definition of a thing speaks of directly."""
        if name not in self._depends:
            self._depends[name] = frozenset(self._spoken_of(name))
        return self._depends[name]

    def _spoken_of(self, name: str) -> Iterator[str]:
        own = [f for (thing, _), f in self.system.values.items() if thing == name]
        own += [r.condition for r in self.system.steps if r.variable == name]
        work, seen = own, set()
        while work:
            formula = work.pop()
            for lit in literals(formula):
                variable = self.system.variables[lit.variable]
                if variable.kind == "delay":
                    work.append(self.system.values[variable.name, "held"])
                else:
                    yield variable.thing
            for (thing, state), _ in references(formula):
                if thing in self.system.variables and self.system.variables[thing].kind == "delay":
                    if (thing, state) not in seen:
                        seen.add((thing, state))
                        work.append(self.system.values[thing, state])
                else:
                    yield thing
