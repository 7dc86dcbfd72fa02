"""Published fault trees asked through the front door: as type books, by `losses`.

The numbers are those of the Open-PSA Aralia fault trees (openpra-org/aralia-fault-tree-dataset).
"""

from collections.abc import Callable
from math import comb

import pytest

import tellback
from tellback.logic import cut_sets
from tellback.logic.answers.losses import Losses
from tests.fault_trees import FOLDER, Gate, Tree, node_of, read_tree, space_of
from tests.small_books import book_of
from tests.tree_books import QUESTION, book_of_needs, book_of_signs

TREES = sorted(path.stem for path in FOLDER.glob("*.txt"))
STYLES = (book_of_signs, book_of_needs)
Style = Callable[[Tree], str]


def losses(tree: Tree, style: Style, order: int | None = None) -> Losses:
    """The losses of the tree's top supply."""
    return tellback.losses(book_of(style(tree)), QUESTION, order=order)


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("name", TREES)
def test_number_of_minimal_sets_as_published(name: str, style: Style) -> None:
    tree = read_tree(FOLDER / f"{name}.txt")
    found = losses(tree, style)
    assert found.count == tree.published_sets
    assert sum(number for _, number in found.counts) == tree.published_sets
    assert not found.disputed


@pytest.mark.parametrize("style", STYLES)
def test_every_set_of_a_small_tree_is_one_that_fails_its_top(style: Style) -> None:
    tree = read_tree(FOLDER / "chinese.txt")
    space = space_of(tree)
    top = node_of(tree, space)
    for chosen in losses(tree, style).sets:
        failed = dict.fromkeys(tree.events, 0) | {failure.thing: 1 for failure in chosen}
        assert space.holds(top, failed)
        assert not any(space.holds(top, failed | {failure.thing: 0}) for failure in chosen)


@pytest.mark.parametrize("style", STYLES)
def test_an_order_keeps_the_smaller_of_all_sets(style: Style) -> None:
    tree = read_tree(FOLDER / "baobab2.txt")
    every, smaller = losses(tree, style), losses(tree, style, 4)
    assert smaller.counts == tuple((size, n) for size, n in every.counts if size <= 4)
    assert 0 < smaller.count < every.count


def ladder(steps: int) -> Tree:
    """Gates `any`, `all` and `at least 2` in turn, each with the next one as its last but one part.

    What stands behind the deep part must not wait until all of it has been looked at.
    """
    gates: dict[str, Gate] = {}
    for i in range(steps):
        below = f"a{i + 1}" if i + 1 < steps else "last"
        gates[f"a{i}"] = Gate("any", (f"b{i}", f"alone {i}"))
        gates[f"b{i}"] = Gate("all", (f"c{i}", f"always {i}"))
        gates[f"c{i}"] = Gate("at least", (f"left {i}", below, f"right {i}"), 2)
    events = [p for gate in gates.values() for p in gate.parts if p not in gates]
    return Tree("a0", gates, dict.fromkeys(events, 0.1), 0, "")


@pytest.mark.parametrize("style", STYLES)
def test_gates_hundreds_deep(style: Style) -> None:
    steps = 120
    # A step fails alone, with `always`, `left` and `right`, or with `always`, one of these two and
    # a set of the step below: so each step down adds two events and doubles the sets.
    expected = {1: 1}
    for step in range(steps):
        expected[2 * step + 3] = 2**step + 2 ** (step + 1)
    last = 2 * steps + 1
    expected[last] = 2 ** (steps - 1) + 2**steps
    tree = ladder(steps)
    found = losses(tree, style)
    assert len(tree.gates) == 360
    assert dict(found.counts) == expected


@pytest.mark.parametrize("style", STYLES)
def test_gates_that_count_many(style: Style) -> None:
    events = tuple(f"part {i}" for i in range(24))
    tree = Tree("top", {"top": Gate("at least", events, 12)}, dict.fromkeys(events, 0.1), 0, "")
    assert losses(tree, style).counts == ((12, comb(24, 12)),)


@pytest.mark.parametrize("style", STYLES)
def test_gates_with_not_tell_only_what_must_fail(style: Style) -> None:
    gates = {
        "top": Gate("any", ("first", "second")),
        "first": Gate("all", ("one", "neither")),
        "neither": Gate("none", ("two", "three")),
        "second": Gate("exactly one", ("two", "four")),
    }
    events = ("one", "two", "three", "four")
    tree = Tree("top", gates, dict.fromkeys(events, 0.1), 0, "")
    found = {frozenset(f.thing for f in chosen) for chosen in losses(tree, style).sets}
    assert found == {frozenset({"one"}), frozenset({"two"}), frozenset({"four"})}


@pytest.mark.parametrize("style", STYLES)
def test_thousands_of_gates(style: Style) -> None:
    pairs = 700
    gates = {"top": Gate("any", tuple(f"group {i}" for i in range(pairs // 10)))}
    for i in range(pairs // 10):
        gates[f"group {i}"] = Gate("any", tuple(f"pair {10 * i + k}" for k in range(10)))
    for i in range(pairs):
        gates[f"pair {i}"] = Gate("all", (f"side {2 * i}", f"side {2 * i + 1}"))
        for n in (2 * i, 2 * i + 1):
            gates[f"side {n}"] = Gate("any", (f"left {n}", f"right {n}"))
    events = [p for gate in gates.values() for p in gate.parts if p not in gates]
    tree = Tree("top", gates, dict.fromkeys(events, 0.1), 0, "")
    assert len(gates) > 2000
    assert losses(tree, style).counts == ((2, 4 * pairs),)


@pytest.mark.parametrize("style", STYLES)
def test_where_the_whole_is_too_large_small_sets_are_told(
    style: Style, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cut_sets, "TABLES", (1 << 14,))
    ones, others = ([f"{side} {i}" for i in range(24)] for side in ("one", "other"))
    gates = {
        f"pair {i}": Gate("all", pair) for i, pair in enumerate(zip(ones, others, strict=True))
    }
    turned = [*others[12:], *others[:12]]
    cross = zip(ones, turned, strict=True)
    gates |= {f"cross {i}": Gate("all", pair) for i, pair in enumerate(cross)}
    gates["pairs"] = Gate("any", tuple(f"pair {i}" for i in range(24)))
    gates["crosses"] = Gate("any", tuple(f"cross {i}" for i in range(24)))
    gates["both"] = Gate("all", ("pairs", "crosses"))
    gates["top"] = Gate("any", ("both", "alone"))
    tree = Tree("top", gates, dict.fromkeys([*ones, *others, "alone"], 0.1), 0, "")
    found = losses(tree, style)
    assert (found.order, found.counts) == (2, ((1, 1),))
    assert "Sought with at most 2 failures" in str(found)
