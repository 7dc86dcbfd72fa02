"""Puts diagrams and the panel on sheets, with what stands around them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from tellback.book.model import Chapter, Thing
from tellback.caution import CAUTION
from tellback.draw.lettering import shortened, width
from tellback.draw.look import Look
from tellback.draw.packing import arranged, enlarged, packed
from tellback.draw.panel import BETWEEN, COLUMN, Column, columns, drawn, size, spread
from tellback.draw.pieces import pieces
from tellback.draw.plan import ROOM, Ground, Plan
from tellback.draw.svg import HIGH, WIDE, box, branches, legend, letters, lines, page, right

MARGIN, LEFT, TOP = 20.0, 16.0, 72.0
"""Where texts, and where diagrams begin."""

TITLE = 22.0
"""How large a title is lettered."""

Sheet = tuple[str, Sequence[Plan]]
"""Its name, if it has one, and the pieces on it."""


@dataclass(frozen=True, slots=True)
class Body:
    """What a sheet holds: its name, its parts, and the room of its diagram, if it has one."""

    name: str
    parts: tuple[str, ...]
    room: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Around:
    """What stands around the diagrams of a drawing: its title, the state, the book."""

    title: str
    state: str
    book: str

    def sheets(self, bodies: Sequence[Body], look: Look) -> Iterator[str]:
        """Whole sheets as SVG; one that holds what is larger than a screen is larger itself."""
        for number, body in enumerate(bodies, 1):
            room = body.room or ROOM
            wide = WIDE + max(0, round(room[0] - ROOM[0]))
            high = HIGH + max(0, round(room[1] - ROOM[1]))
            title = f"{self.title}: {body.name}" if body.name else self.title
            count = f" ({number} of {len(bodies)})" if len(bodies) > 1 else ""
            around = self._around(title, count, wide, high, look)
            key = legend(high - 36, look) if body.room else ()
            yield page((*around, *body.parts, *key), look, f"{title}. {self.state}.", wide, high)

    def _around(self, title: str, count: str, wide: int, high: int, look: Look) -> Iterator[str]:
        room = wide - 2 * MARGIN
        book = shortened(self.book, room / 2)
        left = room - width(book) - BETWEEN - width(count, bold=True, size=TITLE)
        title = shortened(title, left, bold=True, size=TITLE)
        yield letters(MARGIN, 34, f"{title}{count}", look.ink, bold=True, size=TITLE)
        yield right(letters(wide - MARGIN, 34, book, look.quiet))
        yield letters(MARGIN, 58, shortened(self.state, room), look.ink)
        yield letters(MARGIN, high - 14, CAUTION, look.quiet)


def bodies(
    ground: Ground, things: Sequence[Thing], chapter: Chapter | None, look: Look
) -> Iterator[Body]:
    """What each sheet holds; the panel is last, beside a diagram if one leaves room for it."""
    sheets = list(_sheets(ground, chapter))
    panel = columns(things, ground.standing)
    edge = WIDE - MARGIN + BETWEEN - len(panel) * COLUMN
    beside = edge - BETWEEN - LEFT, ROOM[1]
    fitting = (n for n, (_, pieces) in enumerate(sheets) if panel and arranged(pieces, beside))
    last = max(fitting, default=None)
    for number, (name, pieces_) in enumerate(sheets):
        if number != last:
            yield _diagram(name, pieces_, ROOM, look)
    if last is not None:
        diagram = _diagram(*sheets[last], beside, look)
        yield replace(diagram, parts=(*diagram.parts, *_panel(panel, edge, look)))
    else:
        for panel in spread(things, ground.standing):
            yield Body("", tuple(_alone(panel, look)))


def _sheets(ground: Ground, chapter: Chapter | None) -> Iterator[Sheet]:
    """The sheets that the book wants for a chapter, and those that hold the rest."""
    rest = list(ground.wiring.nodes)
    for wanted in chapter.sheets if chapter else ():
        here = [name for name in wanted.things if name in rest]
        rest = [name for name in rest if name not in here]
        yield from ((wanted.title, sheet) for sheet in packed(list(pieces(ground, here))))
    yield from (("", sheet) for sheet in packed(list(pieces(ground, rest))))


def _diagram(name: str, sheet: Sequence[Plan], room: tuple[float, float], look: Look) -> Body:
    """Pieces in the middle of the room for them, as large as they go."""
    plan = arranged(sheet, room) or sheet[0]
    room = max(room[0], plan.width), max(room[1], plan.height)
    scale = enlarged((plan.width, plan.height), room)
    x = round(LEFT + (room[0] - scale * plan.width) / 2)
    y = round(TOP + (room[1] - scale * plan.height) / 2)
    parts = (
        f'<g transform="translate({x} {y}) scale({scale:.4g})">',
        *lines(plan.lines, look),
        *branches(plan.lines, look),
        *(box(placed, look) for placed in plan.boxes),
        "</g>",
    )
    return Body(name, parts, room)


def _alone(panel: Sequence[Column], look: Look) -> Iterator[str]:
    """A panel that has a sheet for itself, as large as it goes."""
    scale = enlarged(size(panel))
    yield f'<g transform="translate({MARGIN:g} {TOP:g}) scale({scale:.4g})">'
    yield from _panel(panel, 0.0, look, y=0.0)
    yield "</g>"


def _panel(panel: Sequence[Column], x: float, look: Look, y: float = TOP) -> Iterator[str]:
    for number, column in enumerate(panel):
        yield from drawn(column, x + number * COLUMN, y, look)
