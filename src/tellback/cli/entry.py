"""The process of a command: from its first line on, it ends quietly whatever happens to it.

The command runs in a process of its own, and this one waits for it. So an end that no program can
tell of itself, in an engine of another language or by the system, is told by the one that waited.
"""

from __future__ import annotations

import os
import signal
import sys
from typing import IO

# Nothing else is loaded before a key pressed is left to the system.

TOLD_BY_THE_SHELL = {signal.SIGINT, signal.SIGTERM, signal.SIGHUP}


def main() -> int:
    """Runs the command in the arguments of the process; the exit status.

    Ctrl-C ends it at once, as the system does it, whatever is being worked out and in whatever
    language: nothing waits to be put in order, since files are written whole or not at all.
    """
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    os.environ["RUST_BACKTRACE"] = "0"  # engines may stand still in the midst of telling one
    _open_what_is_closed()
    if not hasattr(os, "fork"):
        return _run()
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)  # or nobody could wait for the command
    engines = _what_engines_say()
    from_above, to_below = os.pipe()
    try:
        command = os.fork()
    except OSError:  # there may be no more processes
        return _run()
    if command == 0:
        os.close(to_below)
        from tellback.lifeline import end_with

        end_with(from_above)
        _let_engines_speak(engines)
        return _run()
    os.close(from_above)
    status = os.waitstatus_to_exitcode(os.waitpid(command, 0)[1])
    return status if status >= 0 else _killed(signal.Signals(-status), engines)


def _run() -> int:
    try:
        from tellback.cli.main import main as run

        return run()
    except ImportError as fault:
        print(f"Tellback is not installed whole: {fault}\n  Install it anew.", file=sys.stderr)
        return 70


def _killed(by: signal.Signals, engines: IO[bytes] | None) -> int:
    """Tells how the command was ended by a signal; by one that asks for it, this ends so too."""
    if by in TOLD_BY_THE_SHELL:
        signal.signal(by, signal.SIG_DFL)
        os.kill(os.getpid(), by)
    from tellback.cli.main import tell_of_the_end

    said = ""
    if engines is not None:
        engines.seek(0)
        said = engines.read().decode(errors="replace")
    return tell_of_the_end(by, said, sys.argv[1:])


def _what_engines_say() -> IO[bytes] | None:
    """Where engines in other languages may write; None if there is no room even for that."""
    import tempfile

    try:
        return tempfile.TemporaryFile()
    except OSError:
        return None


def _let_engines_speak(engines: IO[bytes] | None) -> None:
    """What they write to the error stream is kept for a report, and not shown."""
    if engines is None:
        return
    shown = os.fdopen(os.dup(2), "w", 1, sys.stderr.encoding, sys.stderr.errors)
    os.dup2(engines.fileno(), 2)
    sys.stderr = shown


def _open_what_is_closed() -> None:
    """Puts nothing in the place of streams that are closed, so that no file takes their number."""
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        os.set_inheritable(number, True)
    os.close(number)
    for number, (name, mode) in enumerate((("stdin", "r"), ("stdout", "w"), ("stderr", "w"))):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, mode, encoding="utf-8"))
