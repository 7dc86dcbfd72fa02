"""The command that draws."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tellback.cli.options import Aeroplane, AtOrEnd, BookFolder, Changes, Start, Within
from tellback.cli.showing import show_caution, tell


def draw(
    book: BookFolder,
    what: Annotated[
        list[str],
        typer.Argument(
            metavar="WHAT...",
            help="A chapter by number or title, or things by name.",
            show_default=False,
        ),
    ],
    output: Annotated[
        Path,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Where to; its ending says what: .svg, .png or .pdf.",
            show_default=False,
        ),
    ],
    start: Start = "",
    changes: Changes = None,
    scenario: Within = "",
    at: AtOrEnd = "",
    aeroplane: Aeroplane = "",
    dark: Annotated[bool, typer.Option("--dark", help="Light on dark.")] = False,
) -> None:
    """How does it hang together, and stand? A schematic.

    What does not fit one sheet is drawn on several, in files with a number.
    """
    import tellback as tb
    from tellback.draw.export import written

    drawing = tb.schematic(
        tb.read(book),
        *what,
        aeroplane=aeroplane,
        start=start,
        changes=changes or (),
        scenario=scenario,
        at=at,
        dark=dark,
    )
    files = written(drawing, output)
    tell(f"{drawing}\nWritten: {', '.join(map(str, files))}.")
    show_caution()
