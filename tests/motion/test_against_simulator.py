"""Every run of a scenario is what the naive simulator sees happen, tick by tick."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from hypothesis import HealthCheck, assume, given, settings

from tellback.book.conditions import Condition
from tellback.book.model import Book, Reading
from tellback.book.procedures import statements_in
from tellback.book.scenario import Scenario
from tellback.book.scenarios import statements_in_scenario
from tellback.motion.runner import picture_for, run_of
from tellback.motion.trace import BARRED, IMPOSSIBLE, UNMET, Trace
from tests.motion.drawn_scenarios import ScenarioText, scenarios
from tests.oracle.frame import State, Value, failure_of, region_with
from tests.oracle.simulator import MADE, Contradicted, Endless, Record, Simulator
from tests.oracle.steps import NeverSteady, due, happenings
from tests.oracle.timed import (
    Moment,
    NeverSettles,
    end_of,
    exact,
    happens,
    starting_moments,
)
from tests.oracle.values import holds
from tests.small_books import book_of
from tests.test_answers_against_oracle import shown_states
from tests.twins import Twins

quickly = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))

OUTCOMES = {"": MADE, BARRED: "barred", IMPOSSIBLE: "impossible", UNMET: "unmet"}
"""How the simulator calls what came of an event; the rest has the same words in both."""

Seen = tuple[float, str, str, str, dict[str, int], dict[str, float]]


@dataclass
class Pair:
    """A drawn scenario as run by the program, and a simulator of it."""

    twins: Twins
    scenario: Scenario
    trace: Trace
    simulator: Simulator


def pair_of(text: ScenarioText) -> Pair:
    book = book_of(
        text.book.chapter,
        text.book.type_file,
        procedures=text.procedures,
        scenarios=text.scenarios,
    )
    (scenario,) = book.scenarios
    twins = Twins(book, tuple(conditions_in(book, scenario)))
    moment = begun(twins, scenario)
    twins.picture = picture_for(book, scenario, "")
    trace = run_of(twins.picture, scenario, scenario.happenings)
    outside = numbers_outside(book, scenario)
    simulator = Simulator(twins.frame, moment, outside, scenario.happenings)
    return Pair(twins, scenario, trace, simulator)


def conditions_in(book: Book, scenario: Scenario) -> Iterator[Condition]:
    yield from (statement.condition for statement in statements_in_scenario(scenario))
    carried_out = {happening.procedure for happening in scenario.happenings}
    for procedure in (p for p in book.procedures if p.name in carried_out):
        yield from (statement.condition for statement in statements_in(procedure))


def begun(twins: Twins, scenario: Scenario) -> Moment:
    """The settled moment in which the scenario begins."""
    frame = twins.frame
    try:
        moment = starting_moments(frame)[scenario.start]
        if not scenario.changes:
            return moment
        changes = {}
        for name, state in scenario.changes:
            thing = frame.things[name]
            if state in thing.fails:
                changes[failure_of(name)] = state
            elif isinstance(thing, Reading):
                changes[name] = region_with(frame, name, float(state)).number
            else:
                changes[name] = state
        end = end_of(frame, happens(frame, moment, changes))
        assume(end is not None)
        assert end is not None
        return end
    except (NeverSettles, NeverSteady):
        assume(False)
        raise


def numbers_outside(book: Book, scenario: Scenario) -> dict[str, Fraction]:
    stated = dict(scenario.changes)
    return {
        reading.name: exact(
            reading.normally
            if stated.get(reading.name, "reads").startswith("reads")
            else stated[reading.name]
        )
        for reading in book.things
        if isinstance(reading, Reading) and not reading.follows and not reading.moves
    }


@quickly
@given(scenarios())
def test_a_run_is_what_the_simulator_sees(text: ScenarioText) -> None:
    pair = pair_of(text)
    assert pair.scenario.ends is not None
    try:
        pair.simulator.run(exact(pair.scenario.ends))
        broken_off = False
    except (Contradicted, Endless, NeverSteady):
        broken_off = True
    assert bool(pair.trace.unrest) == broken_off
    mine = [seen(pair.twins, record) for record in pair.simulator.records]
    assert list(frames_of(pair.trace)) == mine


@quickly
@given(scenarios())
def test_a_run_made_again_is_the_same(text: ScenarioText) -> None:
    first, second = pair_of(text), pair_of(text)
    assert first.trace == second.trace
    again = run_of(first.twins.picture, first.scenario, first.scenario.happenings)
    assert again == first.trace


@quickly
@given(scenarios())
def test_frames_come_in_order_and_are_what_the_book_says_of_their_states(
    text: ScenarioText,
) -> None:
    pair = pair_of(text)
    twins, frame = pair.twins, pair.twins.frame
    times = [shown.time for shown in pair.trace.frames]
    assert times == sorted(times)
    assert times[-1] <= pair.trace.ends
    for shown in pair.trace.frames:
        state = state_of(twins, shown.moment.state)
        assert not due(frame, state)
        values = twins.picture.aeroplane.values(shown.moment.state)
        for condition in shown_states(twins):
            assert bool(values.of(twins.picture.formula(condition))) == holds(
                frame, state, condition
            )
        coming = {twins.names[event.item]: event.value for event in happenings(frame, state)}
        assert coming == {
            name: domain_of(twins, name)[pending.value]
            for name, pending in shown.moment.under_way.items()
            if pending.value != shown.moment.state[name]
        }
        assert all(pending.due >= shown.time for pending in shown.moment.under_way.values())


def state_of(twins: Twins, state: Mapping[str, int]) -> State:
    """A state of the program as one of the oracle."""
    return tuple(
        domain[state.get(twins.names[item], 0)] for item, domain in twins.frame.items.items()
    )


def domain_of(twins: Twins, name: str) -> tuple[Value, ...]:
    """The values that the oracle gives to a variable of the program."""
    return next(domain for item, domain in twins.frame.items.items() if twins.names[item] == name)


def frames_of(trace: Trace) -> Iterator[Seen]:
    for frame in trace.frames:
        if frame.event is not None:
            yield (
                round(frame.time, 6),
                frame.event.kind,
                frame.event.number,
                OUTCOMES.get(frame.event.outcome, frame.event.outcome),
                dict(frame.moment.state),
                {name: round(number, 6) for name, number in frame.outside.items()},
            )


def seen(twins: Twins, record: Record) -> Seen:
    kind, name = record.what[:2]
    return (
        round(float(record.time), 6),
        kind,
        name if kind == "step" else "",
        record.outcome,
        twins.state(record.state),
        {name: round(float(number), 6) for name, number in record.outside},
    )
