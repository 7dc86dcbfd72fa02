"""The naive simulator of scenarios: time passes in small steps, and all is looked at after each.

No event is worked out ahead. After every step it looks what has come due, lets that happen, one
thing after the other, and lets every thread of the scenario go on that need not wait. Times are
exact fractions of a second; a step is the shorter where something would fall within it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from tellback.book.conditions import Condition
from tellback.book.model import Control, Procedure, Reading, Step, Surface
from tellback.book.procedures import moves_of
from tellback.book.scenario import Happening, Setting
from tests.oracle.frame import OK as INTACT
from tests.oracle.frame import Frame, State, Value, failure_of, places, region_with
from tests.oracle.meaning import target_of
from tests.oracle.steps import acting, is_impossible, may_move, moving_row
from tests.oracle.timed import Moment, exact, half_gap, happens, spot_later
from tests.oracle.values import holds

MADE, ALREADY, BARRED = "made", "already so", "barred"
SO, NOT_SO, UNMET, IMPOSSIBLE = "so", "not so", "unmet", "impossible"


STEP = Fraction(1, 2)


class Contradicted(Exception):
    """What the book states impossible has come about."""


class Endless(Exception):
    """What happens at one time never ends."""


@dataclass(frozen=True)
class Record:
    """Something that happened: what, how it came out, and the steady state after it."""

    time: Fraction
    what: tuple[str, ...]
    outcome: str
    state: State
    outside: tuple[tuple[str, Fraction], ...]


@dataclass
class Thread:
    """A thread of steps, and what it waits for: a time, or a condition; over if for neither."""

    steps: Iterator[Fraction | Condition]
    until: Fraction | None = None
    when: Condition | None = None

    def go_on(self) -> None:
        """To the next wait."""
        waits = next(self.steps, None)
        self.until = waits if isinstance(waits, Fraction) else None
        self.when = None if isinstance(waits, Fraction) else waits


class Simulator:
    """An aeroplane with a scenario, and the records of what has happened so far.

    `delayed` is how long each running delay has run, `ramps` the goal and the rate of each reading
    on its way, `held` until when each control is held: None for no set time.
    """

    def __init__(
        self,
        frame: Frame,
        moment: Moment,
        outside: Mapping[str, Fraction],
        happenings: Sequence[Happening],
    ) -> None:
        self.frame = frame
        self.moment = replace(moment, time=Fraction(0))
        self.outside = dict(outside)
        self.ramps: dict[str, tuple[Fraction, Fraction]] = {}
        self.held: dict[str, Fraction | None] = {}
        self.records: list[Record] = []
        self.threads = [Thread(self.played(thread)) for thread in threads_of(happenings)]

    @property
    def now(self) -> Fraction:
        return self.moment.time

    @property
    def state(self) -> State:
        return self.moment.state

    def so(self, condition: Condition) -> bool:
        return holds(self.frame, self.state, condition)

    def run(self, ends: Fraction) -> None:
        """Everything up to that time."""
        for thread in self.threads:
            thread.go_on()
        self.instant()
        while self.now < ends:
            self.pass_time(min(STEP, ends - self.now, *self.spans()))
            self.instant()

    # -- a step in time ---------------------------------------------------------------------

    def pass_time(self, time: Fraction) -> None:
        """A little time passes, and nothing happens; what moves is a little further."""
        numbers = dict(self.moment.numbers)
        for name, (goal, rate) in self.moving().items():
            numbers[name] = toward(numbers[name], goal, rate * time)
        for name, (goal, rate) in self.ramps.items():
            self.outside[name] = toward(self.outside[name], goal, rate * time)
        spots = tuple(
            (name, spot_later(self.frame, self.state, name, spot, time))
            for name, spot in self.moment.spots
        )
        delays = tuple((item, left - time) for item, left in self.moment.delays)
        self.moment = replace(
            self.moment,
            time=self.now + time,
            delays=delays,
            spots=spots,
            numbers=tuple(numbers.items()),
        )

    def spans(self) -> Iterator[Fraction]:
        """The time to whatever may be worth a look: too many do no harm."""
        items = self.frame.named(self.state)
        found = [left for _, left in self.moment.delays]
        found += [until - self.now for until in self.set_times()]
        for name, (goal, rate) in (self.moving() | self.ramps).items():
            here = region_with(self.frame, name, float(items[name]))
            marks = exact(here.low), exact(here.high), goal
            found += [abs(mark - self.number(name)) / rate for mark in marks]
        for name, spot in self.moment.spots:
            if acting(self.frame, self.state, self.surface(name)) is not None:
                half = half_gap(self.frame, self.state, self.surface(name))
                around = (self.place(name) + way for way in (-1, 0, 1))
                found += [abs(place - spot) * half for place in around]
        return (span for span in found if span > 0)

    def set_times(self) -> list[Fraction]:
        """When threads go on that wait for a time, and what is held is let go."""
        times = [*(thread.until for thread in self.threads), *self.held.values()]
        return [time for time in times if time is not None]

    def surface(self, name: str) -> Surface:
        surface = self.frame.things[name]
        assert isinstance(surface, Surface)
        return surface

    def number(self, name: str) -> Fraction:
        """Where a reading truly is."""
        return self.outside[name] if name in self.outside else dict(self.moment.numbers)[name]

    def moving(self) -> dict[str, tuple[Fraction, Fraction]]:
        """The goal and the rate of each reading that moves by itself."""
        found = {}
        for reading in self.frame.of(Reading):
            row = moving_row(self.frame, self.state, reading)
            if row is not None:
                moves = reading.moves[row]
                found[reading.name] = exact(moves.value), exact(moves.rate)
        return found

    # -- an instant -------------------------------------------------------------------------

    def instant(self) -> None:
        """All that happens now, one after the other: what comes by itself before timed steps."""
        for _ in range(200):
            due = self.first_due()
            thread = self.first_ready(due)
            if thread is not None:
                thread.go_on()
            elif due is not None:
                self.comes(*due)
            else:
                return
        raise Endless

    def first_ready(self, due: tuple[str, str] | None) -> Thread | None:
        for thread in self.threads:
            if thread.when is not None and self.so(thread.when):
                return thread
            if thread.until is not None and thread.until <= self.now and due is None:
                return thread
        return None

    def first_due(self) -> tuple[str, str] | None:
        """What comes by itself now: its kind and the item."""
        for item, left in self.moment.delays:
            if left <= 0:
                return "elapses", item
        for name, spot in self.moment.spots:
            place = self.place(name)
            if abs(spot - place) >= 1 and self.heading(name) * (spot - place) > 0:
                return "arrives", name
        for name, (goal, _) in [*self.moving().items(), *self.ramps.items()]:
            if self.next_region(name, goal) is not None:
                return "passes", name
        for name, (goal, _) in self.ramps.items():
            if self.outside[name] == goal:
                return "is there", name
        for name, until in self.held.items():
            if until is not None and until <= self.now:
                return "returns", name
        return None

    def comes(self, kind: str, name: str) -> None:
        """It happens."""
        match kind:
            case "elapses":
                self.change({name: "yes"})
                self.record((kind, name))
            case "arrives":
                order = places(self.surface(name))
                self.change({name: order[self.place(name) + self.heading(name)]})
                self.record((kind, name))
            case "passes":
                goal = (self.moving() | self.ramps)[name][0]
                edge, number = self.next_region(name, goal) or (Fraction(0), 0)
                self.change({name: number})
                self.record((kind, name, str(edge)))
            case "is there":
                del self.ramps[name]
            case "returns":
                del self.held[name]
                self.let_go(name)

    def let_go(self, name: str) -> None:
        control = self.frame.things[name]
        assert isinstance(control, Control)
        back = dict(control.springs).get(str(self.frame.named(self.state)[name]))
        if back is not None and may_move(self.frame, self.state, name, back):
            self.change({name: back})
            self.record(("returns", name))

    def place(self, name: str) -> int:
        return places(self.surface(name)).index(str(self.frame.named(self.state)[name]))

    def heading(self, name: str) -> int:
        """Which way a surface is sent from its place: 1, -1, or 0."""
        surface = self.surface(name)
        number = acting(self.frame, self.state, surface)
        if number is None:
            return 0
        target = target_of(surface.drives[number], self.frame.named(self.state))
        way = places(surface).index(target) - self.place(name)
        return (way > 0) - (way < 0)

    def next_region(self, name: str, goal: Fraction) -> tuple[Fraction, float] | None:
        """The edge at which a reading stands on its way, and the region behind it."""
        regions = self.frame.regions[name]
        items = self.frame.named(self.state)
        here = regions.index(region_with(self.frame, name, float(items[name])))
        wanted = regions.index(region_with(self.frame, name, float(goal)))
        if here == wanted:
            return None
        edge = exact(regions[here].high if wanted > here else regions[here].low)
        beyond = here + (1 if wanted > here else -1)
        reached = self.number(name) >= edge if wanted > here else self.number(name) <= edge
        return (edge, regions[beyond].number) if reached else None

    def change(self, changes: dict[str, Value]) -> None:
        self.moment = happens(self.frame, self.moment, changes)

    def record(self, what: tuple[str, ...], outcome: str = MADE) -> None:
        """A reading that passes both sides of a number at once has passed it once."""
        last = self.records[-1] if self.records else None
        again = last and (last.what, last.time, last.outcome) == (what, self.now, MADE)
        if again and what[0] == "passes":
            self.records.pop()
        entered = is_impossible(self.frame, self.state)
        outside = tuple(self.outside.items())
        self.records.append(
            Record(self.now, what, IMPOSSIBLE if entered else outcome, self.state, outside)
        )
        if entered:
            raise Contradicted

    # -- steps of the scenario --------------------------------------------------------------

    def played(self, thread: Sequence[tuple[str, Happening]]) -> Iterator[Fraction | Condition]:
        """Plays a thread; gives what it waits for."""
        for number, happening in thread:
            if happening.at is not None:
                yield exact(happening.at)
            if happening.when is not None:
                yield happening.when.condition
            if happening.later:
                yield self.now + exact(happening.later)
            yield from self.made(number, happening)

    def made(self, number: str, happening: Happening) -> Iterator[Fraction | Condition]:
        condition = happening.statement.condition
        match happening.kind:
            case "do":
                self.do(number, condition, exact(happening.held))
            case "set":
                self.set(happening.settings)
                self.record(("step", number))
            case "expect":
                self.record(("step", number), SO if self.so(condition) else UNMET)
            case "carry out":
                self.record(("step", number))
                procedure = next(
                    p for p in self.frame.book.procedures if p.name == happening.procedure
                )
                yield from self.carried_out(number, procedure, exact(happening.pace))
            case _:
                self.record(("step", number))

    def do(self, number: str, condition: Condition, held: Fraction | None) -> None:
        """Controls are moved; those that spring back are held so long, None: till let go."""
        items = self.frame.named(self.state)
        wanted = dict(moves_of(condition))
        moved = {name: position for name, position in wanted.items() if items[name] != position}
        if not moved:
            return self.record(("step", number), ALREADY)
        if not all(may_move(self.frame, self.state, *move) for move in moved.items()):
            return self.record(("step", number), BARRED)
        self.change(dict(wanted))
        for name, position in wanted.items():
            self.held.pop(name, None)
            control = self.frame.things[name]
            assert isinstance(control, Control)
            if position in dict(control.springs):
                self.held[name] = None if held is None else self.now + held
        return self.record(("step", number))

    def set(self, settings: Sequence[Setting]) -> None:
        changes: dict[str, Value] = {}
        for setting in settings:
            name, state = setting.thing, setting.state
            match setting.how:
                case "fails":
                    changes[failure_of(name)] = state
                case "works":
                    changes[failure_of(name)] = INTACT
                case "goes":
                    self.send(setting)
                case _ if isinstance(self.frame.things[name], Reading):
                    self.ramps.pop(name, None)
                    self.outside[name] = exact(state)
                    changes[name] = region_with(self.frame, name, float(state)).number
                case _:
                    changes[name] = state
        self.change(changes)

    def send(self, setting: Setting) -> None:
        """A reading goes to a number, at a rate or in a time."""
        goal = exact(setting.state)
        way = abs(goal - self.outside[setting.thing])
        self.ramps.pop(setting.thing, None)
        if way:
            rate = exact(setting.rate) if setting.rate else way / exact(setting.seconds)
            self.ramps[setting.thing] = goal, rate

    # -- steps of a procedure ---------------------------------------------------------------

    def carried_out(
        self, number: str, procedure: Procedure, pace: Fraction
    ) -> Iterator[Fraction | Condition]:
        """Step after step: a do or a check takes its time before it is made."""
        work = [(f"{number}.{i}", step) for i, step in enumerate(procedure.steps, 1)]
        while work:
            own, step = work.pop(0)
            wait_follows = bool(work) and work[0][1].kind == "wait"
            condition = step.statement.condition
            match step.kind:
                case "do":
                    yield self.now + pace
                    self.do(own, condition, None if wait_follows else pace)
                case "check":
                    yield self.now + pace
                    self.record(("step", own), SO if self.so(condition) else NOT_SO)
                case "wait":
                    yield self.now + exact(step.seconds) if step.seconds else condition
                    self.record(("step", own))
                    if not wait_follows:
                        self.held = {n: self.now if u is None else u for n, u in self.held.items()}
                case "if":
                    yes = self.so(condition)
                    self.record(("step", own), SO if yes else NOT_SO)
                    work = [*branch(own, step, yes), *work]
                case _:
                    self.record(("step", own))


def branch(number: str, step: Step, yes: bool) -> list[tuple[str, Step]]:
    """The steps that follow an `if`, with their numbers."""
    both = [(f"{number}.{i}", s) for i, s in enumerate((*step.then, *step.otherwise), 1)]
    return both[: len(step.then)] if yes else both[len(step.then) :]


def threads_of(happenings: Sequence[Happening]) -> list[list[tuple[str, Happening]]]:
    """The steps with their numbers; each with `at` begins a thread."""
    threads: list[list[tuple[str, Happening]]] = [[]]
    for number, happening in enumerate(happenings, 1):
        if happening.at is not None:
            threads.append([])
        threads[-1].append((str(number), happening))
    return threads


def toward(number: Fraction, goal: Fraction, far: Fraction) -> Fraction:
    """So far from the number toward the goal, and no further."""
    way = goal - number
    return goal if abs(way) <= far else number + (far if way > 0 else -far)
