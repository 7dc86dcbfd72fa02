"""Tidying a book's files: one order of keys, one indentation; the meaning stays to the letter."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any

from tellback.book.laid_out import Within, laid_out
from tellback.book.opening import read
from tellback.book.reader import CLAIMS_FILE, NUMBERS, PROCEDURES, TYPE_FILE, read_texts
from tellback.book.remarks import comments_in
from tellback.diagnostics import Place
from tellback.files import replace_file
from tellback.refusals import Refusal


class NotTidied(Refusal):
    """Tidying would have changed what the book says, or lost a comment; nothing was written."""


@dataclass(frozen=True, slots=True)
class TidyFile:
    """A file of a book as it is and as it would be; `name` is its path within the book."""

    name: str
    before: str
    after: str

    @property
    def changes(self) -> bool:
        """Whether tidying changes anything."""
        return self.before != self.after


def tidied(folder: Path) -> tuple[TidyFile, ...]:
    """Every file of a book with what it would be. Nothing is written.

    Raises BookErrors if the book has errors, and NotTidied if its meaning or a comment would not
    come through.
    """
    book = read(folder)
    places = [part.place for part in book.chapters]
    places += [part.place for part in book.procedures] + [part.place for part in book.limits]
    places += [part.place for part in book.scenarios]
    names = [TYPE_FILE, *sorted({place.file for place in places})]
    names += [CLAIMS_FILE] if (folder / CLAIMS_FILE).exists() else []
    files = tuple(_tidy_file(folder, name) for name in names)
    tidy, _ = read_texts(book.folder, {file.name: file.after for file in files})
    if tidy is None or without_places(tidy) != without_places(book):
        raise NotTidied("tidying would change what the book says; nothing was written")
    return files


def write(folder: Path, files: tuple[TidyFile, ...]) -> None:
    """Puts the tidied files in the place of those that change, each at once and whole.

    Raises NotTidied at the first that is not any more as it was tidied, and OSError.
    """
    for file in files:
        if file.changes:
            path = (folder / file.name).resolve()
            if path.read_bytes() != file.before.encode():
                raise NotTidied(
                    f"{file.name} was changed meanwhile, and was left so", "Tidy the book again."
                )
            replace_file(path, file.after.encode())


def without_places(value: Any) -> Any:
    """What a book or a part of it says, wherever it stands: plain data to compare."""
    if isinstance(value, Place):
        return None
    if is_dataclass(value) and not isinstance(value, type):
        parts = (f for f in fields(value) if f.name != "folder")
        return type(value).__name__, *(without_places(getattr(value, f.name)) for f in parts)
    if isinstance(value, tuple | list):
        return tuple(without_places(part) for part in value)
    if isinstance(value, Mapping):
        return {key: without_places(part) for key, part in value.items()}
    return value


def _tidy_file(folder: Path, name: str) -> TidyFile:
    written = (folder / name).read_bytes().decode("utf-8")
    text = written.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    after = laid_out(text, _within(name))
    if Counter(comments_in(after)) != Counter(comments_in(text)):
        raise NotTidied(f"tidying would lose a comment of {name}; nothing was written")
    return TidyFile(name, written, after)


def _within(name: str) -> Within:
    kinds = {
        TYPE_FILE: "type file",
        CLAIMS_FILE: "claim",
        PROCEDURES: "procedure file",
        NUMBERS: "numbers file",
    }
    return Within(kinds.get(name.partition("/")[0], "chapter file"))
