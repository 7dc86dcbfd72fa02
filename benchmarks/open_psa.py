"""Fault trees in the Open-PSA Model Exchange Format, as the trees of the tests are.

Only what such trees need: gates, basic events and house events, and the connectives
`and or not atleast xor nor nand`. A gate within a gate gets a name of its own.
"""

from __future__ import annotations

import csv
import xml.etree.ElementTree as Xml
from pathlib import Path

from tests.fault_trees import Gate, Tree

KINDS = {"and": "all", "or": "any", "nor": "none", "atleast": "at least", "xor": "exactly one"}


def published_trees(folder: Path) -> list[str]:
    """The names of `published.csv`, the smallest file first."""
    return sorted(_published(folder), key=lambda name: _file(folder, name).stat().st_size)


def read_open_psa(folder: Path, name: str) -> Tree:
    """The tree of that name in a folder, with what was published of it."""
    return _Reader(_file(folder, name)).tree(_published(folder)[name])


def _published(folder: Path) -> dict[str, dict[str, str]]:
    with (folder / "published.csv").open(encoding="utf-8") as lines:
        return {row["tree"]: row for row in csv.DictReader(lines)}


def _file(folder: Path, name: str) -> Path:
    return folder / f"{name}.xml"


class _Reader:
    """Reads one file."""

    def __init__(self, path: Path) -> None:
        self.model = Xml.parse(path).getroot()
        self.gates: dict[str, Gate] = {}
        self.events: dict[str, float] = {}

    def tree(self, published: dict[str, str]) -> Tree:
        """The tree with what was published of it; its top is the gate that no other needs."""
        for event in self.model.iter("define-basic-event"):
            value = event.find("float")
            self.events[event.attrib["name"]] = (
                0.0 if value is None else float(value.attrib["value"])
            )
        defined = [(gate.attrib["name"], gate) for gate in self.model.iter("define-gate")]
        for name, gate in defined:
            self.gates[name] = self._gate(name, next(part for part in gate if part.tag != "label"))
        needed = {part for gate in self.gates.values() for part in gate.parts}
        (top,) = [name for name, _ in defined if name not in needed]
        return Tree(
            top,
            self.gates,
            self.events,
            int(published["minimal_cut_sets"]),
            published["top_probability"],
        )

    def _gate(self, name: str, of: Xml.Element) -> Gate:
        if of.tag in ("gate", "basic-event", "event"):
            return Gate("all", (of.attrib["name"],))
        parts = tuple(self._part(f"{name} {n}", part) for n, part in enumerate(of))
        if of.tag == "not":
            return Gate("none", parts)
        return Gate(KINDS[of.tag], parts, int(of.attrib.get("min", 0)))

    def _part(self, name: str, part: Xml.Element) -> str:
        if part.tag in ("gate", "basic-event", "event"):
            return part.attrib["name"]
        self.gates[name] = self._gate(name, part)
        return name
