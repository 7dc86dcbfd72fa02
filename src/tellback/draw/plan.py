"""The plan of one diagram: boxes with their places, wires with their bends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

from tellback.book.model import Control, Supply, Thing, Unit
from tellback.draw.boxes import Box, Need, box_of, outlet_box
from tellback.draw.elk import Graph, Layout, Point, laid_out
from tellback.draw.standing import CARRIES, DEAD, ON, READY, Stand, Standing
from tellback.draw.wiring import FEEDS, NEEDS, Wire, Wiring

OPTIONS = {
    "elk.algorithm": "layered",
    "elk.edgeRouting": "ORTHOGONAL",
    "elk.padding": "[top=2,left=2,bottom=2,right=2]",
    "elk.aspectRatio": "1.9",
    "elk.spacing.nodeNode": "16",
    "elk.spacing.edgeNode": "14",
    "elk.spacing.edgeEdge": "9",
    "elk.spacing.componentComponent": "22",
    "elk.layered.spacing.nodeNodeBetweenLayers": "28",
    "elk.layered.spacing.edgeNodeBetweenLayers": "14",
    "elk.layered.spacing.edgeEdgeBetweenLayers": "9",
    "elk.layered.nodePlacement.strategy": "NETWORK_SIMPLEX",
    "elk.layered.considerModelOrder.strategy": "NODES_AND_EDGES",
    "elk.layered.considerModelOrder.crossingCounterNodeInfluence": "0.1",
    "elk.layered.unnecessaryBendpoints": "false",
    "elk.randomSeed": "1",
}
IN_ROWS = {
    "elk.partitioning.activate": "true",
    "elk.separateConnectedComponents": "false",
    "elk.layered.crossingMinimization.semiInteractive": "true",
}
IN_ORDER = {"elk.layered.crossingMinimization.forceNodeModelOrder": "true"}
DOWN, RIGHT = "DOWN", "RIGHT"
ROOM = 1248.0, 584.0
"""The width and height that a diagram may take on a sheet."""

_SIDES = {DOWN: ("NORTH", "SOUTH"), RIGHT: ("WEST", "EAST")}


COIL = "coil"
"""A wire that only works a switch."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A box and its upper left corner."""

    box: Box
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """A wire as it is drawn: its bends from end to end, and where it branches off another.

    Its kind may be a `coil`, too; `current` tells what is on it.
    """

    source: str
    target: str
    kind: str
    current: str
    points: tuple[Point, ...]
    branches: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """All boxes and lines of a diagram of that size."""

    boxes: tuple[Placed, ...]
    lines: tuple[Drawn, ...]
    width: float
    height: float

    @property
    def crowding(self) -> float:
        """How much of the room of a sheet it takes, by its tighter side."""
        return max(self.width / ROOM[0], self.height / ROOM[1])

    @property
    def crossings(self) -> int:
        """How often lines that do not come from the same box cross."""
        pieces = [(line.source, *ends) for line in self.lines for ends in pairwise(line.points)]
        level = [piece for piece in pieces if piece[1][1] == piece[2][1]]
        upright = [piece for piece in pieces if piece[1][0] == piece[2][0]]
        return sum(
            one != other and _is_between(x, a, b) and _is_between(y, c, d)
            for one, (a, y), (b, _) in level
            for other, (x, c), (_, d) in upright
        )


@dataclass(frozen=True)
class Ground:
    """What a drawing is made of: the wiring, the things by name, how they stand.

    `order` are things whose order from left to right is given; all else stands left before right,
    in the order of the book. `rows` gives those that the book puts in a row, counted from above.
    """

    wiring: Wiring
    things: Mapping[str, Thing]
    standing: Standing
    order: tuple[str, ...] = ()
    rows: Mapping[str, int] = field(default_factory=dict)

    def is_in_rows(self, names: Iterable[str]) -> bool:
        """Whether the book puts some of these things in rows."""
        return any(name in self.rows for name in names)

    def rank(self, name: str) -> tuple[int, int]:
        """What a thing's place among others is sorted by."""
        if name in self.order:
            return 0, self.order.index(name)
        words = name.casefold().split()
        side = -1 if "left" in words else 1 if "right" in words else 0
        return side, self._places[name]

    @cached_property
    def _places(self) -> dict[str, int]:
        return {name: place for place, name in enumerate(self.things)}


def planned(ground: Ground, here: Collection[str], way: str, in_order: bool = False) -> Plan:
    """The diagram of those nodes of the wiring that are `here`, laid out DOWN or RIGHT.

    Strictly `in_order`, or as far as lines cross no more for that. What feeds the nodes from
    elsewhere is drawn as a box of its own; what they need that is drawn on no sheet stands in their
    boxes.
    """
    boxes, lines = _Parts(ground, frozenset(here)).all()
    options = {**OPTIONS, "elk.direction": way, **(IN_ORDER if in_order else {})}
    if ground.is_in_rows(here):
        options |= IN_ROWS
    pinned = {name: _pinned(ground, name) for name in boxes if name in ground.rows}
    layout = laid_out(_graph(boxes, lines, way, options, pinned))
    return _plan(boxes, lines, layout)


def _pinned(ground: Ground, name: str) -> dict[str, str]:
    """The row of a thing, and its place among others from left to right."""
    place = ground.order.index(name)
    return {"elk.partitioning.partition": str(ground.rows[name]), "elk.position": f"({place},0)"}


