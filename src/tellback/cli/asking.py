"""A command for each question that can be asked of a book."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tellback.cli.options import (
    MOST_AT_A_TIME,
    Aeroplane,
    BookFolder,
    Changes,
    DoneFrom,
    Given,
    Granted,
    Json,
    OnlyStart,
    Question,
    Start,
)
from tellback.cli.reading import read_kept
from tellback.cli.showing import show_answer
from tellback.cli.waiting import followed
from tellback.cli.within import feeds, signs, why

# `tellback` loads each function when it is first named, so a command loads only what it needs.


def ways(
    book: BookFolder,
    question: Question,
    given: Given = None,
    shortest: Annotated[
        bool, typer.Option("--shortest", help="The shortest combinations instead, all of them.")
    ] = False,
    to_root: Annotated[
        bool,
        typer.Option(
            "--root",
            help="The shortest combinations of controls, readings, situations and failures alone.",
        ),
    ] = False,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """When does it happen? As the book states it."""
    import tellback as tb

    kept, taken = read_kept(book), given or ()
    if shortest or to_root:
        show_answer(
            tb.shortest(kept, question, aeroplane=aeroplane, given=taken, to_root=to_root), as_json
        )
    else:
        show_answer(
            tb.ways(kept, question, aeroplane=aeroplane, given=taken, shortest=as_json), as_json
        )


def stops(
    book: BookFolder,
    question: Question,
    start: Start = "",
    changes: Changes = None,
    order: Annotated[
        int,
        typer.Option(
            "--order", min=1, max=MOST_AT_A_TIME, help="At most this many changes at a time."
        ),
    ] = 1,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """What ends it, from here? Every minimal change.

    Changes are those of controls, of facts and readings from outside, and failures.
    """
    import tellback as tb

    answer = tb.stops(
        read_kept(book),
        question,
        aeroplane=aeroplane,
        start=start,
        changes=changes or (),
        order=order,
    )
    show_answer(answer, as_json)


def effects(
    book: BookFolder,
    move: Annotated[
        str,
        typer.Argument(
            metavar="MOVE", help="The control and where to: 'gear lever: UP'.", show_default=False
        ),
    ],
    start: Start = "",
    changes: Changes = None,
    elsewhere: Annotated[
        bool,
        typer.Option(
            "--elsewhere", help="Also when it changes what in other states; takes longer."
        ),
    ] = False,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """What does moving this control do? All that changes.

    At once and after how long; and what it may change in other states.
    """
    import tellback as tb

    answer = tb.effects(
        read_kept(book),
        move,
        aeroplane=aeroplane,
        start=start,
        changes=changes or (),
        elsewhere=elsewhere,
    )
    show_answer(answer, as_json)


def losses(
    book: BookFolder,
    question: Question,
    start: Start = "",
    changes: Changes = None,
    order: Annotated[
        int | None,
        typer.Option(
            "--order",
            min=1,
            max=MOST_AT_A_TIME,
            help="At most this many failures at a time; without it, any number.",
            show_default=False,
        ),
    ] = None,
    free: Annotated[bool, typer.Option("--free", help="Lost whatever the crew selects.")] = False,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """What must fail for it to be lost? Minimal sets by size."""
    import tellback as tb

    answer = tb.losses(
        read_kept(book),
        question,
        aeroplane=aeroplane,
        start=start,
        changes=changes or (),
        order=order,
        free=free,
    )
    show_answer(answer, as_json)


def fits(
    book: BookFolder,
    seen: Annotated[
        list[str],
        typer.Argument(metavar="SEEN...", help="Each as 'PUMP LOW shown'.", show_default=False),
    ],
    start: Start = "",
    changes: Changes = None,
    order: Annotated[
        int | None,
        typer.Option(
            "--order",
            min=1,
            max=MOST_AT_A_TIME,
            help="At most this many things together; without it two only where no one explains it.",
            show_default=False,
        ),
    ] = None,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """What would explain what is seen? The most ordinary first.

    Failures, facts and readings from outside, controls. And where to look to tell them apart.
    """
    import tellback as tb

    answer = tb.fits(
        read_kept(book),
        seen,
        aeroplane=aeroplane,
        start=start,
        changes=changes or (),
        order=order,
    )
    show_answer(answer, as_json)


def claim(
    book: BookFolder,
    text: Annotated[
        str,
        typer.Argument(
            metavar="CLAIM",
            help="'always C', 'never C', 'if C then D' or 'C only if D'.",
            show_default=False,
        ),
    ],
    given: Granted = None,
    start: OnlyStart = "",
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """Is this always so? Proved, or false with a run to show it.

    Or not decided, where neither could be found.
    """
    import tellback as tb

    answer = tb.claim(read_kept(book), text, aeroplane=aeroplane, given=given or (), start=start)
    show_answer(answer, as_json)


def can(
    book: BookFolder,
    question: Question,
    given: Granted = None,
    start: OnlyStart = "",
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """Can this ever be? Proved impossible, or a run to it.

    Or not decided, where neither could be found.
    """
    import tellback as tb

    answer = tb.can(read_kept(book), question, aeroplane=aeroplane, given=given or (), start=start)
    show_answer(answer, as_json)


def compare(
    book: BookFolder,
    other: Annotated[
        Path | None,
        typer.Argument(
            metavar="[OTHER]", help="Folder of another revision of the book.", show_default=False
        ),
    ] = None,
    aeroplane: Aeroplane = "",
    with_aeroplane: Annotated[
        str,
        typer.Option(
            "--with",
            metavar="NAME",
            help="Variant or serial number to compare with; between two books, without it, the "
            "same.",
            show_default=False,
        ),
    ] = "",
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write the table there as CSV, instead of printing it.",
            show_default=False,
        ),
    ] = None,
    as_json: Json = False,
) -> None:
    """What differs? Between two aeroplanes, or two revisions.

    Each difference in behaviour with a smallest state that shows it. What is only worded
    otherwise is proved to be that.
    """
    import tellback as tb
    from tellback.logic.answers.compare_csv import check_place, write_csv

    if output is not None:
        check_place(output)
    answer = tb.compare(
        tb.read(book),
        None if other is None else tb.read(other),
        aeroplane_a=aeroplane,
        aeroplane_b=with_aeroplane,
        follow=followed,
    )
    told: object = answer
    if output is not None:
        write_csv(answer, output)
        told = answer if as_json else f"{answer.headline}.\nWritten: {output}."
    show_answer(told, as_json)


def steps(
    book: BookFolder,
    procedure: Annotated[
        str,
        typer.Argument(metavar="PROCEDURE", help="Its name in the book.", show_default=False),
    ],
    start: DoneFrom = "",
    changes: Changes = None,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """What does this procedure do? Each step, and the whole.

    And what is otherwise if a step is left out or two are swapped.
    """
    import tellback as tb

    answer = tb.steps(
        read_kept(book), procedure, aeroplane=aeroplane, start=start, changes=changes or ()
    )
    show_answer(answer, as_json)


QUESTIONS = (ways, feeds, stops, effects, losses, signs, fits, why, claim, can, steps, compare)
