"""What would explain what is seen equals what the naive twin finds by trying every set."""

from __future__ import annotations

from collections.abc import Iterator

from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.book import conditions as c
from tellback.logic.explanations import Explaining
from tests.oracle.changes import Inputs, may_happen
from tests.oracle.explained import explained
from tests.oracle.steps import moves
from tests.oracle.timed import happens, settled, starting_moments
from tests.oracle.values import holds
from tests.small_books import book_of
from tests.strategies import BookText
from tests.test_answers_against_oracle import drawn, quickly
from tests.twins import Twins, twins_of

several = settings(quickly, max_examples=20)


@several
@given(drawn, st.data())
def test_the_explanations_are_all_minimal_sets(text: BookText, data: st.DataObject) -> None:
    """Of failures, controls, facts and readings; after the last move, and failures before it."""
    twins = twins_of(text)
    start = data.draw(st.sampled_from(sorted(starting_moments(twins.frame))))
    condition = data.draw(st.sampled_from(twins.questions))
    for move in last_moves(twins, start):
        assert_same(twins, condition, start, move, order=1)
    move = data.draw(st.sampled_from(list(last_moves(twins, start))))
    sizes = assert_same(twins, condition, start, move, order=2)
    assert sizes == sorted(sizes)


STARTING = """
controls:
  start switch: {positions: [OFF, START], cannot go to START when: leaking}
situations: {leaking: {}}
units:
  starter: {fails: [stops]}
  spare starter: {fails: [stops]}
  engine: {fails: [stops], runs when: lit set}
latches:
  lit:
    set when: start switch at START and (starter running or spare starter running) for 2 s
    cleared when: start switch at OFF or leaking
"""


def test_what_a_move_comes_to_after_failures_is_not_what_failures_do_after_it() -> None:
    twins = Twins(book_of(STARTING), (c.State("engine", "running"),))
    early = 0
    for move in last_moves(twins, "normal"):
        assert_same(twins, twins.questions[0], "normal", move, order=2)
        early += bool(dict(move).get("start switch"))
    assert early == 1


@several
@given(drawn, st.data())
def test_the_remedies_are_all_minimal_sets_that_mend_it(
    text: BookText, data: st.DataObject
) -> None:
    """Controls, facts and readings, and what has failed working again, after every move."""
    twins = twins_of(text)
    frame, picture = twins.frame, twins.picture
    condition = data.draw(st.sampled_from(twins.questions))
    for start, first in starting_moments(frame).items():
        for move in last_moves(twins, start):
            now = settled(frame, happens(frame, first, dict(move)))
            asked = c.Not(condition) if holds(frame, now.state, condition) else condition
            put = picture.aeroplane.move(picture.starts[start], dict(in_variables(twins, move)))
            moment = picture.aeroplane.settle(put)
            seeking = Explaining(picture, moment, {}, moment, mending=True)
            found = seeking.of(picture.formula(asked), 1).sets
            expected = explained(frame, asked, now, frozenset(), now, 1, mending=True)
            mine = {frozenset(one.changes) for one in found}
            assert mine == {in_variables(twins, chosen) for chosen in expected}


def last_moves(twins: Twins, start: str) -> Iterator[Inputs]:
    """None, and every single one that may be made in the starting state."""
    first = starting_moments(twins.frame)[start]
    yield frozenset()
    for event in moves(twins.frame, first.state):
        move = frozenset({(event.item, event.value)})
        if may_happen(twins.frame, first, move):
            yield move


def assert_same(
    twins: Twins, condition: c.Condition, start: str, move: Inputs, order: int
) -> list[int]:
    """The program finds what the oracle does, the smallest first; the sizes of the sets."""
    frame, picture = twins.frame, twins.picture
    first = starting_moments(frame)[start]
    now = settled(frame, happens(frame, first, dict(move)))
    asked = c.Not(condition) if holds(frame, now.state, condition) else condition
    last_move = dict(in_variables(twins, move))
    begin = picture.starts[start]
    moment = picture.aeroplane.settle(picture.aeroplane.move(begin, last_move))
    explaining = Explaining(picture, begin, last_move, moment)
    found = explaining.of(picture.formula(asked), order)
    mine = {frozenset(one.changes): one.before for one in found.sets}
    expected = explained(frame, asked, first, move, now, order)
    assert mine == {in_variables(twins, chosen): early for chosen, early in expected.items()}
    by_itself = {frozenset(one.changes) for one in explaining.of(picture.formula(asked), None).sets}
    if single := {chosen for chosen in mine if len(chosen) == 1}:
        assert by_itself == single
    return [len(one.changes) for one in found.sets]


def in_variables(twins: Twins, chosen: Inputs) -> frozenset[tuple[str, int]]:
    """Changes of the oracle as the program writes them."""
    domains = twins.frame.items
    return frozenset((twins.names[item], domains[item].index(value)) for item, value in chosen)
