"""Processes of this program beside it: each does one kind of work, and ends when it ends.

A process waits for requests at a pipe. Another pipe closes when the program ends, however it does,
and then the process ends at once, whatever it is doing. Keys pressed for the program do not reach
it.
"""

from __future__ import annotations

import atexit
import gc
import os
import pickle
import signal
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from importlib import import_module
from queue import SimpleQueue
from threading import Timer
from typing import Any, TypeVar

from tellback.lifeline import end_with

Request = TypeVar("Request")
Result = TypeVar("Result")


class Gone(Exception):
    """The process ended before it answered."""


class Helper:
    """A process that applies one function, found by its name, to each request."""

    def __init__(self, work: Callable[[Any], Any]) -> None:
        other_end, self._lifeline = os.pipe()
        served = f"{work.__module__!r}, {work.__qualname__!r}, {other_end}"
        with _keys_held_back():
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", f"from {__name__} import serve; serve({served})"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                pass_fds=[other_end],
            )
        os.close(other_end)
        atexit.register(self.end)

    def ask(self, request: object, patience: float | None = None) -> Any:
        """What comes of a request. Raises what the function raises.

        Raises Gone if the process ends before, as it is made to after `patience` seconds.
        """
        stdin, stdout = self._process.stdin, self._process.stdout
        assert stdin is not None
        assert stdout is not None
        watch = Timer(patience, self._process.kill) if patience is not None else None
        if watch:
            watch.start()
        try:
            pickle.dump(request, stdin)
            stdin.flush()
            done, result = pickle.load(stdout)
        except (BrokenPipeError, EOFError, ValueError, pickle.UnpicklingError) as ended:
            raise Gone from ended
        finally:
            if watch:
                watch.cancel()
        if done:
            return result
        raise result

    def end(self) -> None:
        """Ends the process, whatever it does."""
        atexit.unregister(self.end)
        self._process.kill()
        for stream in (self._process.stdin, self._process.stdout):
            assert stream is not None
            with suppress(BrokenPipeError):
                stream.close()
        self._process.wait()
        os.close(self._lifeline)


def spread(work: Callable[[Request], Result], requests: Sequence[Request]) -> Iterator[Result]:
    """What comes of each request, in order, worked out in as many processes as there are cores.

    Raises what the function raises, and Gone if a process was ended from outside.
    """
    helpers = [Helper(work) for _ in range(min(len(requests), os.cpu_count() or 1))]
    free: SimpleQueue[Helper] = SimpleQueue()
    for helper in helpers:
        free.put(helper)

    def ask(request: Request) -> Result:
        helper = free.get()
        try:
            result: Result = helper.ask(request)
        finally:
            free.put(helper)
        return result

    with ThreadPoolExecutor(len(helpers)) as threads:
        try:
            yield from threads.map(ask, requests)
        finally:
            for helper in helpers:
                helper.end()


def serve(module: str, function: str, other_end: int) -> None:
    """Answers requests from the standard input on the standard output, until none can come."""
    end_with(other_end)
    gc.disable()  # what a process makes it keeps to its end: looking for rubbish is lost time
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever prints does not print into the answers
    work = getattr(import_module(module), function)
    with suppress(EOFError, BrokenPipeError):
        while True:
            answers.write(_answer(work, pickle.load(sys.stdin.buffer)))
            answers.flush()


def _answer(work: Callable[[Any], Any], request: Any) -> bytes:
    try:
        return pickle.dumps((True, work(request)))
    except Exception as fault:
        told = traceback.format_exc()
        fault.add_note(f"In a process beside:\n{told}")
        try:
            return pickle.dumps((False, fault))
        except Exception:
            return pickle.dumps((False, RuntimeError(told)))


@contextmanager
def _keys_held_back() -> Iterator[None]:
    """What is started meanwhile never sees that somebody pressed Ctrl-C; this program does."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
