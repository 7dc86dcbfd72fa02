"""Runs a scenario: from event to event, without chance, until its end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tellback.book.conditions import Condition
from tellback.book.model import Book, Reading
from tellback.book.procedures import statements_in
from tellback.book.scenario import Happening, Scenario
from tellback.book.scenarios import statements_in_scenario
from tellback.logic.formula import Formula
from tellback.logic.picture import Picture, picture_of, starting_states
from tellback.logic.run import Aeroplane, Unsettled
from tellback.logic.scene import scene
from tellback.logic.settings import number_of
from tellback.motion.rounds import Rounds
from tellback.motion.script import Until, Waits, When, play, threads
from tellback.motion.stage import Contradicted, Stage
from tellback.motion.trace import Trace, Unrest


def picture_for(book: Book, scenario: Scenario, aeroplane: str, *more: Condition) -> Picture:
    """The picture of an aeroplane in which all conditions of a scenario can be asked."""
    return picture_for_all(book, [scenario], aeroplane, *more)


def picture_for_all(
    book: Book, scenarios: Iterable[Scenario], aeroplane: str, *more: Condition
) -> Picture:
    """The picture of an aeroplane in which all conditions of these scenarios can be asked."""
    found = dict.fromkeys(c for scenario in scenarios for c in asked_in(book, scenario))
    return picture_of(book, aeroplane, *dict.fromkeys([*found, *more]))


def asked_in(book: Book, scenario: Scenario) -> Iterator[Condition]:
    """What a scenario asks for, and what the procedures ask for that are carried out in it."""
    yield from (statement.condition for statement in statements_in_scenario(scenario))
    procedures = {h.procedure for h in scenario.happenings if h.procedure}
    for procedure in book.procedures:
        if procedure.name in procedures:
            yield from (statement.condition for statement in statements_in(procedure))


def run_of(
    picture: Picture,
    scenario: Scenario,
    happenings: Sequence[Happening],
    runner: Aeroplane | None = None,
) -> Trace:
    """The scenario with these steps, run on the aeroplane of the picture, or another like it."""
    changes = [f"{thing}: {state}" for thing, state in scenario.changes]
    moment = scene(picture, scenario.start, changes).moment
    stage = Stage(
        picture,
        replace(moment, time=0.0),
        numbers_outside(picture, scenario.start, scenario.changes),
    )
    if runner is not None:
        stage = stage.like(runner)
    return _Run(stage, [_Thread(play(stage, thread)) for thread in threads(happenings)]).trace(
        scenario.ends
    )


def numbers_outside(
    picture: Picture, start: str, changes: Sequence[tuple[str, str]]
) -> dict[str, float]:
    """Where the readings from outside truly stand at the beginning, whatever one reads."""
    states = starting_states(picture.book)
    begun = next((s for s in states if s.name.casefold() == start.casefold()), states[0])
    stated = {
        picture.names.find(thing): state
        for thing, state in (*begun.settings, *changes)
        if not state.startswith("reads ")
    }
    return {
        thing.name: number_of(picture.system, thing.name, stated[thing.name])
        if thing.name in stated
        else thing.normally
        for thing in picture.book.things
        if isinstance(thing, Reading) and thing.is_outside
    }


@dataclass(slots=True)
class _Thread:
    """A thread and what it waits for; None before it has begun and once it is over."""

    steps: Waits
    waits: Until | When | None = None
    over: bool = False

    def go_on(self) -> None:
        """Plays on to the next wait."""
        self.waits = next(self.steps, None)
        self.over = self.waits is None


class _Run:
    """A run under way."""

    def __init__(self, stage: Stage, threads: Sequence[_Thread]) -> None:
        self.stage = stage
        self.threads = threads
        self.rounds = Rounds(stage)

    def trace(self, ends: float | None) -> Trace:
        """Everything up to the end."""
        unrest = self._unrest(ends)
        if ends is not None and not unrest:
            self.stage.pass_to(ends)
        waiting = tuple(t.waits.text for t in self.threads if isinstance(t.waits, When))
        trace = Trace(tuple(self.stage.frames), self.stage.time, waiting, unrest)
        return replace(trace, waiting=()) if trace.is_contradicted else trace

    def _unrest(self, ends: float | None) -> Unrest | None:
        """Goes on up to the end; what breaks it off before, if anything does."""
        try:
            self._begin()
            while (time := self._next_time()) is not None and (ends is None or time <= ends):
                if self._go_to(time) and (unrest := self.rounds.closed(self._is_alone(ends))):
                    return unrest
                self._let_threads_go_on()
        except Unsettled as fault:
            return Unrest(fault.message, lasts=False)
        except Contradicted as fault:
            return Unrest(str(fault), lasts=False)
        return None

    def _begin(self) -> None:
        for thread in self.threads:
            thread.go_on()
        self._let_threads_go_on()

    def _next_time(self) -> float | None:
        timed = [t.waits.time for t in self.threads if isinstance(t.waits, Until)]
        own = self.stage.next_time()
        return min([*timed, *([] if own is None else [own])], default=None)

    def _go_to(self, time: float) -> bool:
        """What comes next happens: what comes by itself before what a thread waits for.

        Whether it was the aeroplane itself that did something.
        """
        own = self.stage.next_time()
        if own is not None and own <= time:
            return self.stage.next_event()
        self.stage.pass_to(time)
        return False

    def _is_alone(self, ends: float | None) -> bool:
        """Whether nothing from outside is to come, not even the end."""
        timed = any(isinstance(thread.waits, Until) for thread in self.threads)
        return ends is None and not timed and not self.stage.is_touched

    def _let_threads_go_on(self) -> None:
        """Every thread that need not wait any longer goes on, until all must wait."""
        while (ready := self._ready()) is not None:
            self.rounds.broken()
            ready.go_on()

    def _ready(self) -> _Thread | None:
        """The first thread that need not wait; for a time only once all else of it has come."""
        now, own = self.stage.time, self.stage.next_time()
        for thread in self.threads:
            match thread.waits:
                case Until(time) if time <= now and (own is None or own > now):
                    return thread
                case When(formula) if self._holds(formula):
                    return thread
        return None

    def _holds(self, formula: Formula) -> bool:
        return self.stage.runner.holds(formula, self.stage.moment.state)
