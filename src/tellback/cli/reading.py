"""The book that a command is about."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tellback.book.model import Book


@lru_cache(maxsize=1)
def read_kept(folder: Path) -> Book:
    """The book, kept for the next question of a demonstration."""
    import tellback as tb

    return tb.read(folder)
