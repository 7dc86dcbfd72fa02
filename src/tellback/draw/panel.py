"""A panel: the controls, lights and gauges of what is drawn, in columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tellback.book.model import Control, Indication, Reading, Thing
from tellback.draw.lettering import LINE, broken, width
from tellback.draw.look import Look
from tellback.draw.standing import Standing
from tellback.draw.svg import letters

LEFT, TOP, FOOT = 20.0, 84.0, 636.0
COLUMNS = 4
COLUMN = 310.0
GAP = 9.0
ROOM = 286.0


@dataclass(frozen=True, slots=True)
class _Row:
    """A thing on the panel: its name in lines, its state, and whether that stands out."""

    name: tuple[str, ...]
    state: str
    stands_out: bool

    @property
    def height(self) -> float:
        return (len(self.name) + (not self._beside)) * LINE + 10

    @property
    def _beside(self) -> bool:
        """Whether the state has room beside the name."""
        return width(self.name[-1], bold=True) + width(f"  {self.state}") <= ROOM - 16


def panels(things: Sequence[Thing], standing: Standing, look: Look) -> list[list[str]]:
    """The panel on as many sheets as it takes; none if there is nothing to show on one."""
    headed = [
        (heading, [_row(thing, standing) for thing in things if isinstance(thing, kind)])
        for heading, kind in (
            ("Controls", Control),
            ("Lights, messages and sounds", Indication),
            ("Readings", Reading),
        )
    ]
    items = [(heading, rows) for heading, rows in headed if rows]
    return list(_filled(items, look))


def _row(thing: Thing, standing: Standing) -> _Row:
    word = standing.words[thing.name]
    stands_out = False
    if isinstance(thing, Indication):
        stands_out = word == "shown" and not thing.shows
        if thing.shows:
            word = standing.words[thing.shows] if word == "shown" else "blank"
    return _Row(broken(thing.name, ROOM - 16, bold=True), word, stands_out)


def _filled(items: Sequence[tuple[str, Sequence[_Row]]], look: Look) -> Iterator[list[str]]:
    """Columns from left to right, a new sheet when all are full."""
    parts: list[str] = []
    column, y = 0, TOP
    for heading, rows in items:
        if y > TOP:
            y += GAP
        titled = False
        for row in rows:
            needed = row.height + GAP + (0 if titled else 26)
            if y + needed > FOOT:
                column, y, titled = column + 1, TOP, False
            if column == COLUMNS:
                yield parts
                parts, column = [], 0
            if not titled:
                parts.append(
                    letters(LEFT + column * COLUMN, y + 14, heading, look.quiet, bold=True)
                )
                y, titled = y + 26, True
            parts.append(_drawn(row, LEFT + column * COLUMN, y, look))
            y += row.height + GAP
    if parts:
        yield parts


def _drawn(row: _Row, x: float, y: float, look: Look) -> str:
    """A row in a frame; what is shown to the crew is filled, and its name in paper's colour."""
    ground, ink = (look.ink, look.paper) if row.stands_out else (look.paper, look.ink)
    frame = (
        f'<rect x="{x:g}" y="{y:g}" width="{ROOM:g}" height="{row.height:g}" rx="4" '
        f'fill="{ground}" stroke="{look.ink if row.stands_out else look.empty}"/>'
    )
    lines = [letters(x + 8, y + LINE * (n + 1) + 1, line, ink, bold=True)
             for n, line in enumerate(row.name)]  # fmt: skip
    foot = y + row.height - 9
    state = letters(x + ROOM - 8, foot, row.state, ink).replace(
        "<text ", '<text text-anchor="end" ', 1
    )
    return f"<g>{frame}{''.join(lines)}{state}</g>"
