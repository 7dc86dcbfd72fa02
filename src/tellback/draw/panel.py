"""A panel: the controls, lights and gauges of what is drawn, in columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from tellback.book.model import Control, Indication, Reading, Thing
from tellback.draw.lettering import LINE, broken, shortened, width
from tellback.draw.look import Look
from tellback.draw.standing import Standing
from tellback.draw.svg import letters, right

TOP, FOOT = 74.0, 640.0
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
"""Headings and rows, each with its place from the top of the sheet."""


def columns(things: Sequence[Thing], standing: Standing) -> list[Column]:
    """The panel of these things, in columns as high as a sheet."""
    found: list[Column] = []
    y = FOOT
    for heading, kind in (
        ("Controls", Control),
        ("Lights, messages and sounds", Indication),
        ("Readings", Reading),
    ):
        titled = False
        for row in (_row(thing, standing) for thing in things if isinstance(thing, kind)):
            if y + (0 if titled else GAP + _HEADING) + row.height > FOOT:
                found.append([])
                y, titled = TOP, False
            if not titled:
                y += GAP if found[-1] else 0
                found[-1].append((y, heading))
                y, titled = y + _HEADING, True
            found[-1].append((y, row))
            y += row.height + GAP
    return found


def drawn(column: Column, x: float, look: Look) -> Iterator[str]:
    """A column whose left side is at x."""
    for y, item in column:
        if isinstance(item, str):
            yield letters(x, y + 14, item, look.quiet, bold=True)
        else:
            yield _drawn(item, x, y, look)


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
