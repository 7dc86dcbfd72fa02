"""To the root, combinations that are too many are told up to so many terms, and no further."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import tellback as tb
from tellback.book import conditions as c
from tellback.book.reader import read
from tellback.logic.answers import few_terms
from tellback.logic.answers.shortest import Shortest
from tellback.logic.items import Item
from tests.oracle import answers as naive
from tests.oracle.frame import State
from tests.oracle.reach import number_of_failures
from tests.oracle.values import holds
from tests.small_books import book_of
from tests.strategies import BookText, books
from tests.test_answers_against_oracle import failed, met
from tests.twins import Twins, twins_of

drawn = st.one_of(books(), books(memories=True), books(circles="positive"))


@pytest.fixture
def _too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    """However few there are, they are taken for too many."""
    monkeypatch.setattr(few_terms, "MOST_SOUND", -1)


@pytest.mark.usefixtures("_too_many")
@settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[*HealthCheck, HealthCheck.function_scoped_fixture],
)
@given(drawn)
def test_each_is_enough_and_with_up_to_one_failure_none_is_missing(text: BookText) -> None:
    twins = twins_of(text)
    for condition in twins.questions:
        if isinstance(condition, c.State) and condition.state in ("running", "shown"):
            answer = tb.shortest(twins.book, twins.picture.phrase(condition), to_root=True)
            assert answer.extent is not None
            for state in states_with_few_failures(twins, condition):
                assert_told_as_it_is(twins, condition, answer, state)


def states_with_few_failures(twins: Twins, condition: c.Condition) -> Iterator[State]:
    """The possible states with at most one failure in which nothing inhibits what is asked for."""
    for state in naive.uninhibited(twins.frame, condition, twins.possible).states:
        if number_of_failures(twins.frame, state) <= 1:
            yield state


def assert_told_as_it_is(
    twins: Twins, condition: c.Condition, answer: Shortest, state: State
) -> None:
    needs, owner = naive.needs_of(twins.frame, condition)
    needed = all(holds(twins.frame, state, need, owner) for _, need in needs)
    so = holds(twins.frame, state, condition)
    told = [(one, items) for one in answer.combinations for items in (one.items, *likewise(one))]
    here = [(one, items) for one, items in told if met(twins, state, items)]
    for one, items in here:
        if (needed or one.bare) and only_named_failed(twins, state, items):
            assert so, (condition, state)
    if so:
        assert here, (condition, state)


def likewise(one: tb.Combination) -> Iterator[tuple[Item, ...]]:
    for other in one.likewise:
        yield other.items


def only_named_failed(twins: Twins, state: State, items: tuple[Item, ...]) -> bool:
    """Whether nothing has failed that the items do not ask to have."""
    named = {item.thing for item in items if item.kind == "failure"}
    things = (thing.name for thing in twins.book.things if thing.fails)
    return not any(failed(twins, state, thing) for thing in things if thing not in named)


SEVERAL = """
controls:
  switch: {positions: [OFF, ON]}
  crossfeed: {positions: [OFF, ON]}
situations: {cold: {}, dark: {}, wet: {}}
units:
  pump: {runs when: switch at ON, fails: [stops, keeps running]}
  relay: {kind: relay, runs when: crossfeed at ON and cold and dark, fails: [stuck closed]}
means:
  fed: {when any of: {by hand: switch at ON, by relay: relay closed, by all: cold and wet}}
"""


def test_how_far_they_are_told_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(few_terms, "MOST_SOUND", 1)
    monkeypatch.setattr(few_terms, "MOST_ALL", 1)
    monkeypatch.setattr(few_terms, "MOST_OF_A_KIND", 2)
    answer = tb.shortest(book_of(SEVERAL), "fed", to_root=True)
    assert answer.extent == few_terms.Extent(terms=2, count=3, failed_terms=7)
    assert str(answer).splitlines() == [
        "fed by any of 3 combinations, and by longer ones:",
        "  1. switch at ON  [by hand]",
        "  2. cold and wet  [by all]",
        "  3. relay sticks closed  [by relay]",
        "  While nothing has failed, 3 combinations are enough; told are all of at most 2 terms.",
        "  Of those by one failure alone, told are all of at most 7 terms.",
        "  Nothing else behind it may have failed. With something given (--given) more is told.",
        "  Each is enough and can come about. Not decided: whether less would do.",
    ]


def test_that_none_by_failure_was_found_in_time_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(few_terms, "MOST_SOUND", 1)
    monkeypatch.setattr(few_terms, "FAILURE_SECONDS", 0)
    answer = tb.shortest(book_of(SEVERAL), "fed", to_root=True)
    assert answer.extent == few_terms.Extent(terms=None, count=3, failed_terms=None)
    assert str(answer).splitlines()[4:6] == [
        "  Told are all that are enough while nothing has failed.",
        "  Those by a failure took too long to find; none is told.",
    ]


def test_needs_that_are_told_once_are_not_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of three terms with the needs some are left out, so that all of one term alone are told."""
    monkeypatch.setattr(few_terms, "MOST_SOUND", 0)
    monkeypatch.setattr(few_terms, "MOST_ALL", 0)
    monkeypatch.setattr(few_terms, "MOST_OF_A_KIND", 1)
    book = book_of("""
controls: {switch: {positions: [OFF, ON]}, master: {positions: [OFF, ON]}}
situations: {cold: {}, dark: {}, wet: {}}
supplies: {bus: {fed by: [{from: battery, when: master at ON}]}}
units:
  battery: {kind: battery}
  pump: {needs: [bus], runs when: switch at ON or (cold and dark) or (cold and wet)}
""")
    answer = tb.shortest(book, "pump running", to_root=True)
    assert answer.extent == few_terms.Extent(terms=1, count=3, failed_terms=6)
    assert [[str(i) for i in one.items] for one in answer.combinations] == [["switch at ON"]]


def test_of_a_whole_aeroplane_what_hangs_on_most_is_answered() -> None:
    """It was neither answered nor refused in minutes, or refused."""
    book = read(Path(__file__).parents[2] / "books" / "s94")[0]
    assert book is not None
    for name in ("yaw damper", "second pressure controller"):
        answer = tb.shortest(book, f"{name} running", to_root=True)
        assert answer.extent is not None
        assert answer.extent.terms
        assert answer.count > 20
