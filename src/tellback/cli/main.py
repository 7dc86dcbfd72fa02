"""The command `tellback`: runs a command; a refusal becomes a message and exit status 2."""

from __future__ import annotations

import errno
import gc
import io
import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from tellback import CAUTION, __version__
from tellback.cli.asking import QUESTIONS
from tellback.cli.drawing import draw
from tellback.cli.keeping import check, format_book, limits, new, revise, schema
from tellback.cli.running import QUESTIONS_IN_TIME
from tellback.cli.showing import show_refusal
from tellback.cli.waiting import told_while_waiting
from tellback.refusals import Refusal

INTERRUPTED = 130
"""The exit status of a command that was stopped from the keyboard, as shells have it."""

app = typer.Typer(
    name="tellback",
    help=f"One exact picture of an aeroplane's systems, and what is asked of it.\n\n{CAUTION}",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for _question in (*QUESTIONS, *QUESTIONS_IN_TIME):
    app.command()(told_while_waiting(_question))
for _command in (draw, check, limits, revise, schema, new):
    app.command()(_command)
app.command("format")(format_book)


@app.command()
def demo(
    book: Annotated[
        Path | None,
        typer.Argument(
            metavar="[BOOK]", help="The example book, if it is elsewhere.", show_default=False
        ),
    ] = None,
) -> None:
    """A session of real questions to the example type."""
    from tellback.cli.session import play

    play(book, _run)


class BadCommand(Refusal):
    """A command that was not written as it must be."""


class BadFile(Refusal):
    """A file that cannot be read or written."""


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"tellback {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _start(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Tell the version.")
    ] = False,
) -> None:
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command in the arguments (those of the process if None); the exit status."""
    arguments = sys.argv[1:] if arguments is None else list(arguments)
    _write_what_cannot_be_shown_as_question_marks()
    gc.disable()  # what a command makes it keeps to its end: looking for rubbish is lost time
    try:
        return _run(arguments)
    except Refusal as refusal:
        show_refusal(refusal, "--json" in arguments)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except (KeyboardInterrupt, typer.Abort):
        return INTERRUPTED
    finally:
        gc.enable()


def _run(arguments: Sequence[str]) -> int:
    command: Any = typer.main.get_command(app)
    try:
        status = command.main(list(arguments), prog_name="tellback", standalone_mode=False)
    except _MISUSE as misuse:
        raise _as_refusal(misuse) from None
    except BrokenPipeError:
        raise
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        message = f"{where}{(error.strerror or str(error)).casefold()}"
        raise BadFile(message, _MENDS.get(error.errno or 0, _ANY_FILE)) from error
    return status if isinstance(status, int) else 0


_ANY_FILE = "Name another place; nothing was changed there."
_NO_RIGHTS = "Name a place where you may write, or ask for the right to; nothing was changed there."
_MENDS = {
    errno.ENOENT: "Make the folder first, or name one that is there.",
    errno.EACCES: _NO_RIGHTS,
    errno.EPERM: _NO_RIGHTS,
    errno.EROFS: _NO_RIGHTS,
    errno.ENOSPC: "Make room on the disk; what was there is as it was.",
    errno.EISDIR: "A folder has that name: name a file.",
}
"""What mends a file that cannot be written."""

# What every misuse of a command is derived from, whoever ships it.
_MISUSE: Any = typer.BadParameter.__mro__[2]


_PLAINLY = (
    (re.compile(r"a valid int(eger)?( range)?$"), "a whole number"),
    (re.compile(r"is not in the range x>=(\d+)$"), r"must be \1 at least"),
)


def _as_refusal(misuse: Any) -> BadCommand:
    message = str(misuse.format_message()).rstrip(".")
    message = message[:1].casefold() + message[1:]
    for technical, plain in _PLAINLY:
        message = technical.sub(plain, message)
    name = misuse.ctx.command_path if getattr(misuse, "ctx", None) else "tellback"
    mend = f"See `{name} --help`."
    if "extra argument" in message:
        mend = f"Put a text of several words in quotes. {mend}"
    return BadCommand(message, mend)


def _write_what_cannot_be_shown_as_question_marks() -> None:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
