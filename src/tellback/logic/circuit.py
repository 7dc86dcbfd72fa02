"""Gates over yes/no events, each held once: a function as it is built up, without any diagram.

A *term* is a gate or an event, or the negation of one: the number of the gate or event times two,
plus one if it is negated. So the negation of a term is ``term ^ 1``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

TRUE, FALSE = 0, 1

Kind = Literal["constant", "event", "all", "at least"]


@dataclass(frozen=True, slots=True)
class Gate:
    """An event, or what holds if all (or at least `number`) of the parts do."""

    kind: Kind
    parts: tuple[int, ...] = ()
    number: int = 0


class Circuit:
    """The gates made so far, parts before what is made of them; equal gates are the same gate."""

    def __init__(self) -> None:
        self.gates = [Gate("constant")]
        self._known: dict[Gate, int] = {}

    def event(self) -> int:
        """The term of a new event."""
        return self._add(Gate("event"))

    def all_of(self, parts: Iterable[int]) -> int:
        """The term that all the parts hold."""
        kept = dict.fromkeys(part for part in parts if part != TRUE)
        if FALSE in kept or any(part ^ 1 in kept for part in kept):
            return FALSE
        if len(kept) < 2:
            return next(iter(kept), TRUE)
        return self._once(Gate("all", tuple(kept)))

    def any_of(self, parts: Iterable[int]) -> int:
        """The term that some part holds."""
        return self.all_of(part ^ 1 for part in parts) ^ 1

    def at_least(self, number: int, parts: Sequence[int]) -> int:
        """The term that so many parts hold; each counts as often as it is given."""
        open_parts = tuple(part for part in parts if part not in (TRUE, FALSE))
        number -= sum(part == TRUE for part in parts)
        if number <= 0:
            return TRUE
        if number > len(open_parts):
            return FALSE
        if number == 1:
            return self.any_of(open_parts)
        if number == len(open_parts):
            return self.all_of(open_parts)
        return self._once(Gate("at least", open_parts, number))

    def like(self, gate: Gate, parts: Sequence[int]) -> int:
        """The term of a gate of the same kind over other parts."""
        return self.all_of(parts) if gate.kind == "all" else self.at_least(gate.number, parts)

    def _once(self, gate: Gate) -> int:
        if gate not in self._known:
            self._known[gate] = self._add(gate)
        return self._known[gate]

    def _add(self, gate: Gate) -> int:
        self.gates.append(gate)
        return 2 * (len(self.gates) - 1)

    # -- what is below a term ---------------------------------------------------------------

    def below(self, *terms: int) -> list[int]:
        """The gates and events that terms are made of, their own included, parts first."""
        met = bytearray(len(self.gates))
        waiting = [term >> 1 for term in terms]
        while waiting:
            number = waiting.pop()
            if not met[number]:
                met[number] = 1
                waiting += [part >> 1 for part in self.gates[number].parts]
        return [number for number, seen in enumerate(met) if seen]

    def at_rest(self, numbers: Iterable[int]) -> dict[int, bool]:
        """Whether each gate (given with all below it, parts first) holds while no event does."""
        holds = {0: True}
        for number in numbers:
            gate = self.gates[number]
            if gate.kind in ("all", "at least"):
                held = sum(holds[part >> 1] != bool(part & 1) for part in gate.parts)
                holds[number] = held >= (gate.number or len(gate.parts))
            elif gate.kind == "event":
                holds[number] = False
        return holds


def joined(circuit: Circuit, top: int) -> int:
    """The same function with each gate joined into the only one that needs it, if of its kind."""
    needed = [0] * len(circuit.gates)
    numbers = circuit.below(top)
    for number in numbers:
        for part in circuit.gates[number].parts:
            needed[part >> 1] += 1
    terms: dict[int, int] = {}
    for number in numbers:
        gate = circuit.gates[number]
        terms[number] = 2 * number
        if gate.parts:
            parts: list[int] = []
            for part in gate.parts:
                term = terms[part >> 1] ^ (part & 1)
                inner = circuit.gates[term >> 1]
                single = needed[part >> 1] == 1 and not term & 1
                if single and gate.kind == inner.kind == "all":
                    parts += inner.parts
                else:
                    parts.append(term)
            terms[number] = circuit.like(gate, parts)
    return terms[top >> 1] ^ (top & 1)
