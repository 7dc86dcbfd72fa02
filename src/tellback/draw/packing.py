"""Puts pieces of a drawing on sheets, and on each in rows, as large as there is room for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import accumulate

from tellback.draw.plan import ROOM, Placed, Plan

GAP = 28.0
LARGEST = 1.3
"""So many times as large as its smallest lettering needs a diagram is drawn at most."""

_NARROWER = 48.0


def packed(pieces: Sequence[Plan]) -> list[list[Plan]]:
    """The pieces on as few sheets as they easily fit, in the order in which they come."""
    pieces = _with_their_like(pieces)
    sheets: list[list[int]] = []
    for number in sorted(range(len(pieces)), key=lambda n: -len(pieces[n].boxes)):
        for sheet in sheets:
            if arranged([pieces[n] for n in (*sheet, number)]):
                sheet.append(number)
                break
        else:
            sheets.append([number])
    return [_in_order(pieces, sheet) for sheet in sorted(sheets, key=min)]


def _in_order(pieces: Sequence[Plan], sheet: Sequence[int]) -> list[Plan]:
    """What is on a sheet, in the order in which it came if it fits so."""
    ordered = [pieces[number] for number in sorted(sheet)]
    return ordered if arranged(ordered) else [pieces[number] for number in sheet]


def _with_their_like(pieces: Iterable[Plan]) -> list[Plan]:
    """The pieces, with those that hold boxes of the same kinds side by side in one."""
    alike: dict[object, list[Plan]] = {}
    for piece in pieces:
        kinds = sorted((placed.box.kind, placed.box.form) for placed in piece.boxes)
        alike.setdefault(tuple(kinds), []).append(piece)
    found = []
    for several in alike.values():
        fitting = (plan for plan in _grids(several) if plan.crowding <= 1)
        together = min(fitting, key=lambda plan: plan.width * plan.height, default=None)
        found += [together] if together else several
    return found


def _grids(pieces: Sequence[Plan]) -> Iterator[Plan]:
    """The pieces in as many columns as there may be; with twins among them, left beside right."""
    twin = _twins(pieces)
    ordered = [p for n in range(len(pieces)) if n not in twin.values()
               for p in (n, *([twin[n]] if n in twin else []))]  # fmt: skip
    for columns in range(1, len(pieces) + 1):
        if columns % 2 == 0 or not twin:
            yield _grid([pieces[number] for number in ordered], columns)


def _twins(pieces: Sequence[Plan]) -> dict[int, int]:
    """For each piece of the left side, the one of the right that is the same but for that."""
    names = [frozenset(placed.box.key for placed in piece.boxes) for piece in pieces]
    other = [frozenset(re.sub(r"\bleft\b", "right", name) for name in of) for of in names]
    return {
        number: names.index(wanted)
        for number, wanted in enumerate(other)
        if wanted != names[number] and wanted in names
    }


def _grid(pieces: Sequence[Plan], columns: int) -> Plan:
    """The pieces from left to right in rows, each column as wide as its widest."""
    rows = [pieces[first : first + columns] for first in range(0, len(pieces), columns)]
    wide = [max(piece.width for piece in pieces[n::columns]) for n in range(columns)]
    lefts = [0.0, *accumulate(width + GAP for width in wide)]
    tops = [0.0, *accumulate(max(piece.height for piece in row) + GAP for row in rows)]
    return _joined(
        [
            (piece, left, top)
            for row, top in zip(rows, tops, strict=False)
            for piece, left in zip(row, lefts, strict=False)
        ]
    )


def arranged(pieces: Sequence[Plan], room: tuple[float, float] = ROOM) -> Plan | None:
    """The pieces as one diagram, in such rows that it can be drawn largest; None if none fit."""
    tried = _tried(pieces, room[0])
    best = max(tried, key=lambda plan: enlarged((plan.width, plan.height), room), default=None)
    return best if best and enlarged((best.width, best.height), room) >= 1 else None


def _tried(pieces: Sequence[Plan], width: float) -> Iterator[Plan]:
    """The pieces in rows of that width, and in narrower ones."""
    while width >= max(piece.width for piece in pieces):
        yield _in_rows(pieces, width)
        width -= _NARROWER


def enlarged(size: tuple[float, float], room: tuple[float, float] = ROOM) -> float:
    """How many times as large something of that width and height can be drawn."""
    return min(LARGEST, room[0] / size[0], room[1] / size[1])


def _in_rows(pieces: Iterable[Plan], width: float) -> Plan:
    """The pieces from left to right in rows, low ones below one another beside a high one."""
    placed: list[tuple[Plan, float, float]] = []
    top = high = left = down = wide = 0.0  # of the row; of its last column
    for piece in pieces:
        if placed and down + GAP + piece.height <= high and left + piece.width <= width:
            placed.append((piece, left, top + down + GAP))
            down += GAP + piece.height
            wide = max(wide, piece.width)
            continue
        if placed:
            left += wide + GAP
        if left + piece.width > width:
            top, high, left = top + high + GAP, 0.0, 0.0
        placed.append((piece, left, top))
        high, down, wide = max(high, piece.height), piece.height, piece.width
    return _joined(placed)


def _joined(placed: Sequence[tuple[Plan, float, float]]) -> Plan:
    return Plan(
        tuple(Placed(box.box, box.x + x, box.y + y) for plan, x, y in placed for box in plan.boxes),
        tuple(
            replace(
                line,
                points=tuple((a + x, b + y) for a, b in line.points),
                branches=tuple((a + x, b + y) for a, b in line.branches),
            )
            for plan, x, y in placed
            for line in plan.lines
        ),
        max(x + plan.width for plan, x, _ in placed),
        max(y + plan.height for plan, _, y in placed),
    )
