"""A new type book: a small one that passes the check and explains itself, to write over."""

from __future__ import annotations

from pathlib import Path

from tellback.files import copy_folder
from tellback.refusals import Refusal

TEMPLATE = Path(__file__).with_name("template")


class FolderInUse(Refusal):
    """The folder for a new book has something in it already."""


def begin(folder: Path) -> None:
    """Writes a small type book into a folder that is not there yet, or empty.

    The folder gets the whole book or nothing. Raises FolderInUse, and OSError of that folder.
    """
    if folder.exists() and (
        not folder.is_dir() or any(folder.iterdir()) or folder.resolve() == Path.cwd()
    ):
        raise FolderInUse(
            f"{folder} is in use already", "Give the name of a new folder; nothing was written."
        )
    copy_folder(TEMPLATE, folder)
