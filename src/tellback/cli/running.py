"""A command for each question about a scenario."""

from __future__ import annotations

from typing import Annotated

import typer

from tellback.cli.options import Aeroplane, BookFolder, Json, Question, Scenario
from tellback.cli.reading import read_kept
from tellback.cli.showing import show_answer

# `tellback` loads each function when it is first named, so a command loads only what it needs.


def run(
    book: BookFolder, scenario: Scenario, aeroplane: Aeroplane = "", as_json: Json = False
) -> None:
    """What comes to pass in this scenario? Its time line.

    Every step, what follows from it and when, and whether what the scenario expects came.
    """
    import tellback as tb

    show_answer(tb.run(read_kept(book), scenario, aeroplane=aeroplane), as_json)


def still(
    book: BookFolder,
    scenario: Scenario,
    question: Question,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """Over this scenario, when is it so? From when to when.

    And what began and ended each time.
    """
    import tellback as tb

    show_answer(tb.still(read_kept(book), scenario, question, aeroplane=aeroplane), as_json)


def what_if(
    book: BookFolder,
    scenario: Scenario,
    changes: Annotated[
        list[str] | None,
        typer.Option(
            "--with",
            metavar="'THING: STATE'",
            help="What is otherwise; may be repeated.",
            show_default=False,
        ),
    ] = None,
    at: Annotated[
        str,
        typer.Option(
            "--at",
            metavar="TIME",
            help="From when on: '20 s'; without it, from the beginning.",
            show_default=False,
        ),
    ] = "",
    without: Annotated[
        list[int] | None,
        typer.Option(
            "--without",
            metavar="STEP",
            help="Number of a step to leave out; may be repeated.",
            show_default=False,
        ),
    ] = None,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """What if one thing were otherwise? Both runs side by side.

    What is in one of them alone is marked.
    """
    import tellback as tb

    answer = tb.what_if(
        read_kept(book),
        scenario,
        changes=changes or (),
        at=at,
        without=without or (),
        aeroplane=aeroplane,
    )
    show_answer(answer, as_json)


QUESTIONS_IN_TIME = (run, still, what_if)
