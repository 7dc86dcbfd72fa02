"""Writes sheets to files: as SVG, or as PNG or PDF, lettered in the same font on any machine."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from tellback.draw.lettering import FONTS
from tellback.draw.packages import package
from tellback.draw.schematic import Drawing
from tellback.files import replace_file
from tellback.refusals import Refusal


class NoSuchPicture(Refusal, ValueError):
    """A file is to be written of a kind that there is not."""


def written(drawing: Drawing, path: Path) -> list[Path]:
    """Writes the sheets as the ending of the path says; several are numbered: `fuel-1.svg`.

    Each file is there whole or as it was. Raises NoSuchPicture, and OSError where nothing can be
    written.
    """
    make = _KINDS.get(path.suffix.casefold())
    if make is None:
        known = ", ".join(_KINDS)
        raise NoSuchPicture(f"`{path.name}` does not say what to write", f"End it in {known}.")
    several = len(drawing.sheets) > 1
    made = {
        path.with_stem(f"{path.stem}-{number}") if several else path: make(sheet)
        for number, sheet in enumerate(drawing.sheets, 1)
    }
    for file, content in made.items():
        replace_file(file, content)
    return list(made)


def _svg(sheet: str) -> bytes:
    return sheet.encode()


def _png(sheet: str) -> bytes:
    """Of twice its size, sharp on any projector."""
    made: bytes = _converter().svg_to_png(sheet, scale=2)
    return made


def _pdf(sheet: str) -> bytes:
    made: bytes = _converter().svg_to_pdf(sheet)
    return made


_KINDS: Mapping[str, Callable[[str], bytes]] = {".svg": _svg, ".png": _png, ".pdf": _pdf}


@cache
def _converter() -> Any:
    converter = package("vl_convert")
    converter.register_font_directory(str(FONTS))
    return converter
