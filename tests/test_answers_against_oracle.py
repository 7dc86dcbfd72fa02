"""Every answer equals that of the naive twin, which enumerates all states, on small drawn books."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tellback.book import conditions as c
from tellback.book.model import Indication, Supply, Surface, Unit
from tellback.logic import failures
from tellback.logic.answers.can import IMPOSSIBLE, POSSIBLE, can_be
from tellback.logic.answers.claims import FALSE, PROVED, Assertion, decide
from tellback.logic.answers.shortest import shortest
from tellback.logic.combinations import Asked
from tellback.logic.failures import Failures
from tellback.logic.formula import neg
from tellback.logic.free_controls import FreeControls
from tellback.logic.items import Item, View, apart_from
from tellback.logic.minimal import FailureSet
from tellback.logic.picture import understand
from tests.oracle import answers as naive
from tests.oracle.answers import all_ways, fits, losses
from tests.oracle.frame import NOBODY, Owner, State, failure_of
from tests.oracle.items import level_of, root_items, seen_items
from tests.oracle.reach import can
from tests.oracle.timed import happens, settled, starting_moments
from tests.oracle.values import holds
from tests.small_books import book_of
from tests.strategies import BookText, books
from tests.twins import Twins, twins_of

drawn = st.one_of(
    books(),
    books(circles="positive"),
    books(memories=True),
    books(memories=True, circles="positive"),
)
AMPLE = 100_000
"""The effort of search after which the possible states of a drawn book are known."""

quickly = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))


@quickly
@given(drawn)
def test_values_in_every_possible_state(text: BookText) -> None:
    assert_same_values(twins_of(text))


def assert_same_values(twins: Twins) -> None:
    for state in twins.possible.states:
        values = twins.picture.aeroplane.values(twins.state(state))
        for condition in shown_states(twins):
            mine = bool(values.of(twins.picture.formula(condition)))
            assert mine == holds(twins.frame, state, condition), condition


def shown_states(twins: Twins) -> list[c.Condition]:
    """What can be seen of every thing that follows from others."""
    found: list[c.Condition] = list(twins.questions)
    for thing in twins.book.things:
        match thing:
            case Unit():
                found += [c.State(thing.name, "running"), c.State(thing.name, "available")]
            case Supply():
                found += [c.State(thing.name, f"at {level}") for level in thing.levels]
            case Indication():
                found.append(c.State(thing.name, "shown"))
            case Surface():
                found.append(c.State(thing.name, "moving"))
    return found


@quickly
@given(drawn)
def test_possible_states(text: BookText) -> None:
    assert_same_states(twins_of(text))


def assert_same_states(twins: Twins) -> None:
    everything = list(twins.picture.system.variables)
    possible = twins.picture.possible(everything)
    assert possible.finish()
    expected = {tuple(sorted(twins.state(s).items())) for s in twins.possible.states}
    space = twins.picture.symbols.space
    assert space.count(possible.reached, everything) == len(expected)
    assert all(space.holds(possible.reached, dict(state)) for state in expected)
    assert all(space.holds(possible.bound, dict(state)) for state in expected)


A_SOURCE_BY_A_ROW = """
controls: {switch: {positions: [OFF, ON]}}
situations: {turning: {}, joined: {}}
units:
  main generator: {runs when: turning}
  stand-by generator: {runs when: switch at ON}
  tie: {kind: contactor, runs when: joined}
supplies:
  left bus: {fed by: [{from: stand-by generator, when: right bus otherwise lost}]}
  right bus: {fed by: [main generator, left bus through tie]}
"""
"""The condition of a row of a supply that feeds another one is that of a source of it."""

OF_ONE_LATCH_AND_OF_ANOTHER = """
controls: {switch: {positions: [OFF, ON]}}
situations: {turning: {}, joined: {}, reset: {}}
units: {main generator: {runs when: switch at ON}, stand-by generator: {runs when: turning}}
supplies:
  bus: {fed by: [main generator, {from: stand-by generator, through: [closing set or joined]}]}
latches:
  dark: {set when: bus otherwise lost comes on, cleared when: reset}
  closing: {set when: bus otherwise lost comes on, cleared when: reset}
