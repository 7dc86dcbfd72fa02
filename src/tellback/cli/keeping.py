"""The commands for a book's own files: check it, list its limits, begin or tidy one."""

from __future__ import annotations

import sys
from contextlib import nullcontext
from datetime import date
from difflib import unified_diff
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tellback.cli.endings import DONE, FOUND, REFUSED, cut_short
from tellback.cli.options import Aeroplane, BookFolder, Json
from tellback.cli.showing import (
    AS_WRITTEN,
    fitted,
    show_answer,
    show_caution,
    show_json,
    tell,
    tell_json,
    width_of,
)
from tellback.cli.waiting import counted

if TYPE_CHECKING:
    from tellback.book.model import Book
    from tellback.book.tidy import TidyFile
    from tellback.diagnostics import Diagnostic


MANY_THINGS = 300
"""A book of so many things is checked in several processes."""


def check(book: BookFolder, as_json: Json = False) -> int:
    """Is the book sound? All its errors, and what is worth a look.

    Exit status: 0 if there is nothing to say, 1 if there are findings, 2 if there are errors.
    """
    from tellback.book.reader import read
    from tellback.diagnostics import in_order

    whole, found = read(book)
    if whole is not None:
        found = in_order([*found, *_checked(whole)])
    if as_json:
        _show_check_as_json(book, found)
    else:
        _show_check(whole, found)
    return REFUSED if _count(found, "error") else FOUND if found else DONE


def _checked(book: Book) -> tuple[Diagnostic, ...]:
    """The check of a book; of a large one in several processes, with its progress shown."""
    import tellback as tb

    if len(book.things) < MANY_THINGS:
        return tb.check(book)
    from tellback.processes import Gone, spread

    try:
        return tb.check(
            book, spread=lambda one, parts: counted(spread(one, parts), len(parts), "Checking")
        )
    except Gone as ended:
        raise cut_short() from ended


def _show_check(book: Book | None, found: tuple[Diagnostic, ...]) -> None:
    from tellback.diagnostics import render

    for diagnostic in found:
        tell(fitted(render(diagnostic), width_of(sys.stdout), keep=AS_WRITTEN) + "\n")
    counts = [
        _several(_count(found, "error"), "error"),
        _several(_count(found, "finding"), "finding"),
    ]
    of = ""
    if book is not None:
        parts = [_several(len(book.things), "thing"), _several(len(book.claims), "claim")]
        parts += [_several(len(book.procedures), "procedure")] * bool(book.procedures)
        parts += [_several(len(book.limits), "limit")] * bool(book.limits)
        parts += [_several(len(book.scenarios), "scenario")] * bool(book.scenarios)
        told = f"{', '.join(parts[:-1])} and {parts[-1]}"
        of = f" in {_several(len(book.chapters), 'chapter')} with {told}"
    tell(f"{' and '.join(counts)}{of}.")
    show_caution()


def _show_check_as_json(folder: Path, found: tuple[Diagnostic, ...]) -> None:
    from tellback.diagnostics import as_json

    show_json(
        {
            "answer": "check",
            "book": str(folder),
            "errors": _count(found, "error"),
            "findings": _count(found, "finding"),
            "diagnostics": [as_json(diagnostic) for diagnostic in found],
        }
    )


def _count(found: tuple[Diagnostic, ...], kind: str) -> int:
    return sum(1 for diagnostic in found if diagnostic.kind == kind)


def _several(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'s' * (count != 1)}"


def limits(
    book: BookFolder,
    from_memory: Annotated[
        bool, typer.Option("--from-memory", help="Only those to know by heart.")
    ] = False,
    aeroplane: Aeroplane = "",
    as_json: Json = False,
) -> None:
    """Which limits has it? By title, each with its page."""
    import tellback as tb

    show_answer(tb.limits(tb.read(book), aeroplane=aeroplane, from_memory=from_memory), as_json)


