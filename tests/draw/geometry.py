"""What stands where on a sheet, read back from its SVG, and what is wrong with that."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise
from xml.etree import ElementTree

from tellback.draw.lettering import SIZE, width

SVG = "{http://www.w3.org/2000/svg}"
WIDE, HIGH = 1280.0, 720.0
LEAST = 14.0
"""The smallest lettering that is read from the back row, in pixels of a projected sheet."""

Point = tuple[float, float]


@dataclass(frozen=True)
class Area:
    """A rectangle on the sheet; `owner` is what it stands for."""

    owner: str
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Area, slack: float = 0.0) -> bool:
        """Whether two areas overlap by more than the slack."""
        return (
            self.left + slack < other.right
            and other.left + slack < self.right
            and self.top + slack < other.bottom
            and other.top + slack < self.bottom
        )

    def holds(self, other: Area) -> bool:
        """Whether the other lies within."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )


@dataclass(frozen=True)
class Line:
    """A wire's bends, and the things at its ends."""

    source: str
    target: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Sheet:
    """All lettering with its size, all boxes, all wires; and the sheet itself."""

    page: Area
    texts: tuple[tuple[Area, float, str], ...]
    boxes: tuple[Area, ...]
    lines: tuple[Line, ...]


def read_sheet(svg: str) -> Sheet:
    """What stands on a sheet."""
    texts, boxes, lines = [], [], []
    root = ElementTree.fromstring(svg)
    page = Area("page", 0, 0, float(root.get("width", WIDE)), float(root.get("height", HIGH)))
    for element, place, owner, first in _walk(root, Place(), "", False):
        if element.tag == f"{SVG}text":
            texts.append(_text(element, place, owner))
        elif element.tag == f"{SVG}rect" and owner and first:
            boxes.append(_rect(element, place, owner))
        elif element.tag == f"{SVG}polyline":
            lines.append(_line(element, place))
    return Sheet(page, tuple(texts), tuple(boxes), tuple(lines))


def faults(sheet: Sheet) -> Iterator[str]:
    """What a reader would stumble over."""
    yield from _of_texts(sheet)
    for box in sheet.boxes:
        if not sheet.page.holds(box):
            yield f"{box.owner} leaves the sheet"
    for one, other in combinations(sheet.boxes, 2):
        if one.meets(other):
            yield f"{one.owner} and {other.owner} overlap"
    for line in sheet.lines:
        yield from _of_line(line, sheet)
    for line, along in combinations(sheet.lines, 2):
        if line.source != along.source and _run_along(line, along):
            yield (
                f"the lines from {line.source} to {line.target} and "
                f"from {along.source} to {along.target} run over one another"
            )


def _of_texts(sheet: Sheet) -> Iterator[str]:
    for area, size, text in sheet.texts:
        if size < LEAST:
            yield f"“{text}” is lettered in {size}"
        if not sheet.page.holds(area):
            yield f"“{text}” leaves the sheet"
        frames = [box for box in sheet.boxes if box.owner == area.owner]
        if area.owner and not any(frame.holds(area) for frame in frames):
            yield f"“{text}” leaves the box of {area.owner}"
        if not area.owner:
            for box in sheet.boxes:
                if box.meets(area):
                    yield f"{box.owner} covers “{text}”"
    for (one, _, text), (other, _, again) in combinations(sheet.texts, 2):
        if one.meets(other, slack=0.5):
            yield f"“{text}” and “{again}” overlap"


def _of_line(line: Line, sheet: Sheet) -> Iterator[str]:
    for one, other in pairwise(line.points):
        piece = _piece(one, other)
        if abs(one[0] - other[0]) > 0.01 and abs(one[1] - other[1]) > 0.01:
            yield f"the line from {line.source} to {line.target} is slanting"
        if not sheet.page.holds(piece):
            yield f"the line from {line.source} to {line.target} leaves the sheet"
        for box in sheet.boxes:
            inside = Area("", box.left + 1, box.top + 1, box.right - 1, box.bottom - 1)
            if _crosses(piece, inside):
                yield f"the line from {line.source} to {line.target} crosses {box.owner}"
        for area, _, text in sheet.texts:
            if not area.owner and _crosses(piece, area):
                yield f"the line from {line.source} to {line.target} crosses “{text}”"
    for end, point in ((line.source, line.points[0]), (line.target, line.points[-1])):
        if not any(box.owner == end and _is_on_border(box, point) for box in sheet.boxes):
            yield f"the line from {line.source} to {line.target} does not reach {end}"


