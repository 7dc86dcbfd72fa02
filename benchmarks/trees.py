"""The published fault trees of the tests: through the engine alone, and as type books."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

import tellback
from benchmarks.measures import Row, seconds, timed
from tellback.logic.minimal import minimal_sets
from tests.fault_trees import FOLDER, Tree, node_of, read_tree, space_of
from tests.small_books import book_of
from tests.tree_books import QUESTION, book_of_needs, book_of_signs


def rows() -> Iterator[Row]:
    """All trees in each way, with the longest one by name."""
    trees = {path.stem: read_tree(path) for path in sorted(FOLDER.glob("*.txt"))}
    ways: dict[str, Callable[[Tree], int]] = {
        "through the engine alone": _by_engine,
        "as books of signs, read and asked": lambda tree: _by_book(book_of_signs(tree)),
        "as books of needs, read and asked": lambda tree: _by_book(book_of_needs(tree)),
    }
    for text, count in ways.items():
        took = {}
        for name, tree in trees.items():
            took[name], found = timed(partial(count, tree))
            if found != tree.published_sets:
                raise SystemExit(f"{name} {text}: {found} sets, published {tree.published_sets}")
        slowest = max(took, key=lambda name: took[name])
        note = f"{slowest} {seconds(took[slowest])}; all counts as published"
        yield Row(f"{len(trees)} fault trees {text}", seconds(sum(took.values())), note=note)


def _by_engine(tree: Tree) -> int:
    space = space_of(tree)
    return minimal_sets(space, node_of(tree, space), dict.fromkeys(tree.events, 0)).count


def _by_book(chapter: str) -> int:
    return tellback.losses(book_of(chapter), QUESTION).count
