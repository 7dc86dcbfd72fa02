"""The width of texts in the font that is drawn with, and texts broken into lines."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from tellback.draw.packages import package

FAMILY = "Inter"
FONTS = Path(__file__).with_name("font")
SIZE = 14.0
"""The smallest lettering, in pixels: readable from the back row when 1280 by 720 are projected."""

LINE = 17.0
"""From one line to the next."""


@cache
def width(text: str, bold: bool = False, size: float = SIZE) -> float:
    """The width of a text in pixels."""
    widths, unknown = _widths("bold" if bold else "regular")
    return sum(widths.get(ord(letter), unknown) for letter in text) * size


@cache
def broken(text: str, room: float, bold: bool = False, size: float = SIZE) -> tuple[str, ...]:
    """The text in as few lines as fit the room, as even as they can be; words stay whole."""
    words = text.split()
    few = _filled(words, room, bold, size)
    narrow = max((width(word, bold, size) for word in words), default=0.0)
    tried = narrow
    while tried < room and len(_filled(words, tried, bold, size)) > len(few):
        tried += 4
    return tuple(_filled(words, min(tried, room), bold, size))


def shortened(text: str, room: float, bold: bool = False, size: float = SIZE) -> str:
    """The text, or as much of its beginning as fits the room, with an ellipsis."""
    if width(text, bold, size) <= room:
        return text
    end = len(text)
    while end and width(f"{text[:end].rstrip(' ,:')} …", bold, size) > room:
        end -= 1
    return f"{text[:end].rstrip(' ,:')} …"


def _filled(words: list[str], room: float, bold: bool, size: float) -> list[str]:
    lines: list[str] = []
    for word in words:
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, bold, size) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


@cache
def _widths(name: str) -> tuple[dict[int, float], float]:
    """The width of each letter, and of one that the font lacks, for a size of 1."""
    with package("fontTools.ttLib").TTFont(FONTS / f"{name}.ttf", lazy=True) as font:
        em = font["head"].unitsPerEm
        advances = font["hmtx"]
        widths = {code: advances[glyph][0] / em for code, glyph in font.getBestCmap().items()}
        return widths, advances[".notdef"][0] / em
