"""Tells, where the error stream is a terminal, that something is still being worked out."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import wraps
from threading import Event, Thread
from time import monotonic
from typing import ParamSpec, TextIO, TypeVar

SILENT = 1.0
"""For so many seconds nothing is said."""

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")
Part = TypeVar("Part")


def is_terminal(stream: TextIO) -> bool:
    """Whether it shows on a terminal that can write a line anew."""
    return stream.isatty() and os.environ.get("TERM", "") != "dumb"


class _Waiting:
    """A line that tells how long it has taken, rewritten each second until it is over."""

    def __init__(self) -> None:
        self.doing = "Working it out"
        self._over = Event()
        self._thread = Thread(target=self._tell, daemon=True)
        self._thread.start()

    def _tell(self) -> None:
        begun, length = monotonic(), 0
        while not self._over.wait(SILENT):
            told = f"{self.doing}: {monotonic() - begun:.0f} s (Ctrl-C gives up)"
            told = told[: shutil.get_terminal_size().columns - 1]
            sys.stderr.write(f"\r{told.ljust(length)}")
            sys.stderr.flush()
            length = len(told)
        if length:
            sys.stderr.write(f"\r{' ' * length}\r")
            sys.stderr.flush()

    def end(self) -> None:
        self._over.set()
        self._thread.join()


_waiting: list[_Waiting] = []


def over() -> None:
    """Takes the line away: the answer is there."""
    while _waiting:
        _waiting.pop().end()


def followed(parts: Sequence[Part], work: str) -> Iterator[Part]:
    """The parts of some work, while the line tells how many are done."""
    for done, part in enumerate(parts):
        _tell_progress(work, done, len(parts))
        yield part
    _tell_progress(work, len(parts), len(parts))


def counted(results: Iterable[Part], number: int, work: str) -> Iterator[Part]:
    """The results of some work as they come, that many in all, while the line tells how many."""
    _tell_progress(work, 0, number)
    for done, result in enumerate(results, 1):
        _tell_progress(work, done, number)
        yield result


def _tell_progress(work: str, done: int, number: int) -> None:
    for line in _waiting:
        line.doing = f"{work}, {done} of {number} done"


def told_while_waiting(command: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """The command, with the line while it works."""

    @wraps(command)
    def telling(*args: Arguments.args, **kwargs: Arguments.kwargs) -> Result:
        if is_terminal(sys.stderr):
            _waiting.append(_Waiting())
        try:
            return command(*args, **kwargs)
        finally:
            over()

    return telling
