"""Published fault trees in a plain notation of our own: reading them, and making them functions.

One gate or event a line, in any order; what stands behind ``#`` in the head is read as well::

    # published minimal sets: 2
    # published top probability: 2.0E-04
    # top: tank
    tank = any of (ruptures, overfed)
    overfed = all of (valve open, relay stuck)
    ruptures: 1e-4

A gate is ``all of``, ``any of``, ``none of``, ``exactly one of`` or ``at least N of`` gates and
events; an event has its probability.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tellback.logic.circuit import Circuit
from tellback.logic.space import Node, Space

FOLDER = Path(__file__).parent / "data" / "fault-trees"
HEAD = re.compile(r"# (published minimal sets|published top probability|top): (.+)")
GATE = re.compile(r"(.+?) = (all|any|none|exactly one|at least (\d+)) of \((.+)\)")
EVENT = re.compile(r"(.+?): (\S+)")


@dataclass(frozen=True, slots=True)
class Gate:
    """One gate: how many of its parts it asks for (`at_least` is 0 unless it counts them)."""

    kind: str
    parts: tuple[str, ...]
    at_least: int = 0


@dataclass(frozen=True, slots=True)
class Tree:
    """A fault tree, with what was published of it (as printed, the probability is text)."""

    top: str
    gates: dict[str, Gate]
    events: dict[str, float]
    published_sets: int
    published_probability: str


def read_tree(path: Path) -> Tree:
    """The tree in a file."""
    return parse_tree(path.read_text(encoding="utf-8"))


def parse_tree(text: str) -> Tree:
    """The tree in a text. Raises ValueError for a line that is none of the above."""
    head: dict[str, str] = {}
    gates: dict[str, Gate] = {}
    events: dict[str, float] = {}
    for line in filter(None, map(str.strip, text.splitlines())):
        if line.startswith("#"):
            head.update(HEAD.findall(line))
        elif found := GATE.fullmatch(line):
            kind = "at least" if found[3] else found[2]
            gates[found[1]] = Gate(kind, tuple(found[4].split(", ")), int(found[3] or 0))
        elif found := EVENT.fullmatch(line):
            events[found[1]] = float(found[2])
        else:
            raise ValueError(f"neither gate nor event: {line}")
    return Tree(
        head["top"],
        gates,
        events,
        int(head["published minimal sets"]),
        head["published top probability"],
    )


def depth_first(tree: Tree) -> list[str]:
    """The events in the order in which they are met from the top, left to right."""
    met: dict[str, None] = {}
    waiting = [tree.top]
    while waiting:
        name = waiting.pop()
        if name not in met:
            met[name] = None
            if name in tree.gates:
                waiting.extend(reversed(tree.gates[name].parts))
    return [name for name in met if name in tree.events]


def space_of(tree: Tree) -> Space:
    """A space of the tree's events: 1 is failed."""
    return Space([(name, 2) for name in depth_first(tree)])


def node_of(tree: Tree, space: Space) -> Node:
    """The tree's top in a space that has its events."""
    known: dict[str, Node] = {}

    def node(name: str) -> Node:
        if name not in known:
            known[name] = gate(tree.gates[name]) if name in tree.gates else failed(name)
        return known[name]

    def failed(name: str) -> Node:
        return space.literal(name, (1,))

    def gate(of: Gate) -> Node:
        return combine(space, of, [node(part) for part in of.parts])

    return node(tree.top)


def combine(space: Space, gate: Gate, parts: Sequence[Node]) -> Node:
    """The gate over its parts."""
    ways: dict[str, Callable[[], Node]] = {
        "all": lambda: space.all_of(parts),
        "any": lambda: space.any_of(parts),
        "none": lambda: ~space.any_of(parts),
        "exactly one": lambda: space.any_of(parts) & ~space.at_least(2, parts),
        "at least": lambda: space.at_least(gate.at_least, parts),
    }
    return ways[gate.kind]()


def circuit_of(tree: Tree) -> tuple[Circuit, int, dict[int, tuple[str, int]]]:
    """The tree as a circuit: with the term of its top, and what each event stands for."""
    circuit = Circuit()
    terms = {name: circuit.event() for name in tree.events}
    modes = {term >> 1: (name, 1) for name, term in terms.items()}
    waiting = [tree.top]
    while waiting:
        name = waiting[-1]
        missing = [] if name in terms else [p for p in tree.gates[name].parts if p not in terms]
        waiting += missing
        if not missing:
            waiting.pop()
            if name not in terms:
                gate = tree.gates[name]
                terms[name] = _term(circuit, gate, [terms[part] for part in gate.parts])
    return circuit, terms[tree.top], modes


def _term(circuit: Circuit, gate: Gate, parts: Sequence[int]) -> int:
    ways: dict[str, Callable[[], int]] = {
        "all": lambda: circuit.all_of(parts),
        "any": lambda: circuit.any_of(parts),
        "none": lambda: circuit.any_of(parts) ^ 1,
        "exactly one": lambda: circuit.all_of(
            [circuit.any_of(parts), circuit.at_least(2, parts) ^ 1]
        ),
        "at least": lambda: circuit.at_least(gate.at_least, parts),
    }
    return ways[gate.kind]()
