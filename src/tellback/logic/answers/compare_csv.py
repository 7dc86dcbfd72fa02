"""A differences table as a CSV file, to go into a document of the training department."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from tellback.caution import CAUTION
from tellback.files import replace_file
from tellback.logic.answers.compare import Comparison, Difference, Restated
from tellback.logic.answers.compare_text import (
    begun,
    behaviour,
    head,
    levels_told,
    others_told,
    sides_told,
    sources,
    what_differs,
)
from tellback.logic.words import listed
from tellback.refusals import Refusal

ENDING = ".csv"

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # noqa: RUF001 wide ones
"""With these a spreadsheet begins a formula, whoever wrote the text."""


class NoPlaceForTable(Refusal, ValueError):
    """The table is to be written where no CSV file can be."""


def check_place(path: Path) -> None:
    """Raises NoPlaceForTable, so that it is said before the work and not after."""
    if path.suffix.casefold() != ENDING:
        raise NoPlaceForTable(
            f"`{path}` does not say what to write",
            f"A table is written as {ENDING}: end it so.",
        )
    if not path.parent.is_dir():
        raise NoPlaceForTable(
            f"there is no folder {path.parent} to write {path.name} into",
            "Make it, or name one that is there.",
        )


def write_csv(comparison: Comparison, path: Path) -> None:
    """Writes the table; the file is there whole or as it was. Raises OSError if it cannot.

    It begins with the mark by which spreadsheets know UTF-8.
    """
    replace_file(path, as_csv(comparison).encode("utf-8-sig"))


def as_csv(comparison: Comparison) -> str:
    """The rows of the differences table as CSV: a line of headings, a line for each difference.

    The last line is no difference: it says that this is a training aid, that the levels are a
    proposal and by which rule, and what of the comparison is not in the table. A cell that a
    spreadsheet would run as a formula begins with an apostrophe.
    """
    text = io.StringIO(newline="")
    table = csv.writer(text)
    for line in _lines(comparison):
        table.writerow([f"'{cell}" if cell.startswith(_FORMULA) else cell for cell in line])
    return text.getvalue()


def _lines(comparison: Comparison) -> Iterator[tuple[str, ...]]:
    yield (
        "item",
        "difference",
        "effect on flight characteristics",
        "effect on procedures",
        "proposed training",
        "proposed checking",
        "proposed currency",
        f"source, {comparison.a}",
        f"source, {comparison.b}",
        "a state that shows it",
    )
    for row in comparison.differences:
        told = [*row.changes, *row.with_it]
        yield (
            f"{row.item} ({row.kind})",
            "\n".join(_differs(comparison, row)),
            row.flight_characteristics,
            row.procedures,
            row.training,
            row.checking,
            row.currency,
            "\n".join(dict.fromkeys(one.source_a for one in told if one.source_a)),
            "\n".join(dict.fromkeys(one.source_b for one in told if one.source_b)),
            "\n".join(_shown(comparison, row)),
        )
    yield (" ".join(_closing(comparison)), *[""] * 9)


def _differs(comparison: Comparison, row: Difference) -> Iterator[str]:
    """What stands in either book; a source only if it is another than the first."""
    for heading, change in _with_headings(comparison, row):
        yield heading
        differs = change.source_a, change.source_b
        if change is row.changes[0] or differs == sources(row.changes[0]):
            change = replace(change, source_a="", source_b="")
        yield from sides_told(comparison, change, 2)


def _shown(comparison: Comparison, row: Difference) -> Iterator[str]:
    """The states that show it; where it is not the first thing that differs, with its name."""
    for heading, change in _with_headings(comparison, row):
        told = list(behaviour(comparison, change))
        if told and change is not row.changes[0]:
            yield f"{heading}:"
        yield from told


def _with_headings(comparison: Comparison, row: Difference) -> Iterator[tuple[str, Restated]]:
    first = row.changes[0]
    yield begun(what_differs(comparison, first)), first
    for change in others_told(row):
        yield begun(what_differs(comparison, change)), change
    for change in row.with_it:
        yield f"With it: {head(comparison, change)}", change


def _closing(comparison: Comparison) -> Iterator[str]:
    yield CAUTION
    yield levels_told(comparison)
    beside = (
        (len(comparison.scenarios), "of scenarios"),
        (len(comparison.restated), "of what is only told otherwise"),
        (len(comparison.sources), "of a source alone"),
    )
    counts = [f"{count} {what}" for count, what in beside if count]
    if counts:
        yield f"Differences that are not in this table: {listed(counts)}."
