"""Every answer equals that of the naive twin, which enumerates all states, on small drawn books."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tellback.book import conditions as c
from tellback.book.model import Indication, Supply, Surface, Unit
from tellback.logic.items import View, apart_from
from tests.oracle.answers import all_ways
from tests.oracle.frame import NOBODY
from tests.oracle.items import root_items, seen_items
from tests.oracle.values import holds
from tests.strategies import BookText, books
from tests.twins import Twins, twins_of

drawn = st.one_of(
    books(),
    books(circles="positive"),
    books(memories=True),
    books(memories=True, circles="positive"),
)
quickly = settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))


@quickly
@given(drawn)
def test_values_in_every_possible_state(text: BookText) -> None:
    twins = twins_of(text)
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
    twins = twins_of(text)
    everything = list(twins.picture.system.variables)
    possible = twins.picture.possible(everything)
    assert possible.finish()
    expected = {tuple(sorted(twins.state(s).items())) for s in twins.possible.states}
    space = twins.picture.symbols.space
    assert space.count(possible.reached, everything) == len(expected)
    assert all(space.holds(possible.reached, dict(state)) for state in expected)
    assert all(space.holds(possible.bound, dict(state)) for state in expected)


@quickly
@given(drawn, st.booleans())
def test_ways(text: BookText, to_root: bool) -> None:
    twins = twins_of(text)
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
        care, exact = view.care([target])
        mine = {frozenset(cube.items()) for cube in view.cubes(target, care)}
        assert exact
        assert mine == expected, condition
