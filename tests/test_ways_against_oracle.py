"""The ways as they are told, held against every possible state of small drawn books.

What the book states and what else there is are together exactly X; a way that is said to be covered
is so, and one that is said never to come about is met in no possible state.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings

import tellback as tb
from tellback.book import conditions as c
from tellback.book.grammar import parse_condition
from tellback.book.model import Indication, Latch, Means, Supply, Surface, Unit
from tellback.logic.answers.few_lines import CAN_BE, IN_PASSING, NEVER, Way
from tellback.logic.answers.ways import Ways
from tellback.logic.items import ORDERED
from tellback.logic.said import ALL, EITHER, NEITHER, Said
from tellback.logic.words import literal_text
from tests.oracle.frame import OK, Owner, State, failure_of
from tests.oracle.items import level_of
from tests.oracle.meaning import Test, condition_test
from tests.oracle.stated import Stated, stated_ways
from tests.oracle.values import passes
from tests.small_books import book_of
from tests.strategies import BookText, books
from tests.test_answers_against_oracle import drawn
from tests.twins import Twins, twins_of

quickly = settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))


@quickly
@given(drawn)
def test_stated_ways_and_what_else_are_together_exactly_what_is_asked(text: BookText) -> None:
    twins = twins_of(text)
    for condition in named(twins):
        assert_true(twins, condition)
        assert_exact(twins, c.Not(condition))


@quickly
@given(books(memories=True))
def test_ways_to_what_the_book_does_not_name_are_exactly_it(text: BookText) -> None:
    twins = twins_of(text)
    for condition in twins.questions:
        assert_exact(twins, c.Not(condition))
    if len(twins.questions) > 1:
        assert_exact(twins, c.All(twins.questions[:2]))
        assert_exact(twins, c.Any(twins.questions[:2]))


def named(twins: Twins) -> Iterator[c.Condition]:
    """What the book says when it is so."""
    for thing in twins.book.things:
        match thing:
            case Unit():
                yield c.State(thing.name, "running")
            case Means():
                yield c.State(thing.name, "yes")
            case Indication():
                yield c.State(thing.name, "shown")
            case Supply():
                yield c.State(thing.name, "live")
                yield c.State(thing.name, f"at {thing.levels[-1]}")
            case Latch():
                yield c.State(thing.name, "set")
                yield c.Not(c.State(thing.name, "set"))
            case Surface():
                yield from (c.State(thing.name, f"at {point}") for point in thing.points)


def assert_true(twins: Twins, condition: c.Condition) -> None:
    """All that is told of the stated ways, and of what else there is."""
    question = twins.picture.phrase(condition)
    answer = tb.ways(twins.book, question)
    naive = stated_ways(twins.frame, condition)
    assert naive is not None
    assert answer.named
    if answer.beginning:
        return
    assert answer.proved or not answer.decided, question
    states = [s for s in twins.possible.states if passes(twins.frame, s, naive.judged)]
    by_the_book = list(zip(told(answer), told_tests(twins, answer, naive, condition), strict=True))
    for state in states:
        assert_so(twins, state, answer, naive, question)
    for number, (way, test) in enumerate(by_the_book, 1):
        if way is not None:
            assert_judged(twins, states, answer, way, test, question)
            assert number not in way.covered_by
            assert_said_as_stated(twins, condition, way, test)


def told(answer: Ways) -> list[Way | None]:
    """The stated ways; none is told where X is so whenever its needs are met."""
    return list(answer.ways) if answer.ways else [None] * int(answer.always)


def told_tests(twins: Twins, answer: Ways, naive: Stated, condition: c.Condition) -> list[Test]:
    """The tests of the ways that are told: a drive that never goes to the point is no way there."""
    thing = twins.frame.things[next(iter(c.things(condition)))]
    if not isinstance(thing, Surface):
        return list(naive.ways)
    names = [way.name for way in answer.ways]
    left_out = [i for i, name in enumerate(naive.names) if name not in names]
    for state in twins.possible.states:
        assert not any(passes(twins.frame, state, naive.ways[i]) for i in left_out)
    return [test for i, test in enumerate(naive.ways) if i not in left_out]


def assert_so(twins: Twins, state: State, answer: Ways, naive: Stated, question: str) -> None:
    """A way that is met is enough; and where X is so, one is met or something else there is."""
    met = any(passes(twins.frame, state, test) for test in naive.ways)
    so = passes(twins.frame, state, naive.happens)
    sound = passes(twins.frame, state, naive.sound)
    if met and (sound or not answer.not_failed):
        assert so, (question, twins.frame.named(state))
    needs = passes(twins.frame, state, naive.needs)
    besides = [way for way in answer.what_else if way.bare or needs]
    besides = [way for way in besides if is_met(twins, state, way.said)]
    if so:
        assert met or besides, (question, twins.frame.named(state))
    for way in besides:
        assert so or not is_sound(twins, state, way), (question, way.said, state)


def assert_judged(
    twins: Twins, states: list[State], answer: Ways, way: Way, test: Test, question: str
) -> None:
    """Whether the way can be, and what covers it."""
    condition = understood(twins, question)
    naive = stated_ways(twins.frame, condition)
    assert naive is not None
    met = [s for s in states if passes(twins.frame, s, test)]
    met = [s for s in met if passes(twins.frame, s, naive.happens)]
    if way.status == CAN_BE:
        assert met, (question, way.text)
    if way.status in (NEVER, IN_PASSING):
        assert not met, (question, way.text)
    tests = told_tests(twins, answer, naive, condition)
    covering = [tests[number - 1] for number in way.covered_by]
    if covering:
        assert all(any(passes(twins.frame, s, one) for one in covering) for s in met)


def assert_said_as_stated(twins: Twins, condition: c.Condition, way: Way, test: Test) -> None:
    """What is told of a way is what the book states, in every possible state."""
    name = next(iter(c.things(condition)))
    thing = twins.frame.things[name]
    if isinstance(thing, Supply | Surface):
        return
    stated, _ = parse_condition(way.text, twins.picture.names)
    assert stated is not None
    for state in twins.possible.states:
        owner = Owner(name)
        expected = passes(twins.frame, state, condition_test(twins.frame, stated, owner))
        assert is_met(twins, state, way.said, owner) == expected, way.text


def assert_exact(twins: Twins, condition: c.Condition) -> None:
    """One of the lines is met wherever it is so, and, with nothing failed, nowhere else."""
    question = twins.picture.phrase(condition)
    answer = tb.ways(twins.book, question)
    if answer.named or answer.ends:
        return
    test = condition_test(twins.frame, understood(twins, question))
    owner = Owner(next(iter(c.things(condition)))) if answer.denied else None
    for state in twins.possible.states:
        so = passes(twins.frame, state, test)
        met = [way for way in answer.ways if is_met(twins, state, way.said, owner)]
        if so:
            assert answer.always or met, (question, twins.frame.named(state))
        for way in met:
            assert so or not is_sound(twins, state, way), (question, str(way.said))
        if answer.always and not answer.not_failed:
            assert so


def understood(twins: Twins, question: str) -> c.Condition:
    found, _ = parse_condition(question, twins.picture.names)
    assert found is not None
    return found


# -- what is told, read back -----------------------------------------------------------------------


def is_met(twins: Twins, state: State, said: Said, owner: Owner | None = None) -> bool:
    """Whether what is told is so in a state of the oracle."""
    parts = (is_met(twins, state, part, owner) for part in said.parts)
    match said.joint:
        case "":
            return is_so(twins, state, said.text, owner)
        case str(joint) if joint == ALL:
            return all(parts)
        case str(joint) if joint == EITHER:
            return any(parts)
        case str(joint) if joint == NEITHER:
            return not any(parts)
    return sum(parts) >= int(said.joint.removeprefix("at least "))


def is_so(twins: Twins, state: State, text: str, owner: Owner | None) -> bool:
    literals = literals_of(twins)
    text, _, _ = text.partition(" (by ")  # what sets a memory is told beside it
    condition, _ = parse_condition(text, twins.picture.names)
    if text in literals and (owner is None or condition is None):
        return literals[text](state)
    assert condition is not None, text
    owner = owner or Owner("")
    return passes(twins.frame, state, condition_test(twins.frame, condition, owner))


def literals_of(twins: Twins) -> dict[str, Callable[[State], bool]]:
    """Every literal by its text, with whether it is so in a state of the oracle."""
    if "literals" not in twins.frame.cache:
        twins.frame.cache["literals"] = dict(_literals(twins))
    found: dict[str, Callable[[State], bool]] = twins.frame.cache["literals"]
    return found


def _literals(twins: Twins) -> Iterator[tuple[str, Callable[[State], bool]]]:
    system = twins.picture.system
    for name, variable in system.variables.items():
        if variable.kind != "last":
            for values in _sets(len(variable.values), variable.kind in ORDERED):
                text = literal_text(system, name, values)
                yield text, lambda s, n=name, v=values: twins.state(s)[n] in v
    for thing in twins.book.things:
        if isinstance(thing, Supply):
            for values in _sets(len(thing.levels), in_a_row=True):
                words = [thing.levels[i] for i in values]
                text = literal_text(system, thing.name, values)
                yield text, lambda s, n=thing.name, w=words: level_of(twins.frame, s, n) in w


def _sets(size: int, in_a_row: bool) -> Iterator[tuple[int, ...]]:
    for count in range(1, size):
        for values in combinations(range(size), count):
            if not in_a_row or values[-1] - values[0] == count - 1:
                yield values


def is_sound(twins: Twins, state: State, way: Way) -> bool:
    """Whether one of the sets of things that are taken as not failed has not failed."""
    items = twins.frame.named(state)
    return any(all(items[failure_of(thing)] == OK for thing in sound) for sound in way.not_failed)


# -- what is said of single books ------------------------------------------------------------------

A_REDUNDANT_SOURCE = """
controls: {switch: {positions: [OFF, ARM, ON]}}
units:
  main pump: {runs when: switch at ON, fails: [stops]}
  standby pump:
    runs when: switch at ARM or ON and circuit otherwise lost
    fails: [stops]
