"""Cutting a circuit into modules: gates that share no event with anything outside them.

A module can be solved by itself, and stands for a single event in what needs it.
"""

from __future__ import annotations

from collections.abc import Collection

from tellback.logic.circuit import Circuit, joined


def cut(circuit: Circuit, top: int) -> tuple[int, list[int]]:
    """The same function with its modules as gates of their own, and those gates, parts first.

    Parts of one gate that are modules, or events needed nowhere else, are taken together as one.
    """
    top = _grouped(circuit, joined(circuit, top))
    alone = _standing_alone(circuit, top)
    return top, [n for n in circuit.below(top) if n in alone and circuit.gates[n].parts]


def _grouped(circuit: Circuit, top: int) -> int:
    alone = _standing_alone(circuit, top)
    terms: dict[int, int] = {}
    for number in circuit.below(top):
        gate = circuit.gates[number]
        parts = [terms[part >> 1] ^ (part & 1) for part in gate.parts]
        if gate.kind == "all":
            private = [
                term for term, part in zip(parts, gate.parts, strict=True) if part >> 1 in alone
            ]
            if 1 < len(private) < len(parts):
                rest = [term for term in parts if term not in private]
                parts = [circuit.all_of(private), *rest]
        terms[number] = circuit.like(gate, parts) if gate.parts else 2 * number
    return terms[top >> 1] ^ (top & 1)


def _standing_alone(circuit: Circuit, top: int) -> Collection[int]:
    """The gates that are modules, and the events that are needed once.

    Dutuit and Rauzy, "A linear-time algorithm to find modules of fault trees" (1996): what lies
    below a gate is met first and last between entering that gate and leaving it.
    """
    first: dict[int, int] = {}
    last: dict[int, int] = {}
    left: dict[int, int] = {}
    time = 0
    waiting: list[tuple[int, bool]] = [(top >> 1, False)]
    while waiting:
        number, leaving = waiting.pop()
        time += 1
        if leaving:
            left[number] = time
            continue
        last[number] = time
        if number not in first:
            first[number] = time
            waiting.append((number, True))
            waiting += [(part >> 1, False) for part in reversed(circuit.gates[number].parts)]
    earliest: dict[int, int] = {}
    latest: dict[int, int] = {}
    found = set()
    for number in circuit.below(top):
        parts = [part >> 1 for part in circuit.gates[number].parts]
        before = min((min(first[p], earliest[p]) for p in parts), default=time)
        after = max((max(last[p], latest[p]) for p in parts), default=0)
        earliest[number], latest[number] = before, after
        alone = before > first[number] and after < left[number]
        if alone if parts else first[number] == last[number]:
            found.add(number)
    return found


def within(circuit: Circuit, top: int, leaves: Collection[int]) -> list[int]:
    """The gates below a gate, itself included, as far as the leaves; parts first."""
    met = {top}
    waiting = [top]
    while waiting:
        parts = {part >> 1 for part in circuit.gates[waiting.pop()].parts} - met
        inner = [part for part in parts if part not in leaves]
        met.update(inner)
        waiting += inner
    return sorted(met)
