"""A state that a run is said to show is one that can be, and has what was asked for."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import BookText, books
from tests.twins import twins_of


@settings(deadline=None, max_examples=40)
@given(
    books(memories=True, circles="any", most_states=400),
    st.sampled_from([None, 0, 1]),
    st.data(),
)
def test_a_witness_is_possible_and_has_what_is_asked(
    text: BookText, failures: int | None, data: st.DataObject
) -> None:
    picture = twins_of(text).picture
    space, variables = picture.symbols.space, list(picture.system.variables.values())
    asked = data.draw(st.lists(st.sampled_from(variables), min_size=1, max_size=3, unique=True))
    values = {v.name: data.draw(st.integers(0, len(v.values) - 1)) for v in asked}
    node = space.point(values)
    found = picture.witnesses.find(node, failures)
    possible = picture.possible([v.name for v in variables], (), failures)
    if found is not None:
        assert {name: found[name] for name in values} == values
        assert possible.meets(space.point(found)) is not False
