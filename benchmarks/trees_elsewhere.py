"""Counting minimal sets with general-purpose libraries, as their users would in the plain way.

The plain recursion: the tree as a diagram of `oxidd`, its events depth first from the left, and
from it Rauzy's minimal solutions as a zero-suppressed diagram of the same library.

With a library of decision diagrams: the tree as a diagram, then the solutions that stay none when
any one failure is taken out of them, and the library's own count. With a library of SAT and
hitting sets: propose the smallest set that meets the complement of every safe set found so far,
try it, and either note it or grow a safe set around it; this needs a tree without `not`.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from functools import reduce
from operator import and_, or_
from typing import Any

from benchmarks.trees import tree_named
from tests.fault_trees import Gate, Tree, depth_first


def with_dd(name: str) -> int:
    """The number of minimal sets by `dd`, in pure Python."""
    from dd.autoref import BDD

    tree = tree_named(name)
    bdd = BDD()
    bdd.declare(*depth_first(tree))
    events = {event: bdd.var(event) for event in tree.events}
    top = _top(tree, events, bdd.true, bdd.false)

    def ignoring(node: Any, event: str) -> Any:
        return bdd.exist([event], node)

    return int(bdd.count(_minimal(top, events, ignoring), nvars=len(events)))


def with_oxidd(name: str) -> int:
    """The number of minimal sets by `oxidd`, in Rust."""
    from oxidd.bdd import BDDManager

    tree = tree_named(name)
    order = depth_first(tree)
    manager = BDDManager(1 << 26, 1 << 22, 1)
    manager.add_vars(len(order))
    events = {event: manager.var(level) for level, event in enumerate(order)}
    top = _top(tree, events, manager.true(), manager.false())

    def ignoring(node: Any, event: str) -> Any:
        return node.exists(events[event])

    return int(_minimal(top, events, ignoring).sat_count(len(order)))


def with_recursion(name: str) -> int:
    """The number of minimal sets by Rauzy's recursion over the diagrams of `oxidd`."""
    from oxidd.bdd import BDDManager

    tree = tree_named(name)
    order = depth_first(tree)
    sys.setrecursionlimit(100_000)
    manager = BDDManager(1 << 25, 1 << 20, 1)
    manager.add_vars(len(order))
    events = {event: manager.var(level) for level, event in enumerate(order)}
    top = _top(tree, events, manager.true(), manager.false())
    return _solutions(top, manager, len(order))


def _solutions(top: Any, manager: Any, events: int) -> int:
    """How many minimal solutions a function has, made a zero-suppressed diagram of `oxidd`."""
    from oxidd.zbdd import ZBDDManager

    families = ZBDDManager(1 << 25, 1 << 20, 1)
    families.add_vars(events)
    none, empty_set = families.empty(), families.base()
    single = [families.singleton(level) for level in range(events)]
    known = {manager.false(): none, manager.true(): empty_set}
    known_without: dict[Any, Any] = {}
    counts = {none: 0, empty_set: 1}

    def minimal(function: Any) -> Any:
        found = known.get(function)
        if found is None:
            failed, holding = function.cofactors()
            lacking = minimal(holding)
            having = without(minimal(failed), lacking)
            level = function.node_level()
            found = lacking if having == none else single[level].make_node(having, lacking)
            known[function] = found
        return found

    def without(kept: Any, barring: Any) -> Any:
        if kept in (none, barring) or barring == empty_set:
            return none
        if barring == none or kept == empty_set:
            return kept
        key = (kept, barring)
        found = known_without.get(key)
        if found is None:
            level, other = kept.node_level(), barring.node_level()
            if other < level:
                found = without(kept, barring.cofactor_false())
            else:
                having, lacking = kept.cofactors()
                below = barring
                if other == level:
                    barred, below = barring.cofactors()
                    having = without(having, barred)
                having, lacking = without(having, below), without(lacking, below)
                found = lacking if having == none else single[level].make_node(having, lacking)
            known_without[key] = found
        return found

    def count(family: Any) -> int:
        if family not in counts:
            counts[family] = sum(map(count, family.cofactors()))
        return counts[family]

    return count(minimal(top))


def _minimal(top: Any, events: Mapping[str, Any], ignoring: Callable[[Any, str], Any]) -> Any:
    """The solutions of the least that brings about the top, no part of which does."""
    for event, failed in events.items():
        top = top | (failed & ignoring(top & ~failed, event))
    least = top
    for event, failed in events.items():
        least = least & ~(failed & ignoring(top & ~failed, event))
    return least


def with_pysat(name: str) -> int:
    """The number of minimal sets by `python-sat`: its enumerator of hitting sets in a loop."""
    from pysat.examples.hitman import Hitman

    tree = tree_named(name)
    if any(gate.kind in ("none", "exactly one") for gate in tree.gates.values()):
        raise ValueError("the tree has `not`")
    found = 0
    with Hitman(solver="g4", htype="sorted") as proposals:
        proposals.hit(list(tree.events))
        while (proposed := proposals.get()) is not None:
            safe = set(proposed)
            if _fails(tree, safe):
                found += 1
                proposals.block(proposed)
                continue
            for event in tree.events:
                if event not in safe and not _fails(tree, safe | {event}):
                    safe.add(event)
            proposals.hit([event for event in tree.events if event not in safe])
    return found


def _fails(tree: Tree, failed: set[str]) -> bool:
    """Whether the top holds when exactly these have failed."""
    states = {event: event in failed for event in tree.events}
    return bool(_top(tree, states, True, False))


def _top(tree: Tree, events: Mapping[str, Any], true: Any, false: Any) -> Any:
    """The top in whatever algebra the events are in."""
    known = dict(events)

    def value(name: str) -> Any:
        if name not in known:
            gate = tree.gates[name]
            known[name] = _gate(gate, [value(part) for part in gate.parts], true, false)
        return known[name]

    return value(tree.top)


def _gate(gate: Gate, parts: list[Any], true: Any, false: Any) -> Any:
    match gate.kind:
        case "all":
            return reduce(and_, parts, true)
        case "any":
            return reduce(or_, parts, false)
        case "none":
            return ~reduce(or_, parts, false)
        case "exactly one":
            return _at_least(1, parts, true, false) & ~_at_least(2, parts, true, false)
    return _at_least(gate.at_least, parts, true, false)


def _at_least(number: int, parts: list[Any], true: Any, false: Any) -> Any:
    reached = [true] + [false] * number
    for part in parts:
        for n in range(number, 0, -1):
            reached[n] = reached[n] | (reached[n - 1] & part)
    return reached[number]
