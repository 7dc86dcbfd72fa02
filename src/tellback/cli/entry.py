"""The process of a command: from its first line on, it ends quietly whatever happens to it."""

from __future__ import annotations

import os
import signal
import sys


def main() -> int:
    """Runs the command in the arguments of the process; the exit status.

    Ctrl-C ends it at once, as the system does it, whatever is being worked out and in whatever
    language: nothing waits to be put in order, since files are written whole or not at all.
    """
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    _open_what_is_closed()
    try:
        from tellback.cli.main import main as run

        return run()
    except ImportError as fault:
        print(f"Tellback is not installed whole: {fault}\n  Install it anew.", file=sys.stderr)
        return 70


def _open_what_is_closed() -> None:
    """Puts nothing in the place of streams that are closed, so that no file takes their number."""
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        os.set_inheritable(number, True)
    os.close(number)
    for number, (name, mode) in enumerate((("stdin", "r"), ("stdout", "w"), ("stderr", "w"))):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, mode, encoding="utf-8"))
