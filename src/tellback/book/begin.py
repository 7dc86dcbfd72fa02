"""A new type book: a small one that passes the check and explains itself, to write over."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from tellback.refusals import Refusal

TEMPLATE = Path(__file__).with_name("template")


class FolderInUse(Refusal):
    """The folder for a new book has something in it already."""


def begin(folder: Path) -> None:
    """Writes a small type book into a folder that is not there yet, or empty.

    The folder gets the whole book or nothing. Raises FolderInUse, and OSError of that folder.
    """
    given, folder = folder, folder.absolute()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir()) or folder == Path.cwd()):
        raise FolderInUse(
            f"{given} is in use already", "Give the name of a new folder; nothing was written."
        )
    try:
        _write(folder)
    except OSError as error:
        raise OSError(error.errno, error.strerror or str(error), str(given)) from None


def _write(folder: Path) -> None:
    """The folder with the book, made beside its place and put there."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}.") as beside:
        whole = Path(beside) / "book"
        shutil.copytree(TEMPLATE, whole)
        whole.replace(folder)