"""
"""The second latch stands in the way of a row, so for it the bus is lost sooner."""


@pytest.mark.parametrize("chapter", [A_SOURCE_BY_A_ROW, OF_ONE_LATCH_AND_OF_ANOTHER])
def test_otherwise_lost_is_meant_for_the_row_of_whose_condition_it_is(chapter: str) -> None:
    twins = Twins(book_of(chapter), ())
    assert_same_values(twins)
    assert_same_states(twins)


@quickly
@given(drawn, st.booleans())
def test_ways(text: BookText, to_root: bool) -> None:
    assert_same_ways(twins_of(text), to_root)


SENT_ELSEWHERE = """
controls: {flap lever: {positions: [IN, OUT]}}
surfaces: {flap: {points: [IN, OUT], drives: {motor: {to: flap lever}}}}
units: {pump: {runs when: not flap moving, shed when: not flap at OUT}}
"""
"""Whether the flap moves depends on the lever, though no condition names it."""


@pytest.mark.parametrize("to_root", [False, True])
def test_ways_through_moving_speak_of_what_sends_the_surface(to_root: bool) -> None:
    assert_same_ways(Twins(book_of(SENT_ELSEWHERE), (c.State("pump", "running"),)), to_root)


def assert_same_ways(twins: Twins, to_root: bool) -> None:
    for condition in twins.questions:
        items = (
            root_items(twins.frame, condition, NOBODY)
            if to_root
            else seen_items(twins.frame, condition, condition, NOBODY)
        )
        expected = {
            frozenset(twins.cube(items, box).items())
            for box in all_ways(twins.frame, condition, twins.possible, items)
        }
        view = View(twins.picture, to_root, apart_from(condition))
        target = view.of(twins.picture.formula(condition))
        cubes = partial(view.cubes, target)
        found = view.combinations([target])
        asked = Asked(cubes, target, view.space.true)
        if found.are_shortest(asked):
            # not all that cannot be was excluded by then, and yet none of these is too long
            told = {frozenset(cube.items()) for cube in cubes(found.widest)}
            assert told <= expected, condition
        assert found.settle(asked, patience=AMPLE)
        mine = {frozenset(cube.items()) for cube in cubes(found.widest)}
        assert mine == expected, condition


@quickly
@given(drawn)
def test_ways_as_they_are_told(text: BookText) -> None:
    """What is needed is told once, and each way is as short as it can be where that is met."""
    twins = twins_of(text)
    for condition in twins.questions:
        if isinstance(condition, c.State) and condition.state in ("running", "shown"):
            answer = shortest(twins.book, twins.picture.phrase(condition))
            expected = naive.ways(twins.frame, condition, twins.possible)
            assert_same_needs(twins, condition, [need.text for need in answer.needs])
            assume(answer.exact)
            mine = [way for first in answer.combinations for way in (first, *first.likewise)]
            wanted = [told_by_oracle(twins, cube) for cube in expected.cubes]
            assert sorted(told(way.items) for way in mine) == sorted(wanted), condition


def assert_same_needs(twins: Twins, condition: c.Condition, told: Sequence[str]) -> None:
    """What is told of the needs is what they are, in every possible state."""
    needs, owner = naive.needs_of(twins.frame, condition)
    mine = [understand(twins.book, text) for text in told]
    for state in twins.possible.states:
        expected = [holds(twins.frame, state, need, owner) for _, need in needs]
        assert [holds(twins.frame, state, need, owner) for need in mine] == expected, told


@quickly
@given(drawn)
def test_ways_that_are_told_to_be_the_same_are_so_in_every_possible_state(text: BookText) -> None:
    twins = twins_of(text)
    for condition in twins.questions:
        assert_same_where_told_so(twins, condition)


def assert_same_where_told_so(twins: Twins, condition: c.Condition) -> int:
    """How many ways are told to be the same as others, each of them met with it or not at all."""
    answer = shortest(twins.book, twins.picture.phrase(condition))
    needs, owner = naive.needs_of(twins.frame, condition)
    if isinstance(condition, c.State) and isinstance(
        supply := twins.frame.things[condition.thing], Supply
    ):  # what sheds a supply is told once, as its needs are
        needs, owner = [*map(naive.denied, supply.shed)], Owner(supply.name)
    states = [
        state
        for state in naive.uninhibited(twins.frame, condition, twins.possible).states
        if all(holds(twins.frame, state, need, owner) for _, need in needs)
        and not any(failed(twins, state, thing) for thing in answer.not_failed)
    ]
    told_so = [way for way in answer.combinations if way.same_as]
    for way in told_so:
        for state in states:
            assert met(twins, state, way.items) == met(twins, state, way.same_as), condition
    return len(told_so)


def failed(twins: Twins, state: State, thing: str) -> bool:
    return twins.frame.named(state)[failure_of(thing)] != "ok"


def met(twins: Twins, state: State, items: Sequence[Item]) -> bool:
    """Whether all the items of a way are so in a state of the oracle."""
    return all(is_so(twins, state, item) for item in items)


def is_so(twins: Twins, state: State, item: Item) -> bool:
    named = twins.frame.named(state)
    match item.kind:
        case "reading" | "number":
            condition = understand(twins.book, f"true {item.thing} {item.states[0]}")
            return holds(twins.frame, state, condition)
        case "delay":
            variables = twins.picture.system.variables
            mine = [d for d in twins.frame.delays if variables[twins.names[d]].thing == item.thing]
            return {"yes": "elapsed", "no": "running"}[str(named[mine[0]])] in item.states
        case "supply":
            return level_of(twins.frame, state, item.thing) in item.states
        case "failure":
            return named[failure_of(item.thing)] in item.states
        case "cancelled":
            return named[f"{item.thing} cancelled"] in item.states
    return named[item.thing] in item.states


@pytest.mark.parametrize("line", ["cart", "[cart, spare]"])
def test_a_line_of_one_source_is_the_same_as_its_source(line: str) -> None:
    """With another source it is not."""
    book = book_of(
        "controls: {switch: {positions: [OFF, ON]}}\nsituations: {turning: {}, cold: {}}\n"
        "units: {cart: {runs when: switch at ON}, spare: {runs when: turning}}\n"
        f"supplies: {{line: {{fed by: {line}}}}}\n"
        "means: {warmed: {when: line live and cart running and cold}}\n"
    )
    twins = Twins(book, (c.State("warmed", "yes"),))
    assert assert_same_where_told_so(twins, twins.questions[0]) == (line == "cart")


def told(items: Sequence[Item]) -> list[tuple[str, list[str]]]:
    """A way as the oracle's items, and their states; a delay by its text."""
    names = {"failure": failure_of("{}"), "cancelled": "{} cancelled"}
    return sorted((names.get(i.kind, "{}").format(i.thing), list(i.states)) for i in items)


