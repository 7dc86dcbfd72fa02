"""The arguments and options that commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

BookFolder = Annotated[
    Path, typer.Argument(metavar="BOOK", help="Folder of the type book.", show_default=False)
]
Question = Annotated[
    str,
    typer.Argument(
        metavar="QUESTION", help="A state, in quotes: 'left pump running'.", show_default=False
    ),
]
Aeroplane = Annotated[
    str,
    typer.Option(
        "--aeroplane",
        metavar="NAME",
        help="Variant or serial number; without it, the first aeroplane of the book.",
        show_default=False,
    ),
]
Given = Annotated[
    list[str] | None,
    typer.Option(
        "--given",
        metavar="STATE",
        help="Taken for granted; may be repeated.",
        show_default=False,
    ),
]
Granted = Annotated[
    list[str] | None,
    typer.Option(
        "--given",
        metavar="STATE",
        help="Taken for granted: a state, 'no failures' or 'at most 2 failures'; may be repeated.",
        show_default=False,
    ),
]
Start = Annotated[
    str,
    typer.Option(
        "--from",
        metavar="START",
        help="Starting state of the book; without it, the first.",
        show_default=False,
    ),
]
DoneFrom = Annotated[
    str,
    typer.Option(
        "--from",
        metavar="START",
        help="Starting state of the book; without it, the first that it is done from.",
        show_default=False,
    ),
]
OnlyStart = Annotated[
    str,
    typer.Option(
        "--from",
        metavar="START",
        help="Only runs from this starting state; without it, from any.",
        show_default=False,
    ),
]
MOST_AT_A_TIME = 999
"""Of so many failures or changes at a time one may ask; no question needs more."""
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        metavar="'THING: STATE'",
        help="What is otherwise than in the starting state; may be repeated.",
        show_default=False,
    ),
]
Within = Annotated[
    str,
    typer.Option(
        "--scenario",
        metavar="NAME",
        help="Within this scenario, instead of from a starting state.",
        show_default=False,
    ),
]
AtOrEnd = Annotated[
    str,
    typer.Option(
        "--at",
        metavar="TIME",
        help="At this time of the scenario: '41 s'; without it, at its end.",
        show_default=False,
    ),
]
Scenario = Annotated[
    str, typer.Argument(metavar="SCENARIO", help="Its name in the book.", show_default=False)
]
Json = Annotated[bool, typer.Option("--json", help="Answer as JSON.")]