def _piece(one: Point, other: Point) -> Area:
    (left, right), (top, bottom) = (sorted(pair) for pair in zip(one, other, strict=True))
    return Area("", left, top, right, bottom)


def _run_along(line: Line, other: Line) -> bool:
    """Whether two lines lie on one another for more than two pixels."""
    pieces = [_piece(*ends) for ends in pairwise(line.points)]
    others = [_piece(*ends) for ends in pairwise(other.points)]
    return any(
        max(
            min(a.right, b.right) - max(a.left, b.left), min(a.bottom, b.bottom) - max(a.top, b.top)
        )
        > 2
        and a.meets(b, slack=-0.5)
        and (a.right - a.left < 0.5) == (b.right - b.left < 0.5)
        for a in pieces
        for b in others
    )


def _crosses(piece: Area, area: Area) -> bool:
    """Whether a piece of line, which has no width, runs through an area."""
    return (
        piece.left < area.right
        and area.left < piece.right
        and piece.top < area.bottom
        and area.top < piece.bottom
    ) or (
        (piece.left == piece.right and area.left < piece.left < area.right)
        and (piece.top < area.bottom and area.top < piece.bottom)
    ) or (
        (piece.top == piece.bottom and area.top < piece.top < area.bottom)
        and (piece.left < area.right and area.left < piece.right)
    )  # fmt: skip


def _is_on_border(box: Area, point: Point) -> bool:
    x, y = point
    across = box.left <= x <= box.right and min(abs(y - box.top), abs(y - box.bottom)) < 1
    along = box.top <= y <= box.bottom and min(abs(x - box.left), abs(x - box.right)) < 1
    return across or along


@dataclass(frozen=True)
class Place:
    """Where the zero of a group lies on the sheet, and how many times as large it is drawn."""

    x: float = 0.0
    y: float = 0.0
    scale: float = 1.0

    def at(self, x: float, y: float) -> Point:
        """A point of the group on the sheet."""
        return self.x + x * self.scale, self.y + y * self.scale

    def within(self, transform: str) -> Place:
        """The place of a group that is moved and enlarged within this one."""
        x, y, scale = self.x, self.y, self.scale
        for name, numbers in re.findall(r"(\w+)\(([^)]*)\)", transform):
            values = [float(number) for number in numbers.split()]
            if name == "translate":
                x, y = x + values[0] * scale, y + values[1] * scale
            elif name == "scale" and len(values) == 1:
                scale *= values[0]
            else:
                raise ValueError(f"{transform} is not understood")
        return Place(x, y, scale)


def _walk(
    element: ElementTree.Element, place: Place, owner: str, first: bool
) -> Iterator[tuple[ElementTree.Element, Place, str, bool]]:
    """Each element with its place, what it belongs to, and whether it is the first in its group."""
    place = place.within(element.get("transform", ""))
    owner = element.get("data-thing", owner)
    yield element, place, owner, first
    for number, child in enumerate(element):
        yield from _walk(child, place, owner, number == 0 and bool(element.get("data-thing")))


def _text(element: ElementTree.Element, place: Place, owner: str) -> tuple[Area, float, str]:
    text = element.text or ""
    size = float(element.get("font-size", SIZE)) * place.scale
    wide = width(text, bold=element.get("font-weight") == "700", size=size)
    left, foot = place.at(float(element.get("x", 0)), float(element.get("y", 0)))
    left -= {"end": wide, "middle": wide / 2}.get(element.get("text-anchor", ""), 0.0)
    return Area(owner, left, foot - 0.73 * size, left + wide, foot + 0.2 * size), size, text


def _rect(element: ElementTree.Element, place: Place, owner: str) -> Area:
    x, y, wide, high = (float(element.get(key, 0)) for key in ("x", "y", "width", "height"))
    return Area(owner, *place.at(x, y), *place.at(x + wide, y + high))


def _line(element: ElementTree.Element, place: Place) -> Line:
    pairs = (pair.split(",") for pair in element.get("points", "").split())
    points = tuple(place.at(float(a), float(b)) for a, b in pairs)
    return Line(element.get("data-from", ""), element.get("data-to", ""), points)
