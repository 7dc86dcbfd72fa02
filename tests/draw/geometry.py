"""What stands where on a sheet, read back from its SVG, and what is wrong with that."""

from __future__ import annotations

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
    """All lettering with its size, all boxes, all wires."""

    texts: tuple[tuple[Area, float, str], ...]
    boxes: tuple[Area, ...]
    lines: tuple[Line, ...]


def read_sheet(svg: str) -> Sheet:
    """What stands on a sheet."""
    texts, boxes, lines = [], [], []
    for element, x, y, owner in _walk(ElementTree.fromstring(svg), 0.0, 0.0, ""):
        if element.tag == f"{SVG}text":
            texts.append(_text(element, x, y, owner))
        elif element.tag == f"{SVG}rect" and owner and not element.get("data-part"):
            area = _rect(element, x, y, owner)
            if not any(box.owner == owner for box in boxes):  # the frame comes first in its group
                boxes.append(area)
        elif element.tag == f"{SVG}polyline":
            lines.append(_line(element, x, y))
    return Sheet(tuple(texts), tuple(boxes), tuple(lines))


def faults(sheet: Sheet) -> Iterator[str]:
    """What a reader would stumble over."""
    yield from _of_texts(sheet)
    for one, other in combinations(sheet.boxes, 2):
        if one.meets(other):
            yield f"{one.owner} and {other.owner} overlap"
    for line in sheet.lines:
        yield from _of_line(line, sheet)


def _of_texts(sheet: Sheet) -> Iterator[str]:
    page = Area("page", 0, 0, WIDE, HIGH)
    frames = {box.owner: box for box in sheet.boxes}
    for area, size, text in sheet.texts:
        if size < LEAST:
            yield f"“{text}” is lettered in {size}"
        if not page.holds(area):
            yield f"“{text}” leaves the sheet"
        if area.owner and not frames[area.owner].holds(area):
            yield f"“{text}” leaves the box of {area.owner}"
    for (one, _, text), (other, _, again) in combinations(sheet.texts, 2):
        if one.meets(other, slack=0.5):
            yield f"“{text}” and “{again}” overlap"


def _of_line(line: Line, sheet: Sheet) -> Iterator[str]:
    for one, other in pairwise(line.points):
        piece = Area("", min(one[0], other[0]), min(one[1], other[1]),
                     max(one[0], other[0]), max(one[1], other[1]))  # fmt: skip
        if one[0] != other[0] and one[1] != other[1]:
            yield f"the line from {line.source} to {line.target} is slanting"
        for box in sheet.boxes:
            inside = Area("", box.left + 1, box.top + 1, box.right - 1, box.bottom - 1)
            if _crosses(piece, inside):
                yield f"the line from {line.source} to {line.target} crosses {box.owner}"
        for area, _, text in sheet.texts:
            if not area.owner and _crosses(piece, area):
                yield f"the line from {line.source} to {line.target} crosses “{text}”"
    frames = {box.owner: box for box in sheet.boxes}
    for end, point in ((line.source, line.points[0]), (line.target, line.points[-1])):
        if not _is_on_border(frames[end], point):
            yield f"the line from {line.source} to {line.target} does not reach {end}"


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


def _walk(
    element: ElementTree.Element, x: float, y: float, owner: str
) -> Iterator[tuple[ElementTree.Element, float, float, str]]:
    move = element.get("transform", "")
    if move:
        dx, dy = move.removeprefix("translate(").removesuffix(")").split()
        x, y = x + float(dx), y + float(dy)
    owner = element.get("data-thing", owner)
    yield element, x, y, owner
    for child in element:
        yield from _walk(child, x, y, owner)


def _text(element: ElementTree.Element, x: float, y: float, owner: str) -> tuple[Area, float, str]:
    text = element.text or ""
    size = float(element.get("font-size", SIZE))
    wide = width(text, bold=element.get("font-weight") == "700", size=size)
    left = x + float(element.get("x", 0))
    left -= {"end": wide, "middle": wide / 2}.get(element.get("text-anchor", ""), 0.0)
    foot = y + float(element.get("y", 0))
    return Area(owner, left, foot - 0.73 * size, left + wide, foot + 0.2 * size), size, text


def _rect(element: ElementTree.Element, x: float, y: float, owner: str) -> Area:
    left, top = x + float(element.get("x", 0)), y + float(element.get("y", 0))
    return Area(
        owner, left, top, left + float(element.get("width", 0)),
        top + float(element.get("height", 0)),
    )  # fmt: skip


def _line(element: ElementTree.Element, x: float, y: float) -> Line:
    pairs = (pair.split(",") for pair in element.get("points", "").split())
    points = tuple((x + float(a), y + float(b)) for a, b in pairs)
    return Line(element.get("data-from", ""), element.get("data-to", ""), points)
