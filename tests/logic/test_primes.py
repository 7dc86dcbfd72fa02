"""The shortest reasons, against every product of value sets there is."""

import time
from math import comb

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.logic.limits import TooLong
from tellback.logic.primes import Primes, primes, primes_within
from tellback.logic.space import Space
from tests.logic.brute_force import State, Truth, prime_cubes
from tests.logic.strategies import node_of, space_of, truths

Cube = tuple[frozenset[int], ...]
which_ordered = st.tuples(*[st.booleans()] * 5)


def cubes_of(found: Primes, truth: Truth) -> list[Cube]:
    """The primes as one value set for each variable."""
    return [
        tuple(
            cube.get(f"x{index}", frozenset(range(size))) for index, size in enumerate(truth.sizes)
        )
        for cube in found
    ]


def mentioned(cube: Cube, truth: Truth) -> int:
    """How many variables the cube says something of."""
    return sum(len(values) < size for values, size in zip(cube, truth.sizes, strict=True))


@settings(deadline=None)
@given(truths(most_states=60), which_ordered)
def test_primes_are_the_widest_products_that_force_the_function(
    truth: Truth, ordered: tuple[bool, ...]
) -> None:
    space = space_of(truth)
    found = primes(space, node_of(space, truth), lambda name: ordered[int(name[1:])])
    listed = cubes_of(found, truth)
    expected = prime_cubes(
        truth, ordered[: len(truth.sizes)], lambda states: states <= truth.states
    )
    assert set(listed) == expected
    assert found.count == len(listed) == len(expected)
    sizes = [mentioned(cube, truth) for cube in listed]
    assert sizes == sorted(sizes)
    assert found.by_size() == {size: sizes.count(size) for size in sorted(set(sizes))}


@settings(deadline=None)
@given(truths(most_states=60), which_ordered, st.integers(0, 3))
def test_limit_leaves_just_the_short_ones(
    truth: Truth, ordered: tuple[bool, ...], limit: int
) -> None:
    space = space_of(truth)
    node = node_of(space, truth)

    def is_ordered(name: str) -> bool:
        return ordered[int(name[1:])]

    short = [cube for cube in primes(space, node, is_ordered) if len(cube) <= limit]
    assert list(primes(space, node, is_ordered, limit)) == short


@settings(deadline=None)
@given(truths(most_states=40), which_ordered, st.integers(0))
def test_primes_within_can_occur_and_force_there(
    truth: Truth, ordered: tuple[bool, ...], care_bits: int
) -> None:
    care = frozenset(
        state for place, state in enumerate(truth.every_state()) if care_bits >> place & 1
    )

    def forces(states: frozenset[State]) -> bool:
        return states & care <= truth.states

    space = space_of(truth)
    found = primes_within(
        space,
        node_of(space, truth),
        node_of(space, Truth(truth.sizes, care)),
        lambda name: ordered[int(name[1:])],
    )
    widest = prime_cubes(truth, ordered[: len(truth.sizes)], forces)
    listed = cubes_of(found, truth)
    assert len(listed) == found.count
    assert set(listed) == {cube for cube in widest if any(_inside(s, cube) for s in care)}


def _inside(state: State, cube: Cube) -> bool:
    return all(value in values for value, values in zip(state, cube, strict=True))


def test_a_condition_on_a_reading_gives_runs_and_on_a_lever_gives_sets() -> None:
    space = Space([("lever", 3), ("speed", 5), ("on ground", 2)])
    node = (space.literal("lever", (0, 2)) & space.literal("speed", (1, 2, 3))) | (
        space.literal("on ground", (1,)) & space.literal("speed", (0, 4))
    )
    assert list(primes(space, node, lambda name: name == "speed")) == [
        {"lever": frozenset({0, 2}), "speed": frozenset({1, 2, 3})},
        {"lever": frozenset({0, 2}), "on ground": frozenset({1})},
        {"speed": frozenset({0}), "on ground": frozenset({1})},
        {"speed": frozenset({4}), "on ground": frozenset({1})},
    ]


def test_constants() -> None:
    space = Space([("a", 3), ("b", 2)])
    assert list(primes(space, space.true, lambda _: True)) == [{}]
    assert list(primes(space, space.false, lambda _: True)) == []
    assert list(primes_within(space, space.true, space.false, lambda _: False)) == []


def test_the_first_of_more_than_a_million_million_come_at_once() -> None:
    space = Space([(f"x{index}", 2) for index in range(60)])
    node = space.at_least(20, [space.literal(name, (1,)) for name in space.names])
    started = time.perf_counter()
    found = primes(space, node, lambda _: False)
    first = [cube for cube, _ in zip(found, range(100), strict=False)]
    assert time.perf_counter() - started < 5
    assert found.by_size() == {20: comb(60, 20)}
    assert first[0] == {f"x{index}": frozenset({1}) for index in range(20)}
    assert len({tuple(cube) for cube in first}) == 100


def test_a_long_chain_of_levers_is_no_deeper_than_python_can_go() -> None:
    space = Space([(f"x{index}", 3) for index in range(600)])
    node = space.all_of(space.literal(name, (0, 2)) for name in space.names)
    assert primes(space, node, lambda _: False).by_size() == {600: 1}
    assert primes(space, ~node, lambda _: False).by_size() == {1: 600}
    assert primes(space, ~node, lambda _: True).by_size() == {1: 600}


def test_running_out_of_time_says_so() -> None:
    space = Space([(f"x{index}", 2) for index in range(300)])
    node = space.at_least(50, [space.literal(name, (1,)) for name in space.names])
    with pytest.raises(TooLong, match="more than 0 s"):
        primes(space, node, lambda _: False, seconds=0)
