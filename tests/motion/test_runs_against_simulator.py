"""A scenario runs as the naive simulator has it, on drawn books, and alike each time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tellback.book.conditions import ALWAYS, State
from tellback.book.model import Control, Effectivity, Reading, Situation, Statement
from tellback.book.scenario import Happening, Scenario, Setting
from tellback.diagnostics import Place
from tellback.motion.runner import run_of
from tellback.motion.trace import Trace
from tests.oracle.frame import State as Items
from tests.oracle.simulator import Simulator, Step
from tests.oracle.steps import NeverSteady
from tests.oracle.timed import exact, normal_items, starting_moments, stated_items
from tests.strategies import BookText
from tests.test_answers_against_oracle import drawn, quickly
from tests.twins import Twins, twins_of

ENDS = 60
NOWHERE = Place("drawn", 1, 1)


@st.composite
def steps_for(draw: st.DrawFn, twins: Twins) -> list[Step]:
    """Up to six steps at whole or half seconds, in order of time."""
    times = sorted(draw(st.lists(st.integers(0, 60), min_size=1, max_size=6)))
    return [draw(step_at(twins, Fraction(time, 2))) for time in times]


@st.composite
def step_at(draw: st.DrawFn, twins: Twins, at: Fraction) -> Step:
    """Something put otherwise at a time."""
    things = [
        thing
        for thing in twins.book.things
        if thing.fails
        or isinstance(thing, Control | Situation)
        or (isinstance(thing, Reading) and thing.is_outside)
    ]
    thing = draw(st.sampled_from(things))
    if thing.fails and draw(st.booleans()):
        mode = draw(st.sampled_from([*thing.fails, ""]))
        return Step(at, "fails" if mode else "works", thing.name, mode)
    if isinstance(thing, Control):
        return Step(at, "moves", thing.name, draw(st.sampled_from(thing.positions)))
    if isinstance(thing, Situation):
        return Step(at, "is", thing.name, draw(st.sampled_from(["no", "yes"])))
    if isinstance(thing, Reading) and thing.is_outside:
        number = draw(st.sampled_from(numbers_of(twins, thing)))
        seconds = draw(st.sampled_from([0, 2, 5, 16]))
        how = "goes" if seconds else "is"
        return Step(at, how, thing.name, number, Fraction(seconds))
    return Step(at, "works", thing.name)


def numbers_of(twins: Twins, reading: Reading) -> list[float]:
    """Numbers in each interval of a reading, and those between them."""
    regions = twins.frame.regions[reading.name]
    edges = [region.high for region in regions[:-1]]
    return sorted({*(region.number for region in regions), *edges})


def scenario_of(start: str, steps: Sequence[Step]) -> Scenario:
    """The same steps as the program has them."""
    return Scenario(
        name="drawn",
        start=start,
        changes=(),
        happenings=tuple(map(happening, steps)),
        expectations=(),
        ends=float(ENDS),
        source="",
        whys=(),
        applies=Effectivity(),
        note="",
        place=NOWHERE,
    )


def happening(step: Step) -> Happening:
    """A step as the program has it."""
    if step.how == "moves":
        moved = State(step.thing, f"at {step.value}")
        statement = Statement(moved, f"{step.thing} at {step.value}", NOWHERE, "do")
        return Happening("do", statement, at=float(step.at), held=1.0)
    value = f"{step.value:g}" if isinstance(step.value, float | int) else step.value
    setting = Setting(step.thing, step.how, value, float(step.seconds))
    return Happening(
        "set", Statement(ALWAYS, "", NOWHERE, "set"), at=float(step.at), settings=(setting,)
    )


def simulated(twins: Twins, start: str, steps: Sequence[Step]) -> list[tuple[float, Items]]:
    """The states of the naive simulator by time; None at the end if it does not come to rest."""
    frame = twins.frame
    stated: dict[str, float] = {}
    normal_items(frame, stated)
    for state in twins.book.starts:
        if state.name == start:
            stated_items(frame, state, stated)
    numbers = {
        reading.name: exact(stated.get(reading.name, reading.normally))
        for reading in frame.of(Reading)
        if reading.is_outside
    }
    moment = starting_moments(frame)[start]
    found = []
    for time, items in Simulator(frame, moment, numbers).run(steps, Fraction(ENDS)):
        found.append((round(float(time), 6), items))
    return found


def by_time(states: Iterable[tuple[float, Any]]) -> list[tuple[float, Any]]:
    """What is so from each time on, where that differs from what was so before."""
    found: list[tuple[float, Any]] = []
    for time, state in dict(states).items():
        if not found or found[-1][1] != state:
            found.append((time, state))
    return found


@quickly
@given(drawn, st.data())
def test_a_scenario_runs_as_in_the_naive_simulator(text: BookText, data: st.DataObject) -> None:
    twins = twins_of(text)
    start = data.draw(st.sampled_from(sorted(starting_moments(twins.frame))))
    steps = data.draw(steps_for(twins))
    scenario = scenario_of(start, steps)
    trace = run_of(twins.picture, scenario, scenario.happenings)
    try:
        expected = [(t, twins.state(items)) for t, items in simulated(twins, start, steps)]
    except NeverSteady:
        assert trace.unrest
        return
    assert not trace.unrest
    assert by_time(states_of(trace)) == by_time(expected)


def states_of(trace: Trace) -> list[tuple[float, Any]]:
    """The states of a run by time."""
    return [(round(frame.time, 6), dict(frame.moment.state)) for frame in trace.frames]


@quickly
@given(drawn, st.data())
def test_a_scenario_runs_alike_each_time_and_in_order(text: BookText, data: st.DataObject) -> None:
    twins = twins_of(text)
    start = data.draw(st.sampled_from(sorted(starting_moments(twins.frame))))
    scenario = scenario_of(start, data.draw(steps_for(twins)))
    one = run_of(twins.picture, scenario, scenario.happenings)
    other = run_of(twins.picture, scenario, scenario.happenings)
    assert one == other
    times = [frame.time for frame in one.frames]
    assert times == sorted(times)
    assert one.ends == ENDS or one.unrest
