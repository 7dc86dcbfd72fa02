"""Runs a scenario: from event to event, without chance, until its end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from tellback.book.conditions import Condition
from tellback.book.model import Book, Reading
from tellback.book.procedures import statements_in
from tellback.book.scenario import Happening, Scenario
from tellback.book.scenarios import statements_in_scenario
from tellback.logic.formula import Formula
from tellback.logic.picture import Picture, picture_of, starting_states
from tellback.logic.run import Moment, Unsettled
from tellback.logic.scene import scene
from tellback.motion.script import Until, Waits, When, play, threads
from tellback.motion.stage import Stage
from tellback.motion.trace import Trace

MOST_FRAMES = 100_000
"""No scenario has more frames; one that has is taken to repeat without end."""


def picture_for(book: Book, scenario: Scenario, aeroplane: str, *more: Condition) -> Picture:
    """The picture of an aeroplane in which all conditions of a scenario can be asked."""
    return picture_for_all(book, [scenario], aeroplane, *more)


def picture_for_all(
    book: Book, scenarios: Iterable[Scenario], aeroplane: str, *more: Condition
) -> Picture:
    """The picture of an aeroplane in which all conditions of these scenarios can be asked."""
    found = dict.fromkeys(c for scenario in scenarios for c in _conditions(book, scenario))
    return picture_of(book, aeroplane, *dict.fromkeys([*found, *more]))


def _conditions(book: Book, scenario: Scenario) -> Iterator[Condition]:
    """What a scenario asks for, and what the procedures ask for that are carried out in it."""
    yield from (statement.condition for statement in statements_in_scenario(scenario))
    procedures = {h.procedure for h in scenario.happenings if h.procedure}
    for procedure in book.procedures:
        if procedure.name in procedures:
            yield from (statement.condition for statement in statements_in(procedure))


def run_of(picture: Picture, scenario: Scenario, happenings: Sequence[Happening]) -> Trace:
    """The scenario with these steps, run on the aeroplane of the picture."""
    changes = [f"{thing}: {state}" for thing, state in scenario.changes]
    moment = scene(picture, scenario.start, changes).moment
    stage = Stage(picture, replace(moment, time=0.0), _numbers(picture, scenario))
    return _Run(stage, [_Thread(play(stage, thread)) for thread in threads(happenings)]).trace(
        scenario.ends
    )


def _numbers(picture: Picture, scenario: Scenario) -> dict[str, float]:
    """Where the readings from outside truly stand at the beginning, whatever one reads."""
    start = next(s for s in starting_states(picture.book) if s.name == scenario.start)
    stated = {
        thing: state
        for thing, state in (*start.settings, *scenario.changes)
        if not state.startswith("reads ")
    }
    return {
        thing.name: float(stated.get(thing.name, thing.normally))
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


@dataclass(slots=True)
class _Run:
    """A run under way. `seen` are the states since all was done, to find what repeats."""

    stage: Stage
    threads: list[_Thread]
    seen: dict[tuple[object, ...], int] = field(default_factory=dict)

    def trace(self, ends: float | None) -> Trace:
        """Everything up to the end."""
        unrest = ""
        try:
            self._begin()
            while (time := self._next_time()) is not None and (ends is None or time <= ends):
                self._go_to(time)
                unrest = self._repeats() if ends is None else ""
                if unrest:
                    break
        except Unsettled as fault:
            unrest = fault.message
        if ends is not None and not unrest:
            self.stage.pass_to(ends)
        frames = self.stage.frames
        return Trace(
            frames=tuple(frames),
            ends=self.stage.time if ends is None else ends,
            waiting=tuple(t.waits.text for t in self.threads if isinstance(t.waits, When)),
            unrest=unrest,
        )

    def _begin(self) -> None:
        for thread in self.threads:
            thread.go_on()
        self._let_threads_go_on()

    def _next_time(self) -> float | None:
        timed = [t.waits.time for t in self.threads if isinstance(t.waits, Until)]
        own = self.stage.next_time()
        return min([*timed, *([] if own is None else [own])], default=None)

    def _go_to(self, time: float) -> None:
        """What comes next happens: what comes by itself before what a thread waits for."""
        own = self.stage.next_time()
        if own is not None and own <= time:
            self.stage.next_event()
        else:
            self.stage.pass_to(time)
        self._let_threads_go_on()

    def _let_threads_go_on(self) -> None:
        """Every thread that need not wait any longer goes on, until all must wait."""
        while (ready := self._ready()) is not None:
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

    # -- what never settles -----------------------------------------------------------------

    def _repeats(self) -> str:
        """What repeats without end once nothing but the aeroplane itself moves; empty if nothing.

        The state with what is under way in it, and how long each takes yet, comes again.
        """
        stage = self.stage
        if stage.ramps or any(isinstance(t.waits, Until) for t in self.threads):
            return ""
        mark = _mark(stage.moment)
        first = self.seen.setdefault(mark, len(stage.frames) - 1)
        if first == len(stage.frames) - 1 and len(stage.frames) < MOST_FRAMES:
            return ""
        round_ = stage.frames[first + 1 :]
        told = dict.fromkeys(frame.event.text for frame in round_ if frame.event)
        seconds = stage.time - stage.frames[first].time
        return f"it does not come to rest: every {seconds:g} s, {', '.join(list(told)[:8])}"


def _mark(moment: Moment) -> tuple[object, ...]:
    under_way = sorted(
        (name, pending.value, round(pending.due - moment.time, 6))
        for name, pending in moment.under_way.items()
    )
    numbers = tuple(round(number, 6) for number in moment.numbers.values())
    beyond = sorted((name, round(part, 6)) for name, part in moment.beyond.items())
    return tuple(moment.state.values()), tuple(under_way), numbers, tuple(beyond)
