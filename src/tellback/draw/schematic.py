"""Draws a chapter, or any things of a book, as they stand at a moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book.model import Book, Chapter, Thing
from tellback.book.names import fold, near
from tellback.draw.look import DARK, LIGHT
from tellback.draw.paper import Around, bodies
from tellback.draw.plan import Ground
from tellback.draw.standing import Standing
from tellback.draw.wiring import wiring
from tellback.logic.picture import Picture, picture_of
from tellback.logic.scene import scene
from tellback.motion.moment import moment_of, only_within
from tellback.refusals import Refusal


class NothingToDraw(Refusal, ValueError):
    """The book has no chapter or thing of that name, or nothing of it can be drawn."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """The sheets of a drawing, each a whole SVG of 1280 by 720 pixels, or larger if it must."""

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
    only_within(scenario, at, start, changes)
    if scenario:
        picture, where = moment_of(book, scenario, at, aeroplane)
    else:
        picture = picture_of(book, aeroplane)
        where = scene(picture, start, changes)
    book = picture.book
    chapter = _chapter(book, what)
    named = [_named(picture, text) for text in what]
    title = ", ".join(text for text, _ in named)
    things = list(dict.fromkeys(thing for _, several in named for thing in several))
    sheets = chapter.sheets if chapter else ()
    ground = Ground(
        wiring=wiring(book, [thing.name for thing in things]),
        things={thing.name: thing for thing in book.things},
        standing=Standing(picture, where.moment),
        order=tuple(name for sheet in sheets for name in sheet.things),
        rows={
            name: number
            for sheet in sheets
            if len(sheet.rows) > 1
            for number, row in enumerate(sheet.rows)
            for name in row
        },
    )
    look = DARK if dark else LIGHT
    held = list(bodies(ground, things, chapter, look))
    if not held:
        raise NothingToDraw(f"nothing of {title} can be drawn", "Draw another chapter.")
    around = Around(
        title,
        state=f"{book.aeroplane}: {where.text}",
        book=f"{book.type_name}, {book.manual} rev {book.revision}",
    )
    return Drawing(title, book.aeroplane, where.text, tuple(around.sheets(held, look)))


def _chapter(book: Book, what: Sequence[str]) -> Chapter | None:
    """The chapter that is to be drawn, if it is one."""
    return next(
        (
            chapter
            for chapter in book.chapters
            if [fold(text) for text in what] in ([fold(chapter.number)], [fold(chapter.title)])
        ),
        None,
    )


def _of(book: Book, chapter: Chapter) -> list[Thing]:
    """What of a chapter is drawn."""
    things = [thing for thing in book.things if thing.place.file == chapter.place.file]
    return [thing for thing in things if thing.name not in chapter.not_drawn]


def _named(picture: Picture, text: str) -> tuple[str, list[Thing]]:
    """A chapter with its things, or a thing."""
    chapter = _chapter(picture.book, [text])
    if chapter:
        return f"{chapter.number} {chapter.title}", _of(picture.book, chapter)
    found = picture.names.find(text)
    if found:
        return found, [picture.book.thing(found)]
    known = {fold(c.title): c.title for c in picture.book.chapters}
    known |= {fold(t.name): t.name for t in picture.book.things}
    perhaps = " or ".join(near(fold(text), known))
    mend = f"Did you mean {perhaps}?" if perhaps else "Give a chapter's number, or names of things."
    raise NothingToDraw(f"there is no chapter and no thing “{text}” in this book", mend)
