"""Functions over finite domains, each operation against what it means state by state."""

import threading
from collections.abc import Callable
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.logic import node as node_module
from tellback.logic.limits import TooLarge
from tellback.logic.space import Node, Space
from tests.logic.brute_force import Truth, total_cost
from tests.logic.strategies import names_of, node_of, space_of, truths


def states_of(space: Space, node: Node) -> set[tuple[int, ...]]:
    """Every state of the space in which the node holds."""
    domains = [range(space.size(name)) for name in space.names]
    return {
        state
        for state in product(*domains)
        if space.holds(node, dict(zip(space.names, state, strict=True)))
    }


@settings(deadline=None)
@given(truths())
def test_a_node_holds_exactly_in_the_states_it_was_built_from(truth: Truth) -> None:
    space = space_of(truth)
    assert states_of(space, node_of(space, truth)) == truth.states


@settings(deadline=None)
@given(truths())
def test_operators_and_equality(truth: Truth) -> None:
    space = space_of(truth)
    node, everything = node_of(space, truth), set(truth.every_state())
    some = space.literal("x0", (0,))
    with_some = {state for state in everything if state[0] == 0}
    assert states_of(space, ~node) == everything - truth.states
    assert states_of(space, node & some) == truth.states & with_some
    assert states_of(space, node | some) == truth.states | with_some
    assert ~(~node & ~some) == node | some
    assert hash(~~node) == hash(node)
    assert (node == space.false) == (not truth.states)
    assert node != "node"


@pytest.mark.parametrize("size", range(2, 10))
def test_a_literal_has_just_the_values_it_names(size: int) -> None:
    space = Space([("first", 3), ("x", size), ("last", 2)])
    for value in range(size):
        only = space.literal("x", (value,))
        assert {state[1] for state in states_of(space, only)} == {value}
        assert ~only == space.literal("x", set(range(size)) - {value})
    assert space.literal("x", ()) == space.false
    assert space.literal("x", range(size)) == space.true


@settings(deadline=None)
@given(truths(), st.integers(0, 4), st.integers(0, 3))
def test_assume(truth: Truth, which: int, value: int) -> None:
    space = space_of(truth)
    which %= len(truth.sizes)
    value %= truth.sizes[which]
    name = f"x{which}"
    assumed = space.assume(node_of(space, truth), name, value)
    expected = {
        state
        for state in truth.every_state()
        if (*state[:which], value, *state[which + 1 :]) in truth.states
    }
    assert states_of(space, assumed) == expected
    assert name not in space.support(assumed)


@settings(deadline=None)
@given(truths(), st.sets(st.integers(0, 4)))
def test_quantifiers(truth: Truth, bound: set[int]) -> None:
    space = space_of(truth)
    node = node_of(space, truth)
    names = [name for index, name in enumerate(space.names) if index in bound]

    def variants(state: tuple[int, ...]) -> list[tuple[int, ...]]:
        free = [
            range(size) if index in bound else (state[index],)
            for index, size in enumerate(truth.sizes)
        ]
        return list(product(*free))

    everything = list(truth.every_state())
    some = {s for s in everything if any(v in truth.states for v in variants(s))}
    every = {s for s in everything if all(v in truth.states for v in variants(s))}
    assert states_of(space, space.exists(node, names)) == some
    assert states_of(space, space.for_all(node, names)) == every


@settings(deadline=None)
@given(truths())
def test_support_is_what_the_function_truly_depends_on(truth: Truth) -> None:
    space = space_of(truth)
    expected = tuple(
        name
        for index, name in enumerate(space.names)
        if any(
            ((*state[:index], value, *state[index + 1 :]) in truth.states)
            != (state in truth.states)
            for state in truth.every_state()
            for value in range(truth.sizes[index])
        )
    )
    assert space.support(node_of(space, truth)) == expected


@settings(deadline=None)
@given(truths())
def test_count_is_exact_over_any_names_that_include_the_support(truth: Truth) -> None:
    space = space_of(truth)
    space.add("more", 5)
    node = node_of(space, Truth((*truth.sizes, 5), frozenset()))
    for state in truth.states:
        literals = [
            space.literal(name, (value,))
            for name, value in zip(names_of(truth), state, strict=True)
        ]
        node = node | space.all_of(literals)
    assert space.count(node, names_of(truth)) == len(truth.states)
    assert space.count(node, space.names) == 5 * len(truth.states)


def test_count_goes_beyond_64_bits() -> None:
    space = Space([(f"x{index}", 3) for index in range(100)])
    assert space.count(space.true, space.names) == 3**100
    assert space.count(space.literal("x99", (2,)), space.names) == 3**99


def test_count_refuses_names_that_leave_out_part_of_the_support() -> None:
    space = Space([("a", 2), ("b", 2)])
    with pytest.raises(ValueError, match="missing: \\['b'\\]"):
        space.count(space.literal("b", (1,)), ["a"])


def costs_from(table: list[int]) -> Callable[[str, int], int]:
    """A cost for each value of each variable."""
    return lambda name, value: table[4 * int(name[1:]) + value]


