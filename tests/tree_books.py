"""Fault trees as type books: units that fail, and a supply that is lost when the top gate holds.

A tree can be written in two ways. As *signs*, every gate is a means that says "this has gone
wrong", and the supply is shed when the top one holds. As *needs*, every gate is a unit or a supply
that works: what any part can stop is a unit that needs them all, what only all parts can stop is a
supply that each of them feeds.
"""

from __future__ import annotations

from tests.fault_trees import Gate, Tree, depth_first

TOP = "top supply"
QUESTION = f"{TOP} live"
"""What the tree's minimal sets take away."""

HEAD = "chapter: 24\ntitle: Fault tree\nsource: Tree\n"


def book_of_signs(tree: Tree) -> str:
    """The chapter of the tree with a means for every gate."""
    means = "".join(f"  {name}: {{when: '{_holds(tree, gate)}'}}\n" for name, gate in _gates(tree))
    shed = _wrong(tree, tree.top)
    return (
        f"{HEAD}means:\n{means}units:\n  source of power: {{}}\n{_events(tree)}"
        f"supplies:\n  {TOP}: {{fed by: [source of power], shed when: {shed}}}\n"
    )


def book_of_needs(tree: Tree) -> str:
    """The chapter of the tree with a unit or a supply for every gate."""
    units = [_unit(tree, name, gate) for name, gate in _gates(tree) if gate.kind != "all"]
    supplies = [_supply(name, gate) for name, gate in _gates(tree) if gate.kind == "all"]
    return (
        f"{HEAD}units:\n{_events(tree)}{''.join(units)}"
        f"supplies:\n  {TOP}: {{fed by: [{tree.top}]}}\n{''.join(supplies)}"
    )


def _gates(tree: Tree) -> list[tuple[str, Gate]]:
    return list(tree.gates.items())


def _events(tree: Tree) -> str:
    return "".join(f"  {name}: {{fails: [stops]}}\n" for name in depth_first(tree))


def _holds(tree: Tree, gate: Gate) -> str:
    """The condition that the gate is."""
    parts = ", ".join(_wrong(tree, part) for part in gate.parts)
    if gate.kind == "exactly one":
        return f"any of ({parts}) and not at least 2 of ({parts})"
    count = f"at least {gate.at_least}" if gate.kind == "at least" else gate.kind
    return f"{count} of ({parts})"


def _wrong(tree: Tree, part: str) -> str:
    return part if part in tree.gates else f"{part} failed"


def _supply(name: str, gate: Gate) -> str:
    return f"  {name}: {{fed by: [{', '.join(gate.parts)}]}}\n"


def _unit(tree: Tree, name: str, gate: Gate) -> str:
    """A unit that works as long as the gate does not hold."""
    working = [_works(tree, part) for part in gate.parts]
    if gate.kind == "any":
        return f"  {name}: {{needs: [{', '.join(working)}]}}\n"
    wrong = [f"not {part}" for part in working]
    runs = {
        "none": f"not all of ({', '.join(working)})",
        "exactly one": f"all of ({', '.join(working)}) or at least 2 of ({', '.join(wrong)})",
        "at least": f"at least {len(working) - gate.at_least + 1} of ({', '.join(working)})",
    }
    return f"  {name}: {{runs when: '{runs[gate.kind]}'}}\n"


def _works(tree: Tree, part: str) -> str:
    supply = part in tree.gates and tree.gates[part].kind == "all"
    return f"{part} live" if supply else f"{part} running"
