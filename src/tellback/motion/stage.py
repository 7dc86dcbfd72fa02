"""The aeroplane with all that is under way around it: readings on their way, controls held."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import inf

from tellback.book.model import Reading
from tellback.book.scenario import Setting
from tellback.logic.impossible import entered_text, stated_at
from tellback.logic.pending import after
from tellback.logic.picture import Picture
from tellback.logic.procedure import ALREADY, MADE, springs_to
from tellback.logic.run import Aeroplane, Barred, Moment
from tellback.logic.system import Regions
from tellback.logic.translate import failure_name
from tellback.logic.words import delay_text, measured
from tellback.motion.trace import (
    ARRIVES,
    BARRED,
    ELAPSES,
    IMPOSSIBLE,
    PASSES,
    RETURNS,
    Event,
    Frame,
)


@dataclass(frozen=True, slots=True)
class Ramp:
    """A reading from outside on its way: from a number at a time to its goal, so much a second."""

    since: float
    begin: float
    goal: float
    rate: float

    def at(self, time: float) -> float:
        """Where it is at a time; at its goal once it has come there."""
        return self.goal if time >= self.arrives else self.begin + self._slope * (time - self.since)

    @property
    def arrives(self) -> float:
        """When it comes to its goal."""
        return after(self.since, abs(self.goal - self.begin) / self.rate)

    def reaches(self, number: float) -> float:
        """When it comes to a number on its way."""
        return after(self.since, (number - self.begin) / self._slope)

    @property
    def _slope(self) -> float:
        return self.rate if self.goal > self.begin else -self.rate


class Contradicted(Exception):
    """What the book states impossible has come about: nothing that follows is known."""


class Stage:
    """Where a scenario is played: the moment now, and what comes next by itself.

    Every change leaves a frame.
    """

    def __init__(self, picture: Picture, moment: Moment, numbers: Mapping[str, float]) -> None:
        self.picture = picture
        self.runner = picture.aeroplane
        self.moment = moment
        self.numbers = dict(numbers)
        self.ramps: dict[str, Ramp] = {}
        self.held: dict[str, float] = {}
        self.frames = [Frame(moment, dict(numbers), None)]

    def like(self, runner: Aeroplane) -> Stage:
        """Another stage that stands as this one does, with no frames yet but that."""
        other = Stage(self.picture, self.moment, self.numbers)
        other.runner, other.ramps, other.held = runner, dict(self.ramps), dict(self.held)
        return other

    # -- time -------------------------------------------------------------------------------

    @property
    def time(self) -> float:
        """Seconds from the beginning."""
        return self.moment.time

    def next_time(self) -> float | None:
        """When something next happens by itself; None if nothing will."""
        return min((time for time, _, _ in self._coming()), default=None)

    def _coming(self) -> Iterable[tuple[float, int, str]]:
        """All that is to come by itself: when, in which order of several at a time, and what."""
        for name, pending in self.moment.under_way.items():
            yield pending.due, 0, name
        for name in self.ramps:
            yield self._crossing(name)[0], 1, name
        for name, time in self.held.items():
            if time < inf:
                yield time, 2, name

    def pass_to(self, time: float) -> None:
        """Time passes, nothing coming before then."""
        if time > self.time:
            self._pass_readings(time)
            self.moment = self.runner.waited(self.moment, time)

    @property
    def is_touched(self) -> bool:
        """Whether a reading is on its way, or a control held that is to be let go."""
        return bool(self.ramps) or any(time < inf for time in self.held.values())

    def next_event(self) -> bool:
        """What comes next by itself happens; whether the aeroplane itself did something.

        What only comes to rest where it is said to be already is no event.
        """
        time, order, name = min(self._coming(), key=lambda coming: coming[:2])
        match order:
            case 0:
                stays = self.moment.under_way[name].value == self.moment.state[name]
                event = None if stays else self._own_event(name)
                self._pass_readings(time)
                self.moment = self.runner.next_event(self.moment)
                if event is None:
                    return False
                self.note(event)
            case 1:
                self.pass_to(time)
                self._cross(name)
            case _:
                self.pass_to(time)
                self._let_go(name)
        return order == 0

    def _pass_readings(self, time: float) -> None:
        self.numbers |= {name: ramp.at(time) for name, ramp in self.ramps.items()}

    def _own_event(self, name: str) -> Event:
        """What the aeroplane does next, in words."""
        variable = self.picture.system.variables[name]
        toward = self.moment.under_way[name].value
        if variable.kind == "delay":
            return Event(ELAPSES, delay_text(self.picture.system, name))
        if variable.kind == "place":
            place = variable.values[toward]
            on_the_way = toward % 2 == 1
            return Event(ARRIVES, f"{name} {'in transit' if on_the_way else 'at'} {place}")
        regions = self.picture.system.regions[name]
        cut, _ = regions.cuts[min(toward, self.moment.state[name])]
        return _passing(name, cut, regions)

    # -- readings on their way --------------------------------------------------------------

    def _crossing(self, name: str) -> tuple[float, int]:
        """When a reading next comes into another region, and which; or to its goal, as it is."""
        ramp = self.ramps[name]
        here = self.moment.state.get(name)
        if here is None:
            return ramp.arrives, -1
        regions = self.picture.system.regions[name]
        wanted = regions.index(ramp.goal)
        if wanted == here:
            return ramp.arrives, here
        toward = here + (1 if wanted > here else -1)
        return max(self.time, ramp.reaches(regions.cuts[min(here, toward)][0])), toward

    def _cross(self, name: str) -> None:
        _, toward = self._crossing(name)
        ramp = self.ramps[name]
        if self.time >= ramp.arrives and toward in (-1, self._region(name, ramp.goal)):
            del self.ramps[name]
            self.numbers[name] = ramp.goal
        if toward in (-1, self.moment.state.get(name)):
            return
        regions = self.picture.system.regions[name]
        cut, _ = regions.cuts[min(self.moment.state[name], toward)]
        self.moment = self.runner.move(self.moment, {name: toward})
        self.note(_passing(name, cut, regions))

    def _region(self, name: str, value: float) -> int:
        return self.picture.system.regions[name].index(value) if name in self.moment.state else -1

    # -- what is done -----------------------------------------------------------------------

    def move(self, wanted: Mapping[str, str], held: float) -> str:
        """Controls go to positions now; what came of it. One that springs back is held so long."""
        system = self.picture.system
        values = {n: system.variables[n].values.index(position) for n, position in wanted.items()}
        if all(self.moment.state[name] == value for name, value in values.items()):
            return ALREADY
        try:
            self.moment = self.runner.move(self.moment, values)
        except Barred:
            return BARRED
        for name, value in values.items():
            self.held.pop(name, None)
            if springs_to(self.picture, name, value) is not None:
                self.held[name] = after(self.time, held)
        return MADE

    def release(self) -> None:
        """What is held for no set time is let go now."""
        for name, time in self.held.items():
            if time == inf:
                self.held[name] = self.time

    def _let_go(self, name: str) -> None:
        """A control springs back from where it is; it may have dropped while it was held."""
        del self.held[name]
        back = springs_to(self.picture, name, self.moment.state[name])
        if back is None:
            return
        position = self.picture.system.variables[name].values[back]
        try:
            self.moment = self.runner.move(self.moment, {name: back})
        except Barred:
            return
        self.note(Event(RETURNS, f"{name} returns to {position}", things=(name,)))

    def set(self, settings: Iterable[Setting]) -> None:
        """Readings, situations and failures are put otherwise now, all at once."""
        changes: dict[str, int] = {}
        for setting in settings:
            changes |= self._changes(setting)
        self.moment = self.runner.move(self.moment, changes)

    def _changes(self, setting: Setting) -> dict[str, int]:
        """Which variables take which value; what a reading is to do is noted."""
        name, system = setting.thing, self.picture.system
        failure = failure_name(name)
        match setting.how:
            case "fails":
                return {failure: system.variables[failure].values.index(setting.state)}
            case "works":
                return {failure: 0}
            case "goes":
                self._send(setting)
                return {}
        if not isinstance(self.picture.book.thing(name), Reading):
            return {name: int(setting.state == "yes")}
        self.ramps.pop(name, None)
        self.numbers[name] = float(setting.state)
        return {name: self._region(name, self.numbers[name])} if name in system.variables else {}

    def _send(self, setting: Setting) -> None:
        begin, goal = self.numbers[setting.thing], float(setting.state)
        self.ramps.pop(setting.thing, None)
        if goal != begin:
            rate = setting.rate or abs(goal - begin) / setting.seconds
            self.ramps[setting.thing] = Ramp(self.time, begin, goal, rate)

    def note(self, event: Event) -> None:
        """Keeps the moment and what made it, once where a reading passes both sides of a number.

        What leads into what the book says can never be is marked; raises Contradicted there.
        """
        last = self.frames[-1]
        if event.kind == PASSES and last.event == event and last.time == self.time:
            self.frames.pop()
        entered = stated_at(self.picture, self.moment, 0.0)
        if entered is not None:
            event = replace(event, outcome=IMPOSSIBLE)
        self.frames.append(Frame(self.moment, dict(self.numbers), event))
        if entered is not None:
            raise Contradicted(entered_text(entered.statements))


def _passing(name: str, cut: float, regions: Regions) -> Event:
    return Event(PASSES, f"{name} passes {measured(cut, regions.unit)}", things=(name,))
