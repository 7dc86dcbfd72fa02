"""The command `tellback`: runs a command; a refusal becomes a message and exit status 2."""

from __future__ import annotations

import errno
import gc
import io
import os
import re
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Annotated, Any

import typer

from tellback import CAUTION, __version__
from tellback.cli.asking import QUESTIONS
from tellback.cli.drawing import draw
from tellback.cli.endings import (
    DONE,
    FAILED,
    INTERRUPTED,
    NOBODY_READS,
    REFUSED,
    OwnFault,
    ended_by,
    own_fault,
)
from tellback.cli.keeping import check, format_book, limits, new, revise, schema
from tellback.cli.running import QUESTIONS_IN_TIME
from tellback.cli.showing import show_refusal, tell, width_of
from tellback.cli.waiting import told_while_waiting
from tellback.refusals import Refusal

WIDEST_HELP = 80

app = typer.Typer(
    name="tellback",
    help=f"One exact picture of an aeroplane's systems, and what is asked of it.\n\n{CAUTION}",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for _question in (*QUESTIONS, *QUESTIONS_IN_TIME):
    app.command()(told_while_waiting(_question))
app.command()(told_while_waiting(draw))
app.command()(told_while_waiting(check))
for _command in (limits, revise, schema, new):
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
        tell(f"tellback {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _start(
    context: typer.Context,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Tell the version.")
    ] = False,
) -> None:
    if context.invoked_subcommand is None:
        tell(context.get_help())


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the command in the arguments (those of the process if None); the exit status."""
    arguments = sys.argv[1:] if arguments is None else list(arguments)
    _write_what_cannot_be_shown_as_question_marks()
    gc.disable()  # what a command makes it keeps to its end: looking for rubbish is lost time
    try:
        return _ended(arguments)
    except BrokenPipeError:
        _write_nowhere()
        return NOBODY_READS
    except KeyboardInterrupt:
        return INTERRUPTED
    finally:
        gc.enable()


def _ended(arguments: Sequence[str]) -> int:
    """Runs the command and tells what it could not do; the exit status."""
    try:
        return _run(arguments)
    except (BrokenPipeError, KeyboardInterrupt):
        raise
    except Refusal as refusal:
        _tell(refusal, arguments)
        return REFUSED
    except BaseException as fault:  # an engine in another language may raise what is no Exception
        _tell(own_fault(fault, arguments), arguments)
        return FAILED


def tell_of_the_end(killed_by: signal.Signals, said: str, arguments: Sequence[str]) -> int:
    """Tells of a command that a signal ended, where engines wrote `said`; the exit status."""
    refusal = ended_by(killed_by, said, arguments)
    _tell(refusal, arguments)
    return FAILED if isinstance(refusal, OwnFault) else REFUSED


def _tell(refusal: Refusal, arguments: Sequence[str]) -> None:
    """Tells it, if that can be done; on a full disk perhaps not."""
    try:
        show_refusal(refusal, "--json" in arguments)
    except BrokenPipeError:
        raise
    except OSError:
        _write_nowhere()


def _run(arguments: Sequence[str]) -> int:
    command: Any = typer.main.get_command(app)
    columns = width_of(sys.stdout)
    width = None if columns is None else min(columns, WIDEST_HELP)
    try:
        with command.make_context("tellback", list(arguments), terminal_width=width) as context:
            status = command.invoke(context)
    except typer.Exit as left:
        return left.exit_code
    except _MISUSE as misuse:
        raise _as_refusal(misuse) from None
    except BrokenPipeError:
        raise
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        message = f"{where}{(error.strerror or str(error)).casefold()}"
        raise BadFile(message, _MENDS.get(error.errno or 0, _ANY_FILE)) from error
    except MemoryError as error:
        from tellback.logic.limits import TooLarge

        raise TooLarge("the answer takes more memory than there is") from error
    return status if isinstance(status, int) else DONE


def _write_nowhere() -> None:
    """Lets what is still to be written go nowhere, in silence."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError):
            os.dup2(nowhere, stream.fileno())


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
    (re.compile(r"is not in the range (\d+)<=x<=(\d+)$"), r"must be from \1 to \2"),
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
