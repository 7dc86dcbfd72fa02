"""A process that ends with another one, however that ends, and whatever it is doing itself."""

from __future__ import annotations

import os
import signal
from threading import Thread

try:
    import fcntl
except ImportError:  # a system without it: the thread alone must do
    fcntl = None  # type: ignore[assignment]


def end_with(other_end: int) -> None:
    """Ends this process as soon as nobody holds the other end of this pipe any more.

    Nothing may be written to the pipe, and no other process may read from it. Where the system can
    kill for it, it does; a thread alone would wait for long steps of the interpreter.
    """
    if hasattr(fcntl, "F_SETSIG"):
        fcntl.fcntl(other_end, fcntl.F_SETOWN, os.getpid())
        fcntl.fcntl(other_end, fcntl.F_SETSIG, signal.SIGKILL)
        flags = fcntl.fcntl(other_end, fcntl.F_GETFL)
        fcntl.fcntl(other_end, fcntl.F_SETFL, flags | os.O_ASYNC)
    Thread(target=_wait_for_the_end, args=(other_end,), daemon=True).start()


def _wait_for_the_end(other_end: int) -> None:
    os.read(other_end, 1)
    os._exit(0)
