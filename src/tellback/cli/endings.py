"""How a command may end: its exit statuses, and what is told where the program itself failed."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

import tellback
from tellback import __version__
from tellback.refusals import Refusal

# What tells of faults is loaded only when there is one.

_PACKAGE = Path(tellback.__file__).parent

DONE = 0
FOUND = 1
"""There are findings, or something would change; nothing went wrong."""
REFUSED = 2
"""It cannot be done as asked, or with these files; the message says what would mend it."""
FAILED = 70
"""The program itself is at fault."""
INTERRUPTED = 130
"""Stopped from the keyboard, as shells have it."""
NOBODY_READS = 141
"""What read the output has gone, as shells have it."""


class OwnFault(Refusal):
    """A fault of the program itself; whoever asked is not to blame."""


def own_fault(fault: BaseException, arguments: Sequence[str]) -> OwnFault:
    """What is told of a fault that was not foreseen, its details kept in a file."""
    import traceback

    own = [
        frame
        for frame in traceback.extract_tb(fault.__traceback__)
        if Path(frame.filename).is_relative_to(_PACKAGE)
    ]
    where = "".join(f" in {Path(frame.filename).name}, line {frame.lineno}" for frame in own[-1:])
    return _reported(f"{type(fault).__name__}{where}", traceback.format_exception(fault), arguments)


class CutShort(Refusal):
    """What was asked was ended from outside before it was over."""


def cut_short() -> CutShort:
    """What is told where a process was ended, and nothing is left of it to tell by what."""
    return CutShort(
        "this was ended from outside, as systems do when memory runs out",
        "Close other programs, ask for less, or ask where there is more memory.",
    )


def ended_by(killed_by: signal.Signals, said: str, arguments: Sequence[str]) -> Refusal:
    """What is told of a process that a signal ended; `said` is what engines wrote before."""
    if killed_by == signal.SIGKILL or any(word in said for word in _OUT_OF_MEMORY):
        return cut_short()
    return _reported(killed_by.name, [said], arguments)


_OUT_OF_MEMORY = ("memory allocation of", "Resource temporarily unavailable", "Cannot allocate")


def _reported(what: str, details: Sequence[str], arguments: Sequence[str]) -> OwnFault:
    message = f"Tellback itself has failed ({what}); you are not to blame"
    try:
        kept = _kept("\n".join([*_heading(arguments), "", *details]))
    except OSError as reason:
        why = (reason.strerror or str(reason)).casefold()
        mend = f"Please report this line with the command. No file of details could be kept: {why}."
    else:
        mend = (
            f"Please report it with the file {kept}, which has the command and where it failed; "
            "it may hold names of the book, so look it through first."
        )
    return OwnFault(message, mend)


def _kept(details: str) -> str:
    import tempfile

    handle, name = tempfile.mkstemp(prefix="tellback-fault-", suffix=".txt")
    with os.fdopen(handle, "w", encoding="utf-8", errors="backslashreplace") as stream:
        stream.write(details)
    return name


def _heading(arguments: Sequence[str]) -> list[str]:
    import platform
    import shlex
    from datetime import UTC, datetime

    return [
        f"Tellback {__version__}, {datetime.now(UTC):%Y-%m-%d %H:%M} UTC",
        f"Python {platform.python_version()}, {platform.platform()}",
        f"with {', '.join(_versions())}",
        f"tellback {shlex.join(arguments)}",
    ]


def _versions() -> list[str]:
    """The packages that have been loaded, each with its version."""
    from importlib import metadata

    packages = {"oxidd": "oxidd", "yaml": "pyyaml", "typer": "typer", "py_mini_racer": "mini-racer"}
    packages |= {"vl_convert": "vl-convert-python", "fontTools": "fonttools"}
    return [
        f"{package} {metadata.version(package)}"
        for module, package in packages.items()
        if module in sys.modules
    ]
