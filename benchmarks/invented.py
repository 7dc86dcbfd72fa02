"""Invented fault trees of the shape of a plant: so that gains are not tuned to published files.

Systems of redundant trains, of which all must fail, or two. Each train has parts of its own and
needs some support systems, which have trains too and need one another; a train of support may be
replaced by its neighbour. What is looked for is that several systems are lost at once.
"""

from __future__ import annotations

from random import Random

from tests.fault_trees import Gate, Tree

SIZES = {
    "plant of 3 trains": (2, 6, 3, 8),
    "plant of 4 trains": (4, 6, 4, 8),
}
"""For each tree its seed, and how many systems, trains and support systems it has."""


def invented(name: str) -> Tree:
    """The invented tree of that name."""
    return _Plant(*SIZES[name]).tree()


class _Plant:
    def __init__(self, seed: int, systems: int, trains: int, supports: int) -> None:
        self.random = Random(seed)
        self.systems, self.trains, self.supports = systems, trains, supports
        self.gates: dict[str, Gate] = {}
        self.events: dict[str, float] = {}

    def tree(self) -> Tree:
        for number in range(self.supports):
            for train in range(self.trains):
                self._support(number, train)
        lost = [self._system(number) for number in range(self.systems)]
        cases = []
        for case in range(self.systems - 1):
            together = self.random.sample(lost, self.random.randint(2, 3))
            cases.append(
                self._gate(f"case {case}", "all", [self._event(f"cause {case}"), *together])
            )
        top = self._gate("top", "any", cases)
        needed, waiting = set(), [top]
        while waiting:
            name = waiting.pop()
            if name not in needed:
                needed.add(name)
                waiting += self.gates[name].parts if name in self.gates else ()
        gates = {name: gate for name, gate in self.gates.items() if name in needed}
        events = {name: chance for name, chance in self.events.items() if name in needed}
        return Tree(top, gates, events, 0, "")

    def _support(self, number: int, train: int) -> None:
        name = f"support {number} {train}"
        parts = self._parts(name, 3, 10)
        parts += [
            f"support {other} {train}" for other in range(number) if self.random.random() < 0.35
        ]
        parts.append(self._event(f"support {number} all trains"))
        if number and self.random.random() < 0.5:
            other = f"support {self.random.randrange(number)} {(train + 1) % self.trains}"
            own = self._event(f"{name} change over")
            parts.append(self._gate(f"{name} replaced", "all", [other, own]))
        self._gate(name, "any", parts)

    def _system(self, number: int) -> str:
        trains = []
        for train in range(self.trains):
            name = f"system {number} {train}"
            parts = self._parts(name, 4, 12)
            for support in range(self.supports):
                if self.random.random() < 0.4:
                    near = self.random.random() < 0.8
                    other = train if near else self.random.randrange(self.trains)
                    parts.append(f"support {support} {other}")
            trains.append(self._gate(name, "any", parts))
        two = self.trains > 2 and self.random.random() < 0.4
        lost = self._gate(f"system {number}", "at least" if two else "all", trains, 2 * two)
        common = self._event(f"system {number} all trains")
        return self._gate(f"system {number} lost", "any", [lost, common])

    def _parts(self, name: str, least: int, most: int) -> list[str]:
        count = self.random.randint(least, most)
        return [self._event(f"{name} part {part}") for part in range(count)]

    def _event(self, name: str) -> str:
        self.events[name] = 1e-3
        return name

    def _gate(self, name: str, kind: str, parts: list[str], at_least: int = 0) -> str:
        self.gates[name] = Gate(kind, tuple(dict.fromkeys(parts)), at_least)
        return name