def told_by_oracle(twins: Twins, cube: naive.Cube) -> list[tuple[str, list[str]]]:
    """The same of a cube of the oracle."""
    states = {"yes": "elapsed", "no": "running"}
    variables = twins.picture.system.variables
    return sorted(
        (variables[twins.names[name]].thing, [states[word] for word in words])
        if name in twins.frame.delays
        else (name, list(words))
        for name, words in cube.items()
    )


@quickly
@given(drawn)
def test_a_change_runs_on_to_the_same_settled_state_in_the_same_time(text: BookText) -> None:
    twins = twins_of(text)
    runner = twins.picture.aeroplane
    for name, moment in starting_moments(twins.frame).items():
        start = twins.picture.starts[name]
        assert {n: start.state[n] for n in twins.state(moment.state)} == twins.state(moment.state)
        for item in twins.frame.inputs:
            for index, value in enumerate(twins.frame.items[item]):
                after = settled(twins.frame, happens(twins.frame, moment, {item: value}))
                mine = runner.settle(runner.put(start, {twins.names[item]: index}))
                expected = twins.state(after.state)
                assert {n: mine.state[n] for n in expected} == expected, (item, value)
                assert mine.time - start.time == pytest.approx(float(after.time - moment.time))


@quickly
@given(drawn)
def test_losses_from_every_starting_state(text: BookText) -> None:
    twins = twins_of(text)
    for name, moment in starting_moments(twins.frame).items():
        for condition in twins.questions:
            formula = twins.picture.formula(condition)
            found = Failures(twins.picture, twins.picture.starts[name], about=formula)
            mine = {in_words(twins, chosen) for chosen in found.ending(formula, 3).sets}
            assert mine == set(losses(twins.frame, condition, moment, 3)), condition


@quickly
@given(drawn, st.sampled_from(["all at once", "set by set", "without tries"]))
def test_losses_whatever_the_crew_selects(text: BookText, sought: str) -> None:
    """However they are sought, they are the same."""
    twins = twins_of(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(failures, "MOST_CHOSEN", 1000 if sought == "all at once" else 0)
        if sought == "without tries":
            patch.setattr(FreeControls, "_saved_by_near", lambda *_: {})
        assert_same_losses_whatever_is_selected(twins)


def assert_same_losses_whatever_is_selected(twins: Twins) -> None:
    for name, moment in starting_moments(twins.frame).items():
        for condition in twins.questions:
            formula = twins.picture.formula(condition)
            found = Failures(twins.picture, twins.picture.starts[name], True, about=formula)
            sought = found.ending(formula, 2)
            assert not sought.undecided
            mine = {in_words(twins, chosen) for chosen in sought.sets}
            assert mine == set(losses(twins.frame, condition, moment, 2, free=True)), condition


def in_words(twins: Twins, chosen: FailureSet) -> frozenset[tuple[str, str]]:
    """A set of failures as the oracle writes it."""
    variables = (twins.picture.system.variables[name] for name, _ in chosen)
    modes = (mode for _, mode in chosen)
    return frozenset((v.thing, v.values[m]) for v, m in zip(variables, modes, strict=True))


@quickly
@given(drawn)
def test_fits_to_the_caution(text: BookText) -> None:
    twins = twins_of(text)
    for name, moment in starting_moments(twins.frame).items():
        formula = twins.picture.formula(c.State("CAUTION", "shown"))
        found = Failures(twins.picture, twins.picture.starts[name], about=formula)
        mine = {in_words(twins, chosen) for chosen in found.ending(neg(formula), 2).sets}
        assert mine == set(fits(twins.frame, {"CAUTION": True}, moment, 2))


@quickly
@given(drawn)
def test_claims_and_what_can_be(text: BookText) -> None:
    twins = twins_of(text)
    for condition in twins.questions:
        expected = can(twins.frame, condition, twins.possible)
        found = can_be(twins.picture, condition)
        never = decide(twins.picture, Assertion("never", c.Not(condition)))
        if expected is None:
            assert (found.verdict, never.verdict) == (IMPOSSIBLE, PROVED), condition
        elif found.run is not None:
            assert (found.verdict, never.verdict) == (POSSIBLE, FALSE), condition
            if found.shortest:
                assert found.run.events == len(expected), condition
