"""Published fault trees: each through the engine, beside other libraries, and as type books.

Those of the tests are measured always. `TELLBACK_TREES` may name a folder with more: Open-PSA
files, and beside them `published.csv` with their numbers of minimal sets.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import tellback
from benchmarks.apart import Measured, apart
from benchmarks.invented import SIZES, invented
from benchmarks.measures import Row, seconds, timed
from benchmarks.open_psa import published_trees, read_open_psa
from tellback.logic.minimal import minimal_sets_of
from tests.fault_trees import FOLDER, Tree, circuit_of, read_tree
from tests.small_books import book_of
from tests.tree_books import QUESTION, book_of_needs, book_of_signs

LIMIT = 20.0
"""The seconds that another library may take over a tree, or twice ours if that is more."""

ELSEWHERE = {
    "recursion": "with_recursion",
    "dd": "with_dd",
    "oxidd": "with_oxidd",
    "python-sat": "with_pysat",
}


def rows() -> Iterator[Row]:
    """Each tree with the other libraries beside it, then the trees of the tests as books."""
    for name in names():
        yield _row(name)
    for name in SIZES:
        yield _invented_row(name)
    yield _as_books("signs", book_of_signs)
    yield _as_books("needs", book_of_needs)


def names() -> list[str]:
    """The trees there are: those of the tests, then what else the folder has, smallest first."""
    ours = sorted(path.stem for path in FOLDER.glob("*.txt"))
    folder = _more()
    return ours + [n for n in (published_trees(folder) if folder else ()) if n not in ours]


def tree_named(name: str) -> Tree:
    """The tree of that name."""
    if name in SIZES:
        return invented(name)
    path, folder = FOLDER / f"{name}.txt", _more()
    if path.exists() or folder is None:
        return read_tree(path)
    return read_open_psa(folder, name)


def _more() -> Path | None:
    named = os.environ.get("TELLBACK_TREES")
    return Path(named) if named else None


def with_tellback(name: str) -> int:
    """The number of minimal sets by the engine."""
    return minimal_sets_of(*circuit_of(tree_named(name))).count


def up_to_two(name: str) -> int:
    """The number of minimal sets of up to two failures by the engine."""
    return minimal_sets_of(*circuit_of(tree_named(name)), order=2).count


def _row(name: str) -> Row:
    published = tree_named(name).published_sets
    ours = apart("benchmarks.trees", "with_tellback", name)
    limit = max(LIMIT, 2 * ours.seconds)
    theirs = {
        library: apart("benchmarks.trees_elsewhere", function, name, limit=limit)
        for library, function in ELSEWHERE.items()
    }
    for library, measured in {"tellback": ours, **theirs}.items():
        if not measured.missing and measured.result != published:
            raise SystemExit(f"{name}: {measured.result} by {library}, published {published}")
    beside = "; ".join(f"`{library}` {_beside(m, ours)}" for library, m in theirs.items())
    return Row(f"`{name}`: all {published:,} minimal sets", str(ours), note=beside)


def _invented_row(name: str) -> Row:
    """An invented tree: sets of up to two, and all, beside the recursion."""
    tree = tree_named(name)
    few = apart("benchmarks.trees", "up_to_two", name)
    ours = apart("benchmarks.trees", "with_tellback", name)
    theirs = apart("benchmarks.trees_elsewhere", "with_recursion", name)
    if not (ours.missing or theirs.missing) and ours.result != theirs.result:
        raise SystemExit(f"{name}: {ours.result} and by recursion {theirs.result}")
    counted = "" if ours.missing else f" {ours.result:,}"
    what = f"invented {name}, {len(tree.events)} events: all{counted} minimal sets"
    note = f"up to two failures: {few}; `recursion` {_beside(theirs, ours)}"
    return Row(what, str(ours), note=note)


def _beside(theirs: Measured, ours: Measured) -> str:
    if theirs.missing or ours.missing:
        return str(theirs)
    return f"{theirs} (× {theirs.seconds / ours.seconds:.1f})"


def _as_books(kind: str, book: Callable[[Tree], str]) -> Row:
    """The trees of the tests as books of a kind, with the longest one by name."""
    took = {}
    for path in sorted(FOLDER.glob("*.txt")):
        tree = read_tree(path)
        took[path.stem], found = timed(partial(_by_book, book(tree)))
        if found != tree.published_sets:
            raise SystemExit(f"{path.stem}: {found} sets, published {tree.published_sets}")
    slowest = max(took, key=lambda name: took[name])
    note = f"{slowest} {seconds(took[slowest])}; all counts as published"
    what = f"{len(took)} fault trees as books of {kind}, read and asked"
    return Row(what, seconds(sum(took.values())), note=note)


def _by_book(chapter: str) -> int:
    return tellback.losses(book_of(chapter), QUESTION).count
