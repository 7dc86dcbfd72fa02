"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path


def replace_file(path: Path, content: bytes) -> None:
    """Writes a file beside the path and puts it in its place, with the rights that it had.

    Raises OSError of the path itself: of the file beside it nobody has asked.
    """
    try:
        _replace(path, content)
    except OSError as error:
        raise OSError(error.errno, error.strerror or str(error), str(path)) from None


def _replace(path: Path, content: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        if path.exists():
            shutil.copymode(path, name)
        else:
            Path(name).chmod(0o666 & ~_mask())
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _mask() -> int:
    """The rights that new files are not to have here; to read them they must be set."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
