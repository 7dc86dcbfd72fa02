"""A command for each question that can be asked of a starting state, or within a scenario."""

from __future__ import annotations

from typing import Annotated

import typer

from tellback.cli.options import (
    Aeroplane,
    AtOrEnd,
    BookFolder,
    Changes,
    Json,
    Question,
    Start,
    Within,
)
from tellback.cli.reading import read_kept
from tellback.cli.showing import show_answer

# `tellback` loads each function when it is first named, so a command loads only what it needs.


def feeds(
    book: BookFolder,
    supply: Annotated[
        str,
        typer.Argument(metavar="SUPPLY", help="A bus, circuit, duct or line.", show_default=False),
    ],
    start: Start = "",
    changes: Changes = None,
    scenario: Within = "",
    at: AtOrEnd = "",
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """Who feeds it now? The feeder, and the way back from it.

    And in which order the others stand by, and what they lack.
    """
    import tellback as tb
    from tellback.motion.moment import only_within

    only_within(scenario, at, start, changes or ())
    if scenario:
        within = tb.feeds_within(read_kept(book), scenario, supply, at=at, aeroplane=aeroplane)
        return show_answer(within, as_json)
    answer = tb.feeds(
        read_kept(book), supply, aeroplane=aeroplane, start=start, changes=changes or ()
    )
    return show_answer(answer, as_json)


def signs(
    book: BookFolder,
    failures: Annotated[
        list[str],
        typer.Argument(
            metavar="FAILURE...", help="Each as 'left pump: stops'.", show_default=False
        ),
    ],
    start: Start = "",
    changes: Changes = None,
    scenario: Within = "",
    at: Annotated[
        str,
        typer.Option(
            "--at",
            metavar="TIME",
            help="At this time of the scenario: '41 s'; without it, at its beginning.",
            show_default=False,
        ),
    ] = "",
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """What does this failure show? All signs in order of time."""
    import tellback as tb
    from tellback.motion.moment import only_within

    only_within(scenario, at, start, changes or ())
    if scenario:
        within = tb.signs_within(read_kept(book), scenario, failures, at=at, aeroplane=aeroplane)
        return show_answer(within, as_json)
    answer = tb.signs(
        read_kept(book), failures, aeroplane=aeroplane, start=start, changes=changes or ()
    )
    return show_answer(answer, as_json)


def why(
    book: BookFolder,
    question: Question,
    start: Start = "",
    changes: Changes = None,
    scenario: Within = "",
    at: AtOrEnd = "",
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """Why is it so now, or not so? The reason, the chain behind it.

    And, if it is not so, what is missing.
    """
    import tellback as tb
    from tellback.motion.moment import only_within

    only_within(scenario, at, start, changes or ())
    if scenario:
        within = tb.why_within(read_kept(book), scenario, question, at=at, aeroplane=aeroplane)
        return show_answer(within, as_json)
    answer = tb.why(
        read_kept(book), question, aeroplane=aeroplane, start=start, changes=changes or ()
    )
    return show_answer(answer, as_json)
