"""The ways that a book states, read naively: when each is met, and when it does bring X about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book import conditions as c
from tellback.book.model import Indication, Latch, Means, Statement, Supply, Surface, Thing, Unit
from tests.oracle.frame import OK, Frame, Owner, cancelled, failure_of
from tests.oracle.meaning import (
    Test,
    acts,
    condition_test,
    denial,
    every,
    item_is,
    some,
    statements_test,
)
from tests.oracle.values import delivers


@dataclass(frozen=True)
class Stated:
    """The stated ways to X as tests, when X happens, and the states in which the ways are judged.

    `sound` is that X itself has not failed, `needs` what it needs as well.
    """

    ways: tuple[Test, ...]
    happens: Test
    judged: Test
    sound: Test
    needs: Test
    names: tuple[str, ...] = ()


def stated_ways(frame: Frame, condition: c.Condition) -> Stated | None:
    """The ways to what the book names; None for any other condition."""
    match condition:
        case c.State(name, state):
            return _of_state(frame, condition, frame.things[name], state)
        case c.Not(c.State(name, "set")):
            latch = frame.things[name]
            assert isinstance(latch, Latch)
            return _of_latch(frame, latch, latch.clears, latch.sets if latch.set_wins else ())
    return None


def _of_state(frame: Frame, condition: c.Condition, thing: Thing, state: str) -> Stated | None:
    owner, happens = Owner(thing.name), condition_test(frame, condition)
    sound = item_is(failure_of(thing.name), OK) if thing.fails else every([])
    match thing:
        case Unit() if state == "running":
            needs = statements_test(frame, every, thing.needs, owner)
            kept = every([needs, denial(statements_test(frame, some, thing.shed, owner))])
            return Stated(_called(frame, thing.ways, owner, kept), happens, every([]), sound, kept)
        case Means():
            ways = _called(frame, thing.ways, owner)
            return Stated(ways, happens, every([]), sound, every([]))
        case Indication() if state == "shown":
            needs = statements_test(frame, every, thing.needs, owner)
            off = [statements_test(frame, some, thing.inhibits, owner)]
            off += [item_is(cancelled(thing.name), "yes")] if thing.resets else []
            ways = _called(frame, thing.ways, owner, needs)
            return Stated(ways, happens, denial(some(off)), sound, needs)
        case Supply() if state in ("live", f"at {thing.levels[-1]}"):
            level = 1 if state == "live" else len(thing.levels) - 1
            kept = denial(statements_test(frame, some, thing.shed, owner))
            rows = [
                every([delivers(frame, thing, number, level), kept])
                for number, feed in enumerate(thing.feeds)
                if thing.levels.index(feed.level) >= level
            ]
            return Stated(tuple(rows), happens, every([]), sound, kept)
        case Latch() if state == "set":
            return _of_latch(frame, thing, thing.sets, () if thing.set_wins else thing.clears)
        case Surface() if state.startswith("at "):
            return _of_place(frame, thing, state.removeprefix("at "), sound)
    return None


def _called(
    frame: Frame, ways: Sequence[Statement], owner: Owner, needs: Test | None = None
) -> tuple[Test, ...]:
    """The ways that call for it; without any it is called for whenever its needs are met.

    A means that is the one way, and has no name, stands for its own ways.
    """
    while len(ways) == 1 and not ways[0].name and isinstance(ways[0].condition, c.State):
        means = frame.things[ways[0].condition.thing]
        if not isinstance(means, Means):
            break
        ways, owner = means.ways, Owner(means.name)
    called = [condition_test(frame, way.condition, owner) for way in ways] or [every([])]
    return tuple(every([way, needs or every([])]) for way in called)


def _of_latch(
    frame: Frame, latch: Latch, ways: Sequence[Statement], against: Sequence[Statement]
) -> Stated:
    """What changes a latch, unless the change to the other side wins."""
    owner = Owner(latch.name)
    beaten = statements_test(frame, some, tuple(against), owner)
    tests = tuple(
        every([condition_test(frame, way.condition, owner), denial(beaten)]) for way in ways
    )
    return Stated(tests, some(list(tests)), every([]), every([]), every([]))


def _of_place(frame: Frame, surface: Surface, point: str, sound: Test) -> Stated:
    """The drives that send a surface to a point."""
    tests, names = [], []
    for number, drive in enumerate(surface.drives):
        if drive.to == point:
            tests.append(acts(frame, surface, number))
            names.append(drive.name)
        elif drive.to_control and point in frame.things[drive.to_control].positions:  # type: ignore[attr-defined]
            there = item_is(drive.to_control, point)
            tests.append(every([acts(frame, surface, number), there]))
            names.append(drive.name)
    return Stated(tuple(tests), some(tests), every([]), sound, every([]), tuple(names))
