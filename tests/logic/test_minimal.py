"""Minimal sets of failures, against every state there is."""

from math import comb, isclose, prod

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.logic.limits import TooLong
from tellback.logic.minimal import MinimalSets, minimal_sets, probability
from tellback.logic.space import Space
from tests.logic.brute_force import Truth, minimal_failures
from tests.logic.strategies import names_of, node_of, space_of, truths


def sets_of(truth: Truth, order: int | None = None) -> MinimalSets:
    """The minimal sets of the function, every variable being a failure."""
    space = space_of(truth)
    return minimal_sets(space, node_of(space, truth), dict.fromkeys(space.names, 0), order)


def listed(found: MinimalSets) -> list[frozenset[tuple[int, int]]]:
    """The sets as they are listed, by number of variable."""
    return [frozenset((int(name[1:]), mode) for name, mode in one) for one in found]


@settings(deadline=None)
@given(truths())
def test_minimal_sets_are_the_smallest_that_do_it_alone(truth: Truth) -> None:
    found = sets_of(truth)
    sets = listed(found)
    expected = minimal_failures(truth)
    assert set(sets) == expected
    assert found.count == len(sets) == len(expected)
    sizes = [len(one) for one in sets]
    assert sizes == sorted(sizes)
    assert found.by_order() == {size: sizes.count(size) for size in sorted(set(sizes))}


@settings(deadline=None)
@given(truths(), st.integers(0, 4))
def test_order_leaves_just_the_small_ones(truth: Truth, order: int) -> None:
    expected = {one for one in minimal_failures(truth) if len(one) <= order}
    found = sets_of(truth, order)
    assert set(listed(found)) == expected
    assert found.count == len(expected)


@settings(deadline=None)
@given(truths(), st.lists(st.floats(0, 0.3), min_size=20, max_size=20))
def test_probability_is_the_sum_over_all_states(truth: Truth, table: list[float]) -> None:
    chances = {
        (name, mode): table[4 * index + mode]
        for index, name in enumerate(names_of(truth))
        for mode in range(1, truth.sizes[index])
    }

    def chance(index: int, value: int) -> float:
        if value:
            return chances[f"x{index}", value]
        return 1 - sum(chances[f"x{index}", mode] for mode in range(1, truth.sizes[index]))

    expected = sum(
        prod(chance(index, value) for index, value in enumerate(state)) for state in truth.states
    )
    space = space_of(truth)
    found = probability(space, node_of(space, truth), chances)
    assert isclose(found, expected, rel_tol=1e-9, abs_tol=1e-12)


def test_a_pump_that_fails_either_way() -> None:
    space = Space([("left pump", 3), ("right pump", 3), ("valve", 2)])
    stops, keeps_running = 1, 2
    node = space.any_of(
        [
            space.literal("left pump", (stops,)) & space.literal("right pump", (stops,)),
            space.literal("left pump", (keeps_running,)) & space.literal("valve", (1,)),
            space.literal("right pump", (keeps_running,)),
        ]
    )
    found = minimal_sets(space, node, dict.fromkeys(space.names, 0))
    assert list(found) == [
        (("right pump", keeps_running),),
        (("left pump", stops), ("right pump", stops)),
        (("left pump", keeps_running), ("valve", 1)),
    ]


def test_a_further_failure_that_undoes_it_is_not_spoken_of() -> None:
    space = Space([("a", 2), ("b", 2), ("c", 2)])
    a, b, c = (space.literal(name, (1,)) for name in space.names)
    found = minimal_sets(space, (a & ~b) | (b & c), dict.fromkeys(space.names, 0))
    assert list(found) == [(("a", 1),), (("b", 1), ("c", 1))]


def test_true_without_any_failure_and_never_true() -> None:
    space = Space([("a", 2)])
    assert list(minimal_sets(space, space.true, {"a": 0})) == [()]
    assert minimal_sets(space, space.true, {"a": 0}, order=0).by_order() == {0: 1}
    assert list(minimal_sets(space, space.false, {"a": 0})) == []
    assert minimal_sets(space, space.false, {"a": 0}).by_order() == {}


def test_counts_go_beyond_64_bits() -> None:
    space = Space([(f"x{index}", 3) for index in range(100)])
    node = space.at_least(40, [space.literal(name, (1, 2)) for name in space.names])
    found = minimal_sets(space, node, dict.fromkeys(space.names, 0))
    assert found.by_order() == {40: comb(100, 40) * 2**40}


def test_two_thousand_levels_deep() -> None:
    space = Space([(f"x{index}", 2) for index in range(2000)])
    failed = [space.literal(name, (1,)) for name in space.names]
    pairs = [one & other for one, other in zip(failed[::2], failed[1::2], strict=True)]
    events = dict.fromkeys(space.names, 0)
    assert minimal_sets(space, space.any_of(pairs), events).by_order() == {2: 1000}
    assert minimal_sets(space, space.all_of(failed), events).by_order() == {2000: 1}
    assert minimal_sets(space, space.any_of(pairs), events, order=1).count == 0


def test_what_is_not_a_failure_is_refused() -> None:
    space = Space([("pump", 2), ("switch", 2)])
    node = space.literal("pump", (1,)) & space.literal("switch", (1,))
    with pytest.raises(ValueError, match="\\['switch'\\]"):
        minimal_sets(space, node, {"pump": 0})


@pytest.mark.parametrize("chances", [(0.6, 0.5), (-0.1, 0.2)])
def test_impossible_probabilities_are_refused(chances: tuple[float, float]) -> None:
    space = Space([("pump", 3)])
    table = {("pump", mode): chance for mode, chance in enumerate(chances, 1)}
    with pytest.raises(ValueError, match="probabilities of 'pump'"):
        probability(space, space.literal("pump", (1,)), table)


def test_running_out_of_time_says_so() -> None:
    space = Space([(f"x{index}", 2) for index in range(300)])
    node = space.at_least(50, [space.literal(name, (1,)) for name in space.names])
    with pytest.raises(TooLong, match="more than 0 s"):
        minimal_sets(space, node, dict.fromkeys(space.names, 0), seconds=0)
