"""What a move may change in some state or other, by what the statements of the book look at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from tellback.logic.facts import Facts
from tellback.logic.formula import Formula, Key, Lit, leaves
from tellback.logic.symbols import changes_of
from tellback.logic.system import System

Node = str | Key
"""A variable, or a value that follows."""

Looking = Mapping[Node, list[tuple[Node, Lit | None]]]
"""For each node those whose statements look at it; at a variable, for which of its values."""


def may_change(facts: Facts, moved: str, between: tuple[int, int]) -> tuple[str, ...]:
    """What may be otherwise at once after a move between two places, in some state or other.

    And the memories, surfaces and moving readings that it may set off, not what comes of these.
    The nearest first: those whose own statements look at the move, then those that look at
    these, and so on. What is not among them it changes and sets off in no state; of what is, that
    it ever does is not shown.
    """
    system = facts.picture.system
    looking = _looking(system)
    places = {thing.name: i for i, thing in enumerate(facts.picture.book.things)}
    told: dict[str, None] = {}
    seen: set[Node] = set()
    ring = [node for node, lit in looking.get(moved, ()) if lit and _tells_apart(lit, between)]
    while ring:
        near, farther = set[str](), list[Node]()
        for node in ring:  # grows by what belongs to the same thing
            if node in seen:
                continue
            seen.add(node)
            near.update(name for name, _ in facts.told_by.get(node, ()))
            for other, _ in looking.get(node, ()) if isinstance(node, tuple) else ():
                same = _owner(system, other) == _owner(system, node)
                (ring if same else farther).append(other)
        told |= dict.fromkeys(sorted(near - told.keys(), key=places.__getitem__))
        ring = farther
    told.pop(system.variables[moved].thing, None)
    return tuple(told)


def _tells_apart(lit: Lit, places: Iterable[int]) -> bool:
    """Whether a literal is so in one of two places alone."""
    return len(lit.values.intersection(places)) == 1


def _owner(system: System, node: Node) -> str:
    return system.variables[node].thing if isinstance(node, str) else node[0]


def _looking(system: System) -> Looking:
    """What looks at what directly: values that follow, and what changes the memories."""
    # A lock changes nothing by itself.
    stated: dict[Node, list[Formula]] = {key: [f] for key, f in system.values.items()}
    stated.update(changes_of(replace(system, bars=())))
    found: dict[Node, list[tuple[Node, Lit | None]]] = {}
    for node, formulas in stated.items():
        for leaf in (leaf for formula in formulas for leaf, _ in leaves(formula)):
            if isinstance(leaf, Lit):
                found.setdefault(leaf.variable, []).append((node, leaf))
            else:
                found.setdefault(leaf.key, []).append((node, None))
    return found