supplies: {circuit: {fed by: [main pump, standby pump]}}
"""

WHAT_STICKS = """
controls: {switch: {positions: [OFF, ON]}, button: {positions: [OUT, IN]}}
situations: {cold: {}, wet: {}}
units:
  valve: {kind: valve, needs: [cold], runs when: switch at ON, fails: [stuck open, stuck closed]}
  pump: {needs: [valve open], shed when: wet, fails: [stops, keeps running]}
supplies:
  line: {levels: [lost, low, full], fed by: [{from: pump, delivers: low}, pump through valve]}
indications:
  LOW:
    shown when any of: {low: line at low, wet: wet and cold, test: wet}
    inhibited when: button at IN and switch at OFF
    reset when: button at IN
    needs: [cold or wet]
    fails: [shown, not shown]
"""

WHAT_REMEMBERS = """
controls: {lever: {positions: [UP, MID, DOWN]}, switch: {positions: [OFF, ON]}}
situations: {cold: {}, wet: {}}
latches:
  memory:
    set when any of: {lever: lever at DOWN, cold: cold and wet, both: lever at DOWN and cold}
    cleared when: switch at ON
  proud: {set when: lever at UP, cleared when: lever at UP or wet, set wins: yes}
surfaces:
  flap:
    points: [UP, MID, DOWN]
    drives:
      relief: {to: UP, when: cold, needs: [switch at ON]}
      motor: {to: lever, when: memory set, takes: 4 s}
      slow: {to: DOWN, when: wet, only toward: DOWN, takes: 8 s}
"""


@pytest.mark.parametrize("chapter", [A_REDUNDANT_SOURCE, WHAT_STICKS, WHAT_REMEMBERS])
def test_a_single_book(chapter: str) -> None:
    twins = Twins(book_of(chapter), ())
    for condition in named(twins):
        assert_true(twins, condition)
        assert_exact(twins, c.Not(condition))
