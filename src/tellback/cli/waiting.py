"""Tells, where the error stream is a terminal, that an answer is still being worked out."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import wraps
from threading import Event, Thread
from time import monotonic
from typing import ParamSpec

SILENT = 1.0
"""For so many seconds nothing is said."""

Arguments = ParamSpec("Arguments")


class _Waiting:
    """A line that tells how long it has taken, rewritten each second until it is over."""

    def __init__(self) -> None:
        self._over = Event()
        self._thread = Thread(target=self._tell, daemon=True)
        self._thread.start()

    def _tell(self) -> None:
        begun, told = monotonic(), ""
        while not self._over.wait(SILENT):
            told = f"Working it out: {monotonic() - begun:.0f} s (Ctrl-C gives up)"
            sys.stderr.write(f"\r{told}")
            sys.stderr.flush()
        if told:
            sys.stderr.write(f"\r{' ' * len(told)}\r")
            sys.stderr.flush()

    def end(self) -> None:
        self._over.set()
        self._thread.join()


_waiting: list[_Waiting] = []


def over() -> None:
    """Takes the line away: the answer is there."""
    while _waiting:
        _waiting.pop().end()


def told_while_waiting(command: Callable[Arguments, None]) -> Callable[Arguments, None]:
    """The command, with the line while it works."""

    @wraps(command)
    def telling(*args: Arguments.args, **kwargs: Arguments.kwargs) -> None:
        if sys.stderr.isatty():
            _waiting.append(_Waiting())
        try:
            command(*args, **kwargs)
        finally:
            over()

    return telling
