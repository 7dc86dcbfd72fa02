"""What a change of inputs does, run in time: what is seen of every thing, and what ends a thing."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, product

from tellback.book import conditions as c
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
from tests.oracle.answers import minimal_sets
from tests.oracle.frame import OK, Frame, State, Value, failure_of, region_with
from tests.oracle.items import level_of
from tests.oracle.meaning import number_read, row_first
from tests.oracle.steps import may_move
from tests.oracle.timed import Moment, end_of, happens, history
from tests.oracle.values import fed_from, holds, passes

Inputs = frozenset[tuple[str, Value]]
Change = tuple[Fraction, str, Value, Value]
"""After how many seconds, which thing, and what is seen of it before and then."""


def seen(frame: Frame, state: State, thing: Thing) -> Value:
    """What is seen of a thing; of a reading the number that it indicates."""
    items = frame.named(state)
    match thing:
        case Control() | Surface() | Latch():
            return items[thing.name]
        case Reading():
            return indicated(frame, state, thing)
        case Means():
            return "yes" if holds(frame, state, c.State(thing.name, "yes")) else "no"
        case Unit():
            is_on = holds(frame, state, c.State(thing.name, "running"))
            return running_words(thing.form)[0 if is_on else 1]
        case Supply():
            return level_of(frame, state, thing.name)
        case Indication():
            is_on = holds(frame, state, c.State(thing.name, "shown"))
            return "shown" if is_on else "not shown"
    raise TypeError(thing)


def indicated(frame: Frame, state: State, reading: Reading) -> float:
    """The number a reading shows: exactly if it follows rows, else one for all of its region."""
    items = frame.named(state)
    mode = str(items[failure_of(reading.name)]) if reading.fails else OK
    if reading.follows:
        return followed(frame, state, reading) if mode == OK else number_read(mode)
    true = float(items[reading.name])
    return region_with(frame, reading.name, true if mode == OK else number_read(mode)).number


def followed(frame: Frame, state: State, reading: Reading) -> float:
    """The value of the first row that applies; the low end if none does."""
    for number, row in enumerate(reading.follows):
        if passes(frame, state, row_first(frame, reading.name, reading.follows, number)):
            return row.value
    return reading.low


def changes(frame: Frame, before: Moment, changed: dict[str, Value]) -> list[Change]:
    """All that is seen to change when these inputs do, in order of time and then of the book.

    Situations are not seen. A supply that stays live and is fed from another source then is told
    with its sources.
    """
    told: list[Change] = []
    last = before
    for moment in history(frame, happens(frame, before, changed)):
        for thing in frame.book.things:
            if not isinstance(thing, Situation):
                was = seen(frame, last.state, thing)
                now = seen(frame, moment.state, thing)
                if was != now:
                    told.append((moment.time - before.time, thing.name, was, now))
        sources = fed_from(frame, last.state)
        for name, source in fed_from(frame, moment.state).items():
            if source != sources.get(name, source):
                told.append((moment.time - before.time, name, sources[name], source))
        last = moment
    return told


def other_inputs(frame: Frame, state: State, order: int) -> Iterator[Inputs]:
    """Up to `order` inputs, each with another value; small sets first."""
    items = frame.named(state)
    for size in range(order + 1):
        for names in combinations(frame.inputs, size):
            for chosen in product(*(frame.items[name] for name in names)):
                if all(items[n] != value for n, value in zip(names, chosen, strict=True)):
                    yield frozenset(zip(names, chosen, strict=True))


def may_happen(frame: Frame, moment: Moment, changed: Inputs) -> bool:
    """No lock forbids any of the changes, and what follows comes to no impossible state."""
    if not all(may_move(frame, moment.state, item, value) for item, value in changed):
        return False
    return end_of(frame, happens(frame, moment, dict(changed))) is not None


def outcomes(frame: Frame, moment: Moment, order: int) -> dict[Inputs, list[Moment]]:
    """For each set of changes that may be made at once the moments that follow."""
    return {
        changed: history(frame, happens(frame, moment, dict(changed)))
        for changed in other_inputs(frame, moment.state, order)
        if may_happen(frame, moment, changed)
    }


def stops(
    frame: Frame, condition: c.Condition, runs: dict[Inputs, list[Moment]]
) -> dict[Inputs, Fraction]:
    """The minimal sets of changes after which, settled, the condition is not so; and from when."""

    def ends(changed: Inputs) -> bool:
        return not holds(frame, runs[changed][-1].state, condition)

    return {changed: ended(frame, condition, runs[changed]) for changed in minimal_sets(runs, ends)}


def ended(frame: Frame, condition: c.Condition, run: list[Moment]) -> Fraction:
    """After how long the condition is not so and stays so to the end of the run."""
    end = run[-1]
    for moment in reversed(run):
        if holds(frame, moment.state, condition):
            break
        end = moment
    return end.time - run[0].time
