"""The naive runner in time: starting states, and what a state settles to.

A moment is a steady state with its clocks. Times are exact fractions of a second. Of events at
the same time delays come first, then surfaces, then readings, each in the order of the book, one
at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from tellback.book.model import Control, Reading, StartingState, Surface
from tests.oracle.frame import (
    OK,
    Frame,
    State,
    Value,
    failure_of,
    places,
    region_with,
)
from tests.oracle.meaning import target_of
from tests.oracle.steps import (
    Event,
    NeverSteady,
    acting,
    due,
    is_impossible,
    moving_row,
    next_places,
    next_regions,
    running_delays,
    steps,
)
from tests.oracle.values import holds, values

MOST_EVENTS = 1000


class NeverSettles(Exception):
    """A state does not settle within the bound on events."""


class ImpossibleStart(Exception):
    """A starting state meets an `impossible` statement."""


@dataclass(frozen=True)
class Moment:
    """A steady state, what remains of each running delay, the numbers, and where surfaces are.

    `spots` are in half gaps from the first point of a surface: 0 is that point, 2 the second.
    """

    state: State
    delays: tuple[tuple[str, Fraction], ...]
    spots: tuple[tuple[str, Fraction], ...]
    numbers: tuple[tuple[str, Fraction], ...]
    time: Fraction = Fraction(0)


def exact(number: Value) -> Fraction:
    """The number as it is written."""
    return Fraction(str(number))


def moment_of(frame: Frame, state: State, numbers: dict[str, float] | None = None) -> Moment:
    """The steady state with every clock at its start; readings at `numbers` or mid region."""
    known = numbers or {}
    items = frame.named(state)
    at = {
        reading.name: exact(known.get(reading.name, items[reading.name]))
        for reading in frame.of(Reading)
        if reading.moves
    }
    spots = tuple((surface.name, place_number(items, surface)) for surface in frame.of(Surface))
    return wound(frame, Moment(state, (), spots, tuple(at.items())), [state])


def place_number(items: dict[str, Value], surface: Surface) -> Fraction:
    """Where in the order of travel the place stands at which the surface last was."""
    return Fraction(places(surface).index(str(items[surface.name])))


def wound(frame: Frame, moment: Moment, trail: list[State]) -> Moment:
    """The moment at the end of the trail, its clocks kept, started anew, or stopped."""
    state, delays = trail[-1], dict(moment.delays)
    unbroken = {
        item
        for item in running_delays(frame, state)
        if item in delays and all(part_holds(frame, passed, item) for passed in trail)
    }
    running = {
        item: delays[item] if item in unbroken else exact(frame.delays[item].seconds)
        for item in running_delays(frame, state)
    }
    spots = {name: spot_after(frame, trail, name, spot) for name, spot in moment.spots}
    return replace(moment, state=state, delays=tuple(running.items()), spots=tuple(spots.items()))


def spot_after(frame: Frame, trail: list[State], name: str, spot: Fraction) -> Fraction:
    """Where a surface is after the steps: on the place it came to, or where it was.

    One that moves at once is at its target wholly.
    """
    surface = frame.things[name]
    assert isinstance(surface, Surface)
    before, now = (frame.named(state) for state in (trail[0], trail[-1]))
    number = acting(frame, trail[-1], surface)
    at_once = number is not None and surface.drives[number].takes == 0
    return place_number(now, surface) if at_once or now[name] != before[name] else spot


def part_holds(frame: Frame, state: State, item: str) -> bool:
    """The condition of the delay holds in the state."""
    delay = frame.delays[item]
    return holds(frame, state, delay.part, delay.owner)


def half_gap(frame: Frame, state: State, surface: Surface) -> Fraction:
    """The time that the drive that acts takes from one place to the next."""
    number = acting(frame, state, surface)
    assert number is not None
    return exact(surface.drives[number].takes) / (len(places(surface)) - 1)


def arrival_times(frame: Frame, moment: Moment) -> dict[str, Fraction]:
    """For each moving surface the time to the place it comes to next."""
    result: dict[str, Fraction] = {}
    spots = dict(moment.spots)
    for name, place in next_places(frame, moment.state).items():
        surface = frame.things[name]
        assert isinstance(surface, Surface)
        way = abs(places(surface).index(place) - spots[name])
        result[name] = way * half_gap(frame, moment.state, surface)
    return result


def crossing_times(frame: Frame, moment: Moment) -> dict[str, Fraction]:
    """For each reading that will leave its region how long that takes."""
    result: dict[str, Fraction] = {}
    numbers, items = dict(moment.numbers), frame.named(moment.state)
    for name, number in next_regions(frame, moment.state).items():
        reading = frame.things[name]
        assert isinstance(reading, Reading)
        row = moving_row(frame, moment.state, reading)
        assert row is not None
        here = region_with(frame, name, float(items[name]))
        edge = here.high if number > here.number else here.low
        rate = exact(reading.moves[row].rate)
        result[name] = abs(exact(edge) - numbers[name]) / rate
    return result


def next_event(frame: Frame, moment: Moment) -> tuple[Fraction, Event] | None:
    """The event that comes first, and after how long."""
    waiting: list[tuple[Fraction, Event]] = []
    for item, left in moment.delays:
        waiting.append((left, Event("elapses", item, "yes")))
    next_ones = next_places(frame, moment.state)
    for name, left in arrival_times(frame, moment).items():
        waiting.append((left, Event("arrives at", name, next_ones[name])))
    regions = next_regions(frame, moment.state)
    for name, left in crossing_times(frame, moment).items():
        waiting.append((left, Event("enters", name, regions[name])))
    waiting.extend(homings(frame, moment))
    return min(waiting, key=lambda pair: pair[0], default=None)


def homings(frame: Frame, moment: Moment) -> Iterator[tuple[Fraction, Event]]:
    """What comes to rest where it is said to be already: after how long, and the event of that."""
    items, numbers, spots = frame.named(moment.state), dict(moment.numbers), dict(moment.spots)
    for surface in frame.of(Surface):
        place = places(surface)[int(place_number(items, surface))]
        number = acting(frame, moment.state, surface)
        away = abs(place_number(items, surface) - spots[surface.name])
        if number is not None and away and target_of(surface.drives[number], items) == place:
            half = half_gap(frame, moment.state, surface)
            yield away * half, Event("arrives at", surface.name, place)
    for reading in frame.of(Reading):
        row = moving_row(frame, moment.state, reading)
        compared = len(frame.regions[reading.name]) > 1
        if row is None or not compared or reading.name in next_regions(frame, moment.state):
            continue
        away = abs(exact(reading.moves[row].value) - numbers[reading.name])
        if away:
            rate = exact(reading.moves[row].rate)
            yield away / rate, Event("enters", reading.name, items[reading.name])


def passed(frame: Frame, moment: Moment, time: Fraction) -> Moment:
    """The moment so much later, nothing having happened."""
    numbers = dict(moment.numbers)
    for reading in frame.of(Reading):
        if (row := moving_row(frame, moment.state, reading)) is not None:
            way = exact(reading.moves[row].value) - numbers[reading.name]
            far = min(abs(way), exact(reading.moves[row].rate) * time)
            numbers[reading.name] += far if way > 0 else -far
    return replace(
        moment,
        delays=tuple((item, left - time) for item, left in moment.delays),
        spots=tuple((n, spot_later(frame, moment.state, n, s, time)) for n, s in moment.spots),
        numbers=tuple(numbers.items()),
        time=moment.time + time,
    )


def spot_later(frame: Frame, state: State, name: str, spot: Fraction, time: Fraction) -> Fraction:
    """Where a surface is so much later: nearer to its target, if a drive acts."""
    surface = frame.things[name]
    assert isinstance(surface, Surface)
    number = acting(frame, state, surface)
    if number is None:
        return spot
    target = places(surface).index(target_of(surface.drives[number], frame.named(state)))
    half = half_gap(frame, state, surface)
    way = abs(target - spot)
    far = way if half == 0 else min(way, time / half)
    return spot + far if target > spot else spot - far


def happens(frame: Frame, moment: Moment, changes: dict[str, Value]) -> Moment:
    """The moment after items changed, all at once, and the steps that follow."""
    trail = steps(frame, frame.with_items(moment.state, changes), moment.state)
    arrived = {
        name: place_number(changes, frame.things[name])
        for name in changes
        if isinstance(frame.things.get(name), Surface)
    }
    spots = tuple((name, arrived.get(name, spot)) for name, spot in moment.spots)
    return wound(frame, replace(moment, spots=spots), trail)


def settled(frame: Frame, moment: Moment) -> Moment:
    """Go from event to event until nothing is under way. Raises NeverSettles, NeverSteady."""
    return history(frame, moment)[-1]


def history(frame: Frame, moment: Moment) -> list[Moment]:
    """All moments from this one until nothing is under way. Raises NeverSettles, NeverSteady."""
    run = [moment]
    for _ in range(MOST_EVENTS):
        coming = next_event(frame, run[-1])
        if coming is None:
            return run
        time, event = coming
        run.append(happens(frame, passed(frame, run[-1], time), {event.item: event.value}))
    raise NeverSettles(f"{MOST_EVENTS} events without settling: {frame.named(run[-1].state)}")


def end_of(frame: Frame, moment: Moment) -> Moment | None:
    """The settled moment; None if the run comes to what is stated impossible on the way."""
    run = history(frame, moment)
    return None if any(is_impossible(frame, one.state) for one in run) else run[-1]


def starting_moments(frame: Frame) -> dict[str, Moment]:
    """The settled moment of each starting state; without any, of the one where all is normal.

    Raises NeverSettles, ImpossibleStart, Undecided.
    """
    if "starts" not in frame.cache:
        starts = frame.book.starts or (StartingState("normal", (), frame.book.things[0].place),)
        frame.cache["starts"] = {start.name: started(frame, start) for start in starts}
    found: dict[str, Moment] = frame.cache["starts"]
    return found


def started(frame: Frame, start: StartingState) -> Moment:
    """One starting state, settled."""
    numbers: dict[str, float] = {}
    given = dict(normal_items(frame, numbers))
    stated = dict(stated_items(frame, start, numbers))
    state = tuple((given | stated)[item] for item in frame.items)
    state = consistent(frame, state, stated)
    state = latched(frame, state)
    trail = steps(frame, state)
    moment = wound(frame, moment_of(frame, state, numbers), trail)
    moment = settled(frame, moment)
    values(frame, moment.state)  # none may be undecided
    if is_impossible(frame, moment.state):
        raise ImpossibleStart(start.name)
    return replace(moment, time=Fraction(0))


def normal_items(frame: Frame, numbers: dict[str, float]) -> dict[str, Value]:
    """Every item as it is when nothing is stated; `numbers` gets the moving readings."""
    result: dict[str, Value] = {}
    for item, domain in frame.items.items():
        thing = frame.things.get(item)
        if isinstance(thing, Reading):
            result[item] = region_with(frame, item, thing.normally).number
            numbers[item] = thing.normally
        elif isinstance(thing, Surface):
            result[item] = thing.starts_at
        elif hasattr(thing, "normally"):
            normally = thing.normally  # type: ignore[union-attr]
            result[item] = {True: "yes", False: "no"}.get(normally, normally)
        else:
            result[item] = domain[0]
    return result


def stated_items(frame: Frame, start: StartingState, numbers: dict[str, float]) -> dict[str, Value]:
    """What the starting state says: a position, yes or no, a number, a latch, or a failure."""
    result: dict[str, Value] = {}
    for name, text in start.settings:
        thing = frame.things[name]
        if text in thing.fails:
            result[failure_of(name)] = text
        elif isinstance(thing, Reading):
            numbers[name] = float(text.split()[0])
            result[name] = region_with(frame, name, numbers[name]).number
        else:
            result[name] = text
    return result


def consistent(frame: Frame, state: State, stated: dict[str, Value]) -> State:
    """Delays elapsed where their condition holds and surfaces where the acting drive sends them.

    Each depends on the other through the values: both are put right together, again and again,
    until nothing changes. Raises NeverSteady if that never ends.
    """
    seen = [state]
    while True:
        changes: dict[str, Value] = {
            item: "yes" if part_holds(frame, state, item) else "no" for item in frame.delays
        }
        items = frame.named(state)
        for surface in frame.of(Surface):
            number = acting(frame, state, surface)
            if number is not None and surface.name not in stated:
                changes[surface.name] = target_of(surface.drives[number], items)
        after = frame.with_items(state, changes)
        if after == state:
            return state
        if after in seen:
            raise NeverSteady(seen[seen.index(after) :])
        seen.append(after)
        state = after


def failures(state: dict[str, Value]) -> dict[str, Value]:
    """The failures there are in a state."""
    start = failure_of("")
    return {item: mode for item, mode in state.items() if item.startswith(start) and mode != OK}


def latched(frame: Frame, state: State) -> State:
    """Go on, all due changes but the drops of controls together, until none is due."""
    controls = {control.name for control in frame.of(Control)}
    seen: list[State] = []
    while True:
        changes = {item: v for item, v in due(frame, state).items() if item not in controls}
        if not changes:
            return state
        seen.append(state)
        state = frame.with_items(state, changes)
        if state in seen:
            raise NeverSteady(seen[seen.index(state) :])
