"""Files and folders that are written whole or not at all, whatever ends the writing."""

from __future__ import annotations

import errno
import glob
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tellback.refusals import Refusal

try:
    import fcntl
except ImportError:  # a system without such locks: there, one writer at a time is up to the user
    fcntl = None  # type: ignore[assignment]

PATIENCE = 10.0
"""So many seconds to wait until others have written."""

_UNFINISHED = ".unfinished"


class Busy(Refusal):
    """Somebody else is writing there."""


def replace_file(path: Path, content: bytes) -> None:
    """Writes a file beside the path and puts it in its place, with the rights that it had.

    Raises OSError of the path itself: of the file beside it nobody has asked.
    """
    with _told_of(path), _beside(path) as unfinished:
        whole = unfinished / "whole"
        whole.write_bytes(content)
        if path.exists():
            shutil.copymode(path, whole)
        whole.replace(path)


def copy_folder(source: Path, path: Path) -> None:
    """Copies a folder of files to a path where there is none, or an empty one.

    Raises OSError of the path itself.
    """
    with _told_of(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        with _beside(path) as unfinished:
            whole = unfinished / "whole"
            for file in sorted(source.rglob("*")):
                copy = whole / file.relative_to(source)
                if file.is_file():
                    copy.parent.mkdir(parents=True, exist_ok=True)
                    copy.write_bytes(file.read_bytes())
            whole.replace(path)


def read_file(path: Path, most: int) -> bytes:
    """The content of a file; OSError also if it is none, or one of more than `most` bytes."""
    status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        raise OSError(errno.EINVAL, "it is not a file", str(path))
    if status.st_size > most:
        raise OSError(errno.EFBIG, "it is too big", str(path))
    return path.read_bytes()


@contextmanager
def only_writer(folder: Path) -> Iterator[None]:
    """Waits until nobody else of this program holds the folder, and holds it meanwhile.

    Raises Busy if somebody holds it for long, and OSError if the folder cannot be opened.
    """
    handle = os.open(folder, os.O_RDONLY)
    try:
        _wait_for(handle, folder)
        yield
    finally:
        os.close(handle)


def _wait_for(handle: int, folder: Path) -> None:
    end = time.monotonic() + PATIENCE
    while not _lock(handle):
        if time.monotonic() > end:
            message = f"another command has been writing in {folder} for {PATIENCE:g} s"
            raise Busy(message, "Wait until it is done; nothing was changed.")
        time.sleep(0.02)


def _lock(handle: int) -> bool:
    """Whether nobody else holds what the handle stands for; this holds it then, where it can."""
    with suppress(_NoLocks):
        return _held(handle)
    return True


class _NoLocks(Exception):
    """The system, or this file system, has no locks."""


def _held(handle: int) -> bool:
    """Takes hold of what the handle stands for, unless somebody else has it."""
    if fcntl is None:
        raise _NoLocks
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError as error:
        raise _NoLocks from error
    return True


@contextmanager
def _told_of(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OSError(error.errno, error.strerror or str(error), str(path)) from None


@contextmanager
def _beside(path: Path) -> Iterator[Path]:
    """A hidden folder beside the path; what such ones were left by writers that died goes."""
    _sweep(path)
    while (new := _new_folder(path)) is None:
        pass
    folder, handle = new
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        os.close(handle)


def _new_folder(path: Path) -> tuple[Path, int] | None:
    """A hidden folder beside the path, and what holds it; None if it was swept away before that."""
    folder = Path(tempfile.mkdtemp(_UNFINISHED, _hidden(path), path.parent))
    try:
        handle = os.open(folder, os.O_RDONLY)
    except FileNotFoundError:
        return None
    while not _lock(handle):
        time.sleep(0.002)
    if folder.exists():
        return folder, handle
    os.close(handle)
    return None


def _sweep(path: Path) -> None:
    """Removes the folders beside the path in which nobody writes any more."""
    for name in path.parent.glob(f"{glob.escape(_hidden(path))}*{_UNFINISHED}"):
        with suppress(OSError, _NoLocks):  # without locks nobody knows whether the writer lives
            handle = os.open(name, os.O_RDONLY | os.O_NONBLOCK | os.O_NOFOLLOW)
            try:
                if stat.S_ISDIR(os.fstat(handle).st_mode) and _held(handle):
                    shutil.rmtree(name)
            finally:
                os.close(handle)


def _hidden(path: Path) -> str:
    return f".{path.name[:40]}."
