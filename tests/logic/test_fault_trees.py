"""Published fault trees: the number of their minimal sets and the probability of their tops.

The numbers of the Aralia trees are those of the Open-PSA Aralia fault trees (openpra-org/
aralia-fault-tree-dataset). Those of trees with a "not" count the positive parts.
"""

from math import isclose

import pytest

from tellback.logic.minimal import minimal_sets, minimal_sets_of, probability
from tests.fault_trees import FOLDER, Tree, circuit_of, node_of, parse_tree, read_tree, space_of

TREES = ("baobab2", "chinese", "das9202", "das9203", "das9601", "isp9605", "isp9606")

# NUREG-0492, Fault Tree Handbook, chapter VIII (probabilities as in the NASA handbook of 2002).
PRESSURE_TANK = """
# published minimal sets: 5
# published top probability: 3.50133481E-05
# top: tank ruptures
tank ruptures = any of (T, E2)
E2 = any of (K2, E3)
E3 = all of (S, E4)
E4 = any of (S1, K1, R)
T: 5e-6
K2: 3e-5
S: 1e-4
S1: 3e-5
K1: 5e-6
R: 1e-4
"""


def top_probability(tree: Tree) -> float:
    """The exact probability of the top."""
    space = space_of(tree)
    chances = {(name, 1): chance for name, chance in tree.events.items()}
    return probability(space, node_of(tree, space), chances)


def test_every_tree_of_the_folder_is_tested() -> None:
    assert {path.stem for path in FOLDER.glob("*.txt")} == set(TREES)


@pytest.mark.parametrize("name", TREES)
def test_number_of_minimal_sets_as_published(name: str) -> None:
    tree = read_tree(FOLDER / f"{name}.txt")
    space = space_of(tree)
    of_diagram = minimal_sets(space, node_of(tree, space), dict.fromkeys(tree.events, 0))
    of_circuit = minimal_sets_of(*circuit_of(tree))
    assert of_diagram.count == of_circuit.count == tree.published_sets
    assert of_diagram.by_order() == of_circuit.by_order()


@pytest.mark.parametrize("order", [1, 2, 3])
@pytest.mark.parametrize("name", TREES)
def test_small_sets_are_those_of_all(name: str, order: int) -> None:
    circuit, top, modes = circuit_of(read_tree(FOLDER / f"{name}.txt"))
    every = minimal_sets_of(circuit, top, modes).by_order()
    few = minimal_sets_of(circuit, top, modes, order).by_order()
    assert few == {size: number for size, number in every.items() if size <= order}


@pytest.mark.parametrize("name", TREES)
def test_top_probability_as_printed(name: str) -> None:
    tree = read_tree(FOLDER / f"{name}.txt")
    assert f"{top_probability(tree):.5E}" == tree.published_probability


def test_every_listed_set_fails_the_top_and_no_smaller_one_does() -> None:
    tree = read_tree(FOLDER / "chinese.txt")
    space = space_of(tree)
    node = node_of(tree, space)
    for failures in minimal_sets(space, node, dict.fromkeys(tree.events, 0)):
        failed = dict.fromkeys(tree.events, 0) | dict(failures)
        assert space.holds(node, failed)
        assert not any(space.holds(node, failed | {name: 0}) for name, _ in failures)


def test_order_limits_a_published_tree_as_its_full_count_does() -> None:
    tree = read_tree(FOLDER / "baobab2.txt")
    space = space_of(tree)
    node, events = node_of(tree, space), dict.fromkeys(tree.events, 0)
    by_order = minimal_sets(space, node, events).by_order()
    limited = minimal_sets(space, node, events, order=4).by_order()
    assert limited == {size: number for size, number in by_order.items() if size <= 4}
    assert 0 < sum(limited.values()) < tree.published_sets


def test_pressure_tank() -> None:
    tree = parse_tree(PRESSURE_TANK)
    space = space_of(tree)
    found = minimal_sets(space, node_of(tree, space), dict.fromkeys(tree.events, 0))
    sets = {frozenset(name for name, _ in one) for one in found}
    assert sets == {frozenset(one) for one in ({"T"}, {"K2"}, {"S", "S1"}, {"S", "K1"}, {"S", "R"})}
    assert found.count == tree.published_sets
    assert isclose(top_probability(tree), float(tree.published_probability), rel_tol=1e-6)
    # The exact value, computed independently with rational numbers; the print is rounded.
    assert isclose(top_probability(tree), 3.50133491625163e-5, rel_tol=1e-12)


def test_a_line_that_is_neither_gate_nor_event_is_refused() -> None:
    with pytest.raises(ValueError, match="neither gate nor event: tank"):
        parse_tree("# top: tank\ntank")
