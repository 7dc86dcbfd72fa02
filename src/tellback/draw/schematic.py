"""Draws a chapter, or any things of a book, as they stand at a moment."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tellback.book.model import Book
from tellback.book.names import fold, near
from tellback.caution import CAUTION
from tellback.draw.look import DARK, LIGHT, Look
from tellback.draw.packing import arranged, enlarged, packed
from tellback.draw.panel import BETWEEN, COLUMN, COLUMNS, Column, columns, drawn
from tellback.draw.pieces import Cutter
from tellback.draw.plan import ROOM, Plan
from tellback.draw.standing import Standing
from tellback.draw.svg import HIGH, WIDE, box, branches, legend, letters, lines, page
from tellback.draw.wiring import wiring
from tellback.logic.picture import Picture, picture_of
from tellback.logic.scene import scene
from tellback.motion.moment import moment_of
from tellback.refusals import Refusal

MARGIN, LEFT, TOP = 20.0, 16.0, 72.0
"""Where texts, and where diagrams begin."""


class NothingToDraw(Refusal, ValueError):
    """The book has no chapter or thing of that name, or nothing of it can be drawn."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """The sheets of a drawing, each a whole SVG of 1280 by 720 pixels."""

    title: str
    aeroplane: str
    state: str
    sheets: tuple[str, ...]

    def __str__(self) -> str:
        number = len(self.sheets)
        return (
            f"{self.title}, {self.state} (on {self.aeroplane}): {number} sheet{'s' * (number > 1)}"
        )


def schematic(
    book: Book,
    *what: str,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
    scenario: str = "",
    at: str = "",
    dark: bool = False,
) -> Drawing:
    """The schematic of a chapter (its number or title) or of things, as they stand.

    They stand as in a starting state with changes, settled; or in a scenario at a time. Raises
    NothingToDraw, and what is raised for a start, a change, a scenario or a time that is not there.
    """
    if scenario:
        picture, where = moment_of(book, scenario, at, aeroplane)
    else:
        picture = picture_of(book, aeroplane)
        where = scene(picture, start, changes)
    title, names = _meant(picture, what)
    standing = Standing(picture, where.moment)
    look = DARK if dark else LIGHT
    bodies = list(_bodies(picture.book, names, standing, look))
    if not bodies:
        raise NothingToDraw(f"nothing of {title} can be drawn", "Draw another chapter.")
    heads = f"{picture.book.aeroplane}: {where.text}"
    foot = f"{book.type_name}, {book.manual} rev {book.revision}"
    return Drawing(
        title=title,
        aeroplane=picture.book.aeroplane,
        state=where.text,
        sheets=tuple(
            page(
                [*_around(_titled(title, n, len(bodies)), heads, foot, look), *body],
                look,
                f"{title}. {heads}.",
            )
            for n, body in enumerate(bodies, 1)
        ),
    )


def _meant(picture: Picture, what: Sequence[str]) -> tuple[str, tuple[str, ...]]:
    """What is to be drawn, in words, and the names of its things."""
    found = [_named(picture, text) for text in what]
    names = dict.fromkeys(name for _, several in found for name in several)
    return ", ".join(title for title, _ in found), tuple(names)


def _named(picture: Picture, text: str) -> tuple[str, tuple[str, ...]]:
    """A chapter with the names of its things, or a thing."""
    for chapter in picture.book.chapters:
        if fold(text) in (fold(str(chapter.number)), fold(chapter.title)):
            file = chapter.place.file
            names = tuple(t.name for t in picture.book.things if t.place.file == file)
            return f"{chapter.number} {chapter.title}", names
    found = picture.names.find(text)
    if found:
        return found, (found,)
    known = {fold(c.title): c.title for c in picture.book.chapters}
    known |= {fold(t.name): t.name for t in picture.book.things}
    perhaps = " or ".join(near(fold(text), known))
    mend = f"Did you mean {perhaps}?" if perhaps else "Give a chapter's number, or names of things."
    raise NothingToDraw(f"there is no chapter and no thing “{text}” in this book", mend)


def _titled(title: str, number: int, of: int) -> str:
    return title if of == 1 else f"{title} ({number} of {of})"


def _around(title: str, state: str, foot: str, look: Look) -> Iterator[str]:
    """What stands around a diagram: its title, its state, the legend, the book and the caution."""
    yield letters(MARGIN, 34, title, look.ink, bold=True, size=22)
    yield letters(MARGIN, 58, state, look.ink)
    yield from legend(HIGH - 58, look)
    yield letters(MARGIN, HIGH - 34, foot, look.quiet)
    yield letters(MARGIN, HIGH - 14, CAUTION, look.quiet)


def _bodies(
    book: Book, names: Sequence[str], standing: Standing, look: Look
) -> Iterator[list[str]]:
    """What each sheet holds: diagrams, and the panel beside one if there is room, which is last."""
    things = {thing.name: thing for thing in book.things}
    wires = wiring(book, names)
    sheets = packed(list(Cutter(wires, things, standing).pieces(wires.nodes)))
    panel = columns([things[name] for name in names], standing)
    edge = WIDE - MARGIN + BETWEEN - len(panel) * COLUMN
    beside = edge - BETWEEN - LEFT, ROOM[1]
    last = next((sheet for sheet in reversed(sheets) if arranged(sheet, beside)), None)
    for sheet in sheets:
        if sheet is not last:
            yield list(_diagram(sheet, ROOM, look))
    if last:
        yield [*_diagram(last, beside, look), *_panel(panel, edge, look)]
    else:
        for first in range(0, len(panel), COLUMNS):
            yield list(_panel(panel[first : first + COLUMNS], MARGIN, look))


def _diagram(sheet: Sequence[Plan], room: tuple[float, float], look: Look) -> Iterator[str]:
    """Pieces in the middle of the room for them, as large as they go."""
    plan = arranged(sheet, room)
    assert plan is not None
    scale = enlarged(plan, room)
    x = round(LEFT + (room[0] - scale * plan.width) / 2)
    y = round(TOP + (room[1] - scale * plan.height) / 2)
    yield f'<g transform="translate({x} {y}) scale({scale:.4g})">'
    yield from lines(plan.lines, look)
    yield from branches(plan.lines, look)
    yield from (box(placed, look) for placed in plan.boxes)
    yield "</g>"


def _panel(panel: Sequence[Column], x: float, look: Look) -> Iterator[str]:
    for number, column in enumerate(panel):
        yield from drawn(column, x + number * COLUMN, look)