@settings(deadline=None)
@given(truths(), st.lists(st.integers(0, 9), min_size=20, max_size=20))
def test_nearest_is_a_cheapest_solution_over_the_support(truth: Truth, table: list[int]) -> None:
    space = space_of(truth)
    node, cost = node_of(space, truth), costs_from(table)
    found = space.nearest(node, cost)
    if not truth.states:
        assert found is None
        return
    assert found is not None
    support = space.support(node)
    assert tuple(found) == support
    assert space.holds(node, found)
    solutions = [dict(zip(space.names, state, strict=True)) for state in truth.states]
    assert total_cost(found, cost) == min(
        total_cost({name: state[name] for name in support}, cost) for state in solutions
    )


@settings(deadline=None)
@given(truths(), st.randoms(use_true_random=False))
def test_nearest_to_a_state_changes_the_least(truth: Truth, chance: Random) -> None:
    space = space_of(truth)
    node = node_of(space, truth)
    state = {name: chance.randrange(space.size(name)) for name in space.names}

    def away(other: tuple[int, ...]) -> int:
        pairs = zip(space.names, other, strict=True)
        return sum(state[name] != value for name, value in pairs)

    found = space.nearest_to(node, state)
    if not truth.states:
        assert found is None
        return
    assert found is not None
    assert space.holds(node, {**state, **found})
    assert len(found) == min(map(away, truth.states))
    assert all(state[name] != value for name, value in found.items())


@settings(deadline=None)
@given(truths())
def test_pick_is_the_solution_with_the_lowest_first_values(truth: Truth) -> None:
    space = space_of(truth)
    node = node_of(space, truth)
    found = space.pick(node)
    if not truth.states:
        assert found is None
        return
    assert found is not None
    lowest = dict(zip(space.names, min(truth.states), strict=True))
    assert found == {name: lowest[name] for name in space.support(node)}


@pytest.mark.parametrize("number", range(-1, 7))
def test_at_least_counts_what_is_true(number: int) -> None:
    space = Space([("a", 2), ("b", 3), ("c", 2), ("d", 2)])
    parts = {"a": {1}, "b": {0, 2}, "c": {1}, "d": {0}}
    nodes = [space.literal(name, values) for name, values in parts.items()]
    for some_nodes in (nodes, [*nodes, nodes[0]]):
        node = space.at_least(number, some_nodes)
        for state in product(range(2), range(3), range(2), range(2)):
            held = dict(zip(space.names, state, strict=True))
            true = sum(held[name] in values for name, values in parts.items())
            if len(some_nodes) == 5:
                true += held["a"] == 1
            assert space.holds(node, held) == (true >= number)


def test_all_and_any_of_nothing() -> None:
    space = Space([("a", 2)])
    assert space.all_of([]) == space.true
    assert space.any_of([]) == space.false


def test_a_variable_added_later_stands_last() -> None:
    space = Space([("a", 3)])
    before = space.literal("a", (1,))
    space.add("b", 5)
    both = before & space.literal("b", (4,))
    assert space.names == ("a", "b")
    assert space.support(both) == ("a", "b")
    assert space.assume(both, "b", 4) == before


@pytest.mark.parametrize(("name", "size"), [("a", 2), ("new", 1)])
def test_add_refuses_a_second_variable_of_the_name_and_a_constant(name: str, size: int) -> None:
    with pytest.raises(ValueError, match=f"'{name}' of {size} values"):
        Space([("a", 3)]).add(name, size)


def test_literal_refuses_a_value_outside_the_domain() -> None:
    with pytest.raises(ValueError, match=r"values 0 to 2, not \{3\}"):
        Space([("a", 3)]).literal("a", (3,))


def test_two_thousand_levels_deep_even_in_a_small_thread() -> None:
    finished: list[int] = []

    def work() -> None:
        space = Space([(f"x{index}", 3) for index in range(2000)])
        chain = space.all_of(space.literal(name, (1, 2)) for name in space.names)
        other = space.any_of(space.literal(name, (0,)) for name in space.names)
        assert ~chain == other
        assert space.exists(chain, space.names[::2]) != space.true
        assert space.nearest(chain, lambda _name, value: value) == dict.fromkeys(space.names, 1)
        finished.append(space.count(chain, space.names))

    before = threading.stack_size(512 * 1024)
    try:
        thread = threading.Thread(target=work)
        thread.start()
        thread.join()
    finally:
        threading.stack_size(before)
    assert finished == [2**2000]


def test_more_levels_than_the_engine_can_safely_descend_are_refused() -> None:
    with pytest.raises(TooLarge, match="more than 20,000 yes/no steps"):
        Space([(f"x{index}", 5) for index in range(6667)])


def test_a_diagram_that_outgrows_its_table_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(node_module, "MOST_NODES", 1 << 10)
    space = Space([(f"x{index}", 2) for index in range(40)])
    names = space.names
    pairs = [
        space.literal(names[index], (1,)) & space.literal(names[index + 20], (1,))
        for index in range(20)
    ]
    with pytest.raises(TooLarge, match="diagram of more than 1,024 nodes"):
        space.any_of(pairs)


def test_a_space_can_be_used_again_after_a_diagram_outgrew_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(node_module, "MOST_NODES", 1 << 10)
    space = Space([(f"x{index}", 2) for index in range(40)])
    bits = [space.literal(name, (1,)) for name in space.names]
    for _ in range(20):
        with pytest.raises(TooLarge):
            space.any_of(one & other for one, other in zip(bits[:20], bits[20:], strict=True))
        half = space.any_of(one & other for one, other in zip(bits[:6], bits[20:26], strict=True))
        assert space.count(~half, space.support(half)) == 3**6
