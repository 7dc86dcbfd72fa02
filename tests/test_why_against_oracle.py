"""What is missing where X is not so equals what the naive twin enumerates."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.book.conditions import Condition, State
from tellback.book.model import Surface
from tellback.logic.answers.why import why
from tellback.logic.items import Item
from tests.oracle.frame import Value
from tests.oracle.items import seen_items
from tests.oracle.reasons import Lack, lacks, made_so
from tests.oracle.values import holds
from tests.scenes import drawn_scene, literal_of
from tests.strategies import BookText
from tests.test_answers_against_oracle import drawn, quickly
from tests.twins import Twins, twins_of

a_few = settings(quickly, max_examples=8)
TOLD = 5
"""The most lacks that the program tells."""


@a_few
@given(drawn, st.data())
def test_what_is_missing_is_all_that_is_lacking(text: BookText, data: st.DataObject) -> None:
    twins = twins_of(text)
    scene = drawn_scene(data, twins)
    state = scene.moment.state
    condition = data.draw(st.sampled_from(twins.questions))
    text_of = twins.picture.phrase(condition)
    answer = why(twins.book, text_of, start=scene.start, changes=scene.changes)
    mine = [as_lack(twins, lack) for lack in answer.missing]
    assert not (mine and answer.so)
    if answer.history or is_of_a_surface(twins, condition):
        return
    if not answer.so:
        expected = lacks(twins.frame, condition, twins.possible, state)
        assert len(mine) == min(TOLD, len({frozen(lack) for lack, _ in expected})), condition
        assert all(lack in [{**besides, **own} for own, besides in expected] for lack in mine), (
            condition
        )
    items = seen_items(twins.frame, condition, condition)
    for lack in mine:
        for other in made_so(twins.frame, items, twins.possible, state, lack):
            assert holds(twins.frame, other, condition), (condition, lack)


def is_of_a_surface(twins: Twins, condition: Condition) -> bool:
    """Where a surface is has no reason but itself: what sends it is told, or its past."""
    return isinstance(condition, State) and isinstance(twins.frame.things[condition.thing], Surface)


def frozen(lack: Lack) -> frozenset[tuple[str, frozenset[Value]]]:
    """A lack that can be counted."""
    return frozenset(lack.items())


def as_lack(twins: Twins, items: Sequence[Item]) -> dict[str, frozenset[Value]]:
    """The items of an answer as the oracle writes them."""
    mine = {name: item for item, name in twins.names.items()}
    found: dict[str, frozenset[Value]] = {}
    for item in items:
        name, values = literal_of(twins, item)
        oracle_name = mine.get(name, name)
        if item.kind == "supply":
            found[name] = frozenset(item.states)
        else:
            domain = twins.frame.items[oracle_name]
            found[oracle_name] = frozenset(domain[value] for value in values)
    return found
