"""Factored cubes say the same as the cubes, in no more lines, and none too deep to be read."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from tellback.logic.factored import Literal, Product, Terms, enough_to_cover, factored, unfolded
from tellback.logic.space import Space

NAMES = "abcde"


def place(literal: Literal) -> tuple[int, int, str, tuple[int, ...]]:
    return 0, NAMES.index(literal[0]), literal[0], tuple(sorted(literal[1]))


literals = st.dictionaries(
    st.sampled_from(NAMES),
    st.sampled_from([frozenset({0}), frozenset({1}), frozenset({0, 1}), frozenset({1, 2})]),
    min_size=1,
)
several = st.lists(literals.map(lambda cube: frozenset(cube.items())), max_size=7)


def holds(terms: Terms, values: dict[str, int]) -> bool:
    return all(values[name] in allowed for name, allowed in terms)


def is_met(one: Product, values: dict[str, int]) -> bool:
    chosen = (any(is_met(inner, values) for inner in choice) for choice in one.choices)
    return holds(one.literals, values) and all(chosen)


@given(several, st.integers(1, 3))
def test_products_are_met_just_where_a_cube_is(cubes: list[Terms], deepest: int) -> None:
    products = factored(cubes, place)
    flat = [one for whole in products for one in unfolded(whole, deepest)]
    assert len(products) <= len(cubes)
    assert all(one.depth <= deepest for one in flat)
    for chosen in product(range(3), repeat=len(NAMES)):
        values = dict(zip(NAMES, chosen, strict=True))
        expected = any(holds(cube, values) for cube in cubes)
        assert any(is_met(one, values) for one in products) == expected
        assert any(is_met(one, values) for one in flat) == expected


def test_what_is_shared_is_taken_out_and_equal_choices_are_joined() -> None:
    a, b, c, d, e = ((name, frozenset({1})) for name in NAMES)
    cubes = [frozenset({x, y, e}) for x in (a, b) for y in (c, d)]
    (one,) = factored(cubes, place)
    assert one.literals == {e}
    assert {frozenset(p.literals for p in choice) for choice in one.choices} == {
        frozenset({frozenset({a}), frozenset({b})}),
        frozenset({frozenset({c}), frozenset({d})}),
    }


def test_a_choice_that_leaves_nothing_to_choose_is_none() -> None:
    a, b, *_ = ((name, frozenset({1})) for name in NAMES)
    assert factored([frozenset({a}), frozenset({a, b})], place) == [Product(frozenset({a}))]


@given(st.lists(st.sets(st.integers(0, 7), min_size=1), max_size=6))
def test_enough_covers_all_and_none_of_it_can_be_left_out(sets: list[set[int]]) -> None:
    space = Space([("x", 8)], small=True)
    chosen = enough_to_cover(space, sets, lambda one: space.literal("x", one))
    assert set().union(*chosen) == set().union(*sets)
    for one in chosen:
        others = [other for other in chosen if other is not one]
        assert set().union(*others) != set().union(*sets)
