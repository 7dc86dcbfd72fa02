"""A panel: the controls, lights and gauges of what is drawn, in columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from tellback.book.model import Control, Indication, Reading, Thing
from tellback.draw.lettering import LINE, broken, shortened, width
from tellback.draw.look import Look
from tellback.draw.packing import enlarged
from tellback.draw.plan import ROOM as SHEET
from tellback.draw.standing import Standing
from tellback.draw.svg import letters, right

COLUMNS = 4
COLUMN = 310.0
"""From one column to the next."""

BETWEEN = 24.0
GAP = 7.0
ROOM = COLUMN - BETWEEN
_PAD = 8.0
_HEADING = 26.0
_APART = 3 * _PAD


@dataclass(frozen=True, slots=True)
class _Row:
    """A thing on the panel: its name in lines, its state, and whether that stands out.

    The state stands beside the name if every state that the thing can have has room there, so that
    nothing moves from one sheet to the next.
    """

    thing: str
    name: tuple[str, ...]
    state: str
    stands_out: bool
    beside: bool

    @property
    def height(self) -> float:
        return (len(self.name) + (not self.beside)) * LINE + 8


Column = list[tuple[float, str | _Row]]
"""Headings and rows, each with its place from the top."""


def columns(things: Sequence[Thing], standing: Standing) -> list[Column]:
    """The panel of these things in the fewest columns that are no higher than a sheet, and even."""
    few = list(_heights(_headed(things, standing)))
    return next(panel for panel in few if len(panel) == len(few[-1]))


def spread(things: Sequence[Thing], standing: Standing) -> list[list[Column]]:
    """The panel of these things on sheets of its own, so wide that it can be drawn largest."""
    some = list(_heights(_headed(things, standing)))
    if not some[-1]:
        return []
    whole = [panel for panel in some if len(panel) <= COLUMNS]
    if whole:
        return [max(whole, key=lambda panel: enlarged(size(panel)))]
    return [some[-1][first : first + COLUMNS] for first in range(0, len(some[-1]), COLUMNS)]


def size(panel: Sequence[Column]) -> tuple[float, float]:
    """The width and the height of a panel."""
    return len(panel) * COLUMN - BETWEEN, max(_foot(*column[-1]) for column in panel)


def _foot(y: float, item: str | _Row) -> float:
    return y + (_HEADING if isinstance(item, str) else item.height)


def _headed(things: Sequence[Thing], standing: Standing) -> list[tuple[str, list[_Row]]]:
    """The rows of these things under their headings."""
    kinds = (
        ("Controls", Control),
        ("Lights, messages and sounds", Indication),
        ("Readings", Reading),
    )
    return [
        (heading, [_row(thing, standing) for thing in things if isinstance(thing, kind)])
        for heading, kind in kinds
    ]


def _heights(headed: Sequence[tuple[str, list[_Row]]]) -> Iterator[list[Column]]:
    """Panels in columns of every height, up to that of a sheet."""
    for height in range(100, int(SHEET[1]), 12):
        yield _filled(headed, height)
    yield _filled(headed, SHEET[1])


def _filled(headed: Sequence[tuple[str, list[_Row]]], height: float) -> list[Column]:
    """A panel in columns no higher than that, if no row is."""
    found: list[Column] = []
    y = height
    for heading, rows in headed:
        titled = False
        for row in rows:
            if y + (0 if titled else GAP + _HEADING) + row.height > height:
                found.append([])
                y, titled = 0.0, False
            if not titled:
                y += GAP if found[-1] else 0
                found[-1].append((y, heading))
                y, titled = y + _HEADING, True
            found[-1].append((y, row))
            y += row.height + GAP
    return found


def drawn(column: Column, x: float, y: float, look: Look) -> Iterator[str]:
    """A column whose upper left corner is at x and y."""
    for down, item in column:
        if isinstance(item, str):
            yield letters(x, y + down + 14, item, look.quiet, bold=True)
        else:
            yield _drawn(item, x, y + down, look)


def _row(thing: Thing, standing: Standing) -> _Row:
    state, every = standing.shown(thing)
    room = ROOM - 2 * _PAD
    name = tuple(shortened(line, room, bold=True) for line in broken(thing.name, room, bold=True))
    longest = width(name[-1], bold=True) + max(map(width, every))
    stands_out = isinstance(thing, Indication) and not thing.shows and state == "shown"
    return _Row(thing.name, name, shortened(state, room), stands_out, longest + _APART <= ROOM)


def _drawn(row: _Row, x: float, y: float, look: Look) -> str:
    """A row in a frame; what is shown to the crew is filled, and its name in paper's colour."""
    ground, ink = (look.ink, look.paper) if row.stands_out else (look.paper, look.ink)
    frame = (
        f'<rect x="{x:g}" y="{y:g}" width="{ROOM:g}" height="{row.height:g}" rx="4" '
        f'fill="{ground}" stroke="{look.ink if row.stands_out else look.empty}"/>'
    )
    lines = [letters(x + _PAD, y + LINE * (n + 1), line, ink, bold=True)
             for n, line in enumerate(row.name)]  # fmt: skip
    state = right(letters(x + ROOM - _PAD, y + row.height - 8, row.state, ink))
    about = f'data-thing="{escape(row.thing)}" data-kind="row"'
    return f"<g {about}>{frame}{''.join(lines)}{state}</g>"