def schema() -> None:
    """The JSON Schema of a book's files, for editors."""
    from tellback.book.schema import json_schema

    tell_json(json_schema())


def new(
    folder: Annotated[
        Path,
        typer.Argument(metavar="FOLDER", help="A folder not there yet.", show_default=False),
    ],
) -> None:
    """Begin a type book with a small one to write over."""
    from tellback.book.begin import begin

    begin(folder)
    tell(f"A small type book stands in {folder}. Next: tellback check {folder}")


def format_book(
    book: BookFolder,
    as_sentences: Annotated[
        bool,
        typer.Option("--sentences", help="Print the book as English sentences; change nothing."),
    ] = False,
    only_check: Annotated[
        bool, typer.Option("--check", help="Show what would change; exit status 1 if anything.")
    ] = False,
) -> int:
    """Tidy a book's files; no comment and no meaning is lost."""
    if as_sentences:
        _print_sentences(book)
        return DONE
    from tellback.book.tidy import tidied, write

    files = tidied(book)
    if only_check:
        return _show_changes(files)
    write(book, files)
    changed = [file.name for file in files if file.changes]
    tell(f"Tidied: {', '.join(changed)}." if changed else "All is tidy already.")
    return DONE


def revise(
    book: BookFolder,
    changed: Annotated[
        list[str] | None,
        typer.Option(
            "--changed",
            metavar="PASSAGE",
            help="A changed chapter, section or page: 24, 24-20, '24-20 p.2'; may be repeated.",
            show_default=False,
        ),
    ] = None,
    read: Annotated[
        str, typer.Option("--read", metavar="THING", help="Read again.", show_default=False)
    ] = "",
    not_needed: Annotated[
        str,
        typer.Option(
            "--not-needed", metavar="PASSAGE", help="Needs no change here.", show_default=False
        ),
    ] = "",
    by: Annotated[
        str, typer.Option("--by", metavar="NAME", help="Who says so.", show_default=False)
    ] = "",
    as_json: Json = False,
) -> None:
    """What to read again after a revision of the manual, ticked off.

    The list is kept in the book's folder.
    """
    import tellback as tb
    from tellback.book import rereading as lists
    from tellback.files import only_writer

    if (read or not_needed) and not by:
        raise lists.BadTick("who read it is not said", "Add --by with a name.")
    if by:
        lists.check_name(by, "who read it", "Write it in up to 100 letters.")
    whole = tb.read(book)
    tick = lists.Tick(by, date.today().isoformat())
    writes = bool(changed or read or not_needed)
    with only_writer(book) if writes else nullcontext():
        listed = lists.with_passages(lists.kept(book), changed or (), whole.revision)
        found = lists.rereading(whole, listed)
        if read:
            found = lists.rereading(whole, lists.ticked(found, read, tick))
        if not_needed:
            found = lists.rereading(whole, lists.dismissed(found, not_needed, tick))
        if writes:
            lists.keep(book, found.passages)
    if as_json:
        show_json(tb.as_json(found))
        return
    tell(fitted(str(found), width_of(sys.stdout)))
    show_caution()


def _show_changes(files: tuple[TidyFile, ...]) -> int:
    for file in files:
        before, after = (text.splitlines(keepends=True) for text in (file.before, file.after))
        shown = "".join(unified_diff(before, after, file.name, f"{file.name}, tidied"))
        if shown:
            tell(shown.removesuffix("\n"))
    changed = sum(file.changes for file in files)
    if changed:
        tell(f"{_several(changed, 'file')} of {len(files)} would change.")
    else:
        tell("All is tidy already.")
    return FOUND if changed else DONE


def _print_sentences(folder: Path) -> None:
    import tellback as tb
    from tellback.book.sentences import sentences

    for paragraph in sentences(tb.read(folder)):
        tell(fitted(paragraph, width_of(sys.stdout)) + "\n")
    show_caution()
