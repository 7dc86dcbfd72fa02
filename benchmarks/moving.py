"""Scenarios in time: on the S94, and those of a small book beside the same by hand for simpy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib.util import find_spec
from random import Random
from statistics import median
from typing import Any

from benchmarks.measures import Row, percentile, seconds, timed
from tellback.book.begin import TEMPLATE
from tellback.book.conditions import ALWAYS, State
from tellback.book.model import Book, Control, Effectivity, Situation, Statement
from tellback.book.reader import read
from tellback.book.scenario import Happening, Scenario, Setting
from tellback.diagnostics import Place
from tellback.logic.picture import Picture, picture_of, starting_states
from tellback.motion.runner import run_of

MINUTES = 10
MOVES = 140
"""They make some 200 events of it."""
NOWHERE = Place("benchmark", 1, 1)
FAILING = ("left generator", "right generator", "battery")
CONTROLS = ("left engine master", "right engine master")


def rows(book: Book) -> Iterator[Row]:
    """A state change, a long scenario, all scenarios of the book, and the comparison."""
    picture = picture_of(book)
    scenario = _of_controls(picture)
    run_of(picture, scenario, scenario.happenings)
    took, trace = min((timed(lambda: run_of(picture, scenario, scenario.happenings))
                       for _ in range(5)), key=lambda one: one[0])  # fmt: skip
    frames = len(trace.frames)
    yield Row(
        "a state change of the S94 in a scenario",
        seconds(took / frames),
        "1 ms",
        f"mean of {frames}",
    )
    yield Row(f"{MINUTES}-minute scenario of the S94 with {MOVES} moves", seconds(took), "0.2 s",
              f"{frames} events in all")  # fmt: skip
    yield from _of_the_book(book)
    yield from _beside_simpy()


def _of_the_book(book: Book) -> Iterator[Row]:
    import tellback

    times = [timed(lambda name=s.name: tellback.run(book, name))[0] for s in book.scenarios]
    again = [timed(lambda name=s.name: tellback.run(book, name))[0] for s in book.scenarios]
    took = f"{seconds(median(again))}; longest {seconds(percentile(again, 1))}"
    note = f"{len(again)} scenarios; the first time {seconds(median(times))}"
    yield Row("`run` of each scenario of the S94: median", took, note=note)


def _of_controls(picture: Picture) -> Scenario:
    """The cruise, with controls and situations moved by chance, one every three seconds."""
    chance = Random(1)
    things = [t for t in picture.book.things if isinstance(t, Control | Situation)]
    steps = []
    for number in range(MOVES):
        thing = chance.choice(things)
        at = float(MINUTES * 60 * number / MOVES)
        if isinstance(thing, Control):
            steps.append(_move(thing.name, chance.choice(thing.positions), at))
        else:
            steps.append(_set(thing.name, "is", chance.choice(("yes", "no")), at))
    return _scenario("cruise", steps)


def _scenario(start: str, steps: Sequence[Happening]) -> Scenario:
    return Scenario(
        "benchmark", start, (), tuple(steps), (), MINUTES * 60.0, "", (), Effectivity(), "", NOWHERE
    )


def _move(name: str, position: str, at: float) -> Happening:
    statement = Statement(State(name, f"at {position}"), "", NOWHERE, "do")
    return Happening("do", statement, at=at, held=1.0)


def _set(name: str, how: str, state: str, at: float) -> Happening:
    statement = Statement(ALWAYS, "", NOWHERE, "set")
    return Happening("set", statement, at=at, settings=(Setting(name, how, state),))


# -- beside a library for discrete events -----------------------------------------------------

Move = tuple[float, str, str]


def _beside_simpy() -> Iterator[Row]:
    """The book that `new` writes, against its logic written by hand as simpy processes."""
    book, _ = read(TEMPLATE)
    assert book is not None
    picture, moves = picture_of(book), list(_moves())
    start = starting_states(picture.book)[0].name
    steps = [_move(n, s, at) if n in CONTROLS else _set(n, _how(s), s, at) for at, n, s in moves]
    scenario = _scenario(start, steps)
    run_of(picture, scenario, scenario.happenings)
    ours, trace = timed(lambda: run_of(picture, scenario, scenario.happenings))
    told = [
        (
            frame.time,
            *(bool(picture.aeroplane.holds(formula, frame.moment.state)) for formula in asked),
        )
        for asked in [[picture.formula(State(n, "live")) for n in ("left bus", "right bus")]]
        for frame in trace.frames[1:]
    ]
    if find_spec("simpy") is None:
        theirs, note = "not installed", ""
    else:
        took, by_hand = timed(lambda: _by_hand(moves))
        if _changes(by_hand) != _changes(told):
            raise SystemExit("the runs of the small book and by hand differ")
        theirs, note = seconds(took), f"× {took / ours:.2f} of {seconds(ours)}; the buses alike"
    what = f"{MOVES} moves of the small book, written by hand for `simpy`, against its scenario"
    yield Row(what, theirs, note=note)


def _how(state: str) -> str:
    return "works" if state == "works" else "fails"


def _moves() -> Iterator[Move]:
    """Engine masters and failures by chance, one every three seconds."""
    chance = Random(2)
    for number in range(MOVES):
        name = chance.choice((*CONTROLS, *FAILING))
        state = chance.choice(("ON", "OFF") if name in CONTROLS else ("stops", "works"))
        yield MINUTES * 60 * number / MOVES, name, state


def _changes(told: Sequence[tuple[float, bool, bool]]) -> list[tuple[float, bool, bool]]:
    """Each state of the buses that differs from the one before."""
    found: list[tuple[float, bool, bool]] = []
    for time, left, right in told:
        if not found or found[-1][1:] != (left, right):
            found.append((time, left, right))
    return found


def _by_hand(moves: Sequence[Move]) -> list[tuple[float, bool, bool]]:
    """What a programmer would write: a process that moves, and the logic as assignments."""
    import simpy

    environment: Any = simpy.Environment()
    at = dict.fromkeys(CONTROLS, "ON")
    stopped = dict.fromkeys(FAILING, False)
    told = []

    def logic() -> tuple[bool, bool]:
        left = at["left engine master"] == "ON" and not stopped["left generator"]
        right = at["right engine master"] == "ON" and not stopped["right generator"]
        tie = left != right
        return left or (tie and right), right or (tie and left)

    def moving() -> Iterator[Any]:
        for time, name, state in moves:
            yield environment.timeout(time - environment.now)
            if name in at:
                at[name] = state
            else:
                stopped[name] = state == "stops"
            told.append((environment.now, *logic()))

    environment.process(moving())
    environment.run()
    return told