def _is_between(middle: float, one: float, other: float) -> bool:
    return min(one, other) < middle < max(one, other)


def is_in_a_box(wire: Wire, wiring: Wiring) -> bool:
    """Whether what is needed stands in the box of what needs it, since it is on no sheet."""
    return wire.kind == NEEDS and wire.source not in wiring.nodes


@dataclass(frozen=True, slots=True)
class _Line:
    source: str
    target: str
    kind: str
    current: str


@dataclass(frozen=True, slots=True)
class _Parts:
    """What belongs to the diagram of the things that are here."""

    ground: Ground
    here: frozenset[str]

    def all(self) -> tuple[dict[str, Box], list[_Line]]:
        """The boxes, those on the left first, and the lines between them."""
        wiring, standing = self.ground.wiring, self.ground.standing
        wires = [wire for wire in wiring.wires if self._is_drawn(wire)]
        lines = [
            _Line(w.source, w.target, COIL if w.coil else w.kind, standing.current(w))
            for w in wires
        ]
        ends = Counter(end for line in lines for end in (line.source, line.target))
        ranks = self._ranks(lines)
        boxes = {
            name: self._box(name, ends[name])
            for name in sorted(self.here.union(ends), key=ranks.__getitem__)
        }
        for supply, chapters in wiring.outlets.items():
            if supply in self.here:
                live = boxes[supply].stand.mark == ON
                outlet = outlet_box(supply, chapters, live)
                boxes[outlet.key] = outlet
                lines.append(_Line(supply, outlet.key, NEEDS, CARRIES if live else DEAD))
        return boxes, lines

    def _ranks(self, lines: Iterable[_Line]) -> dict[str, tuple[tuple[int, int], ...]]:
        """What boxes are sorted by; beside things in a given order, all else as these have it."""
        rank = self.ground.rank
        ranks: dict[str, tuple[tuple[int, int], ...]] = {name: (rank(name),) for name in self.here}
        given = not self.here.isdisjoint(self.ground.order)
        for line in lines:
            for name, other in ((line.source, line.target), (line.target, line.source)):
                if name not in self.here:
                    found = (rank(other), rank(name)) if given else (rank(name),)
                    ranks[name] = min(ranks.get(name, found), found)
        return ranks

    def _is_drawn(self, wire: Wire) -> bool:
        """What comes here or may come here is, and what goes from here to a supply elsewhere."""
        if wire.target in self.here:
            return not is_in_a_box(wire, self.ground.wiring)
        feeds = wire.kind == FEEDS and isinstance(self.ground.things[wire.target], Supply)
        return wire.source in self.here and (feeds or wire.either_way)

    def _box(self, name: str, lines: int) -> Box:
        ground = self.ground
        thing = ground.things[name]
        needs = tuple(
            Need(wire.source, ground.standing.carries(wire))
            for wire in ground.wiring.wires
            if wire.target == name and is_in_a_box(wire, ground.wiring)
        )
        away = name not in self.here and not isinstance(thing, Control)
        return box_of(thing, self._stand(thing), needs, lines, away)

    def _stand(self, thing: Thing) -> Stand:
        """How a thing stands; one that feeds lead through is live only if one of them is."""
        ground = self.ground
        stand = ground.standing.of(thing)
        feeds = [w for w in ground.wiring.wires if w.kind == FEEDS]
        through = isinstance(thing, Unit) and any(w.target == thing.name for w in feeds)
        if stand.mark != ON or not through:
            return stand
        at_it = (w for w in feeds if thing.name in (w.source, w.target))
        live = any(ground.standing.current(wire) != DEAD for wire in at_it)
        return stand if live else replace(stand, mark=READY)


def _graph(
    boxes: dict[str, Box],
    lines: list[_Line],
    way: str,
    options: dict[str, str],
    pinned: Mapping[str, dict[str, str]],
) -> Graph:
    """ELK's graph: one port for all that leaves a box, one for each line that comes."""
    before, after = _SIDES[way]
    ports: dict[str, list[dict[str, object]]] = {key: [] for key in boxes}
    edges = []
    for number, line in enumerate(lines):
        out, into = f"{line.source}|out", f"{line.target}|{number}"
        if all(port["id"] != out for port in ports[line.source]):
            ports[line.source].append(_port(out, after))
        ports[line.target].append(_port(into, before))
        edges.append({"id": f"e{number}", "sources": [out], "targets": [into]})
    children = [
        {
            "id": key,
            "width": box.width,
            "height": box.height,
            "ports": ports[key],
            "layoutOptions": {"elk.portConstraints": "FIXED_SIDE", **pinned.get(key, {})},
        }
        for key, box in boxes.items()
    ]
    return {
        "id": "all",
        "layoutOptions": options,
        "children": children,
        "edges": edges,
    }


def _port(key: str, side: str) -> dict[str, object]:
    return {"id": key, "width": 0, "height": 0, "layoutOptions": {"elk.port.side": side}}


def _plan(boxes: dict[str, Box], lines: list[_Line], layout: Layout) -> Plan:
    placed = tuple(Placed(boxes[key], *corner) for key, corner in layout.nodes.items())
    drawn = tuple(
        Drawn(line.source, line.target, line.kind, line.current, found.points, found.branches)
        for line, found in zip(lines, layout.lines, strict=True)
    )
    return Plan(placed, drawn, layout.width, layout.height)
