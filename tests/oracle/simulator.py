"""The naive simulator of scenarios: from one happening to the next, in exact fractions of a second.

It knows nothing of the runner. Of several things at one time what the aeroplane does by itself
comes first, then readings that are sent somewhere, in the order in which they were sent, then the
steps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from tests.oracle.frame import OK, Frame, State, Value, failure_of, region_with
from tests.oracle.steps import moves
from tests.oracle.timed import Moment, exact, happens, next_event, passed

MOST = 2000


@dataclass(frozen=True)
class Step:
    """At a time something is put otherwise: `how` is moves, is, goes, fails or works."""

    at: Fraction
    how: str
    thing: str
    value: Value = ""
    seconds: Fraction = Fraction(0)


@dataclass(frozen=True)
class Sent:
    """A reading on its way: from where and when, to where and when."""

    begin: Fraction
    since: Fraction
    goal: Fraction
    until: Fraction

    def at(self, time: Fraction) -> Fraction:
        """Where it is."""
        if time >= self.until:
            return self.goal
        return self.begin + (self.goal - self.begin) * (time - self.since) / (
            self.until - self.since
        )

    def reaches(self, number: Fraction) -> Fraction:
        """When it is there."""
        return self.since + (self.until - self.since) * (number - self.begin) / (
            self.goal - self.begin
        )


@dataclass
class Simulator:
    """An aeroplane played with: its moment, where the readings from outside are, what is sent."""

    frame: Frame
    moment: Moment
    numbers: dict[str, Fraction]

    def run(self, steps: Sequence[Step], ends: Fraction) -> Iterator[tuple[Fraction, State]]:
        """The state after everything that happens, with its time. Raises NeverSteady."""
        self.sent: dict[str, Sent] = {}
        waiting = sorted(steps, key=lambda step: step.at)
        yield self.moment.time, self.moment.state
        for _ in range(MOST):
            coming = list(self._coming(waiting))
            time, order, what = min(coming, key=lambda c: c[:2], default=(ends + 1, 0, ""))
            if time > ends:
                return
            self.moment = passed(self.frame, self.moment, time - self.moment.time)
            if order == 0:
                event = next_event(self.frame, self.moment)
                assert event is not None
                self._put({event[1].item: event[1].value})
            elif order == 1:
                self._cross(what)
            else:
                self._make(waiting.pop(0))
            yield time, self.moment.state
        raise AssertionError("too many happenings for a test")

    def _coming(self, waiting: Sequence[Step]) -> Iterator[tuple[Fraction, int, str]]:
        own = next_event(self.frame, self.moment)
        if own is not None:
            yield self.moment.time + own[0], 0, ""
        for name in self.sent:
            yield self._next_crossing(name)[0], 1, name
        if waiting:
            yield max(waiting[0].at, self.moment.time), 2, ""

    def _put(self, changes: dict[str, Value]) -> None:
        self.moment = happens(self.frame, self.moment, changes)

    # -- readings ---------------------------------------------------------------------------

    def _next_crossing(self, name: str) -> tuple[Fraction, float | None]:
        """When a reading that is sent next comes into another interval, and its number there."""
        sent, regions = self.sent[name], self.frame.regions[name]
        here = regions.index(region_with(self.frame, name, float(self._item(name))))
        there = regions.index(region_with(self.frame, name, float(sent.goal)))
        if here == there:
            return sent.until, None
        edge = regions[here].high if there > here else regions[here].low
        further = regions[here + (1 if there > here else -1)]
        return max(self.moment.time, sent.reaches(exact(edge))), further.number

    def _cross(self, name: str) -> None:
        _, number = self._next_crossing(name)
        if number is None:
            self.numbers[name] = self.sent.pop(name).goal
        else:
            self._put({name: number})

    def _item(self, name: str) -> float:
        return float(self.frame.named(self.moment.state)[name])

    # -- steps ------------------------------------------------------------------------------

    def _make(self, step: Step) -> None:
        name = step.thing
        match step.how:
            case "moves":
                wanted = {
                    (event.item, event.value) for event in moves(self.frame, self.moment.state)
                }
                if (name, step.value) in wanted:
                    self._put({name: step.value})
            case "fails":
                self._put({failure_of(name): step.value})
            case "works":
                self._put({failure_of(name): OK})
            case "goes":
                self._send(step)
            case "is" if name in self.numbers:
                self.sent.pop(name, None)
                self.numbers[name] = exact(step.value)
                number = region_with(self.frame, name, float(step.value)).number
                self._put({name: number})
            case "is":
                self._put({name: step.value})

    def _send(self, step: Step) -> None:
        time, name = self.moment.time, step.thing
        sent = self.sent.pop(name, None)
        begin = sent.at(time) if sent else self.numbers[name]
        self.numbers[name] = begin
        if begin != exact(step.value):
            self.sent[name] = Sent(begin, time, exact(step.value), time + step.seconds)
