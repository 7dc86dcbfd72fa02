"""Measures and prints a table; writes nothing unless asked.

python -m benchmarks            measure and print
python -m benchmarks --write    and put the table into docs/benchmarks.md
"""

from __future__ import annotations

import os
import platform
import sys
from collections.abc import Iterator

from benchmarks import (
    asking,
    enumerating,
    moving,
    size,
    starting,
    trees,
    ways_elsewhere,
    whole_book,
)
from benchmarks.measures import PROJECT, Row

PAGE = PROJECT / "docs" / "benchmarks.md"
BEGIN, END = "<!-- table -->\n", "<!-- end of table -->\n"


def main() -> None:
    """Measure, print, and write if asked."""
    if unknown := set(sys.argv[1:]) - {"--write"}:
        raise SystemExit(f"unknown: {' '.join(unknown)}. There is --write, and nothing else.")
    rows = []
    for row in measured():
        rows.append(row)
        print(f"{row.took:>28}  {row.what}" + (f"  ({row.note})" if row.note else ""), flush=True)
    print(machine())
    if "--write" in sys.argv:
        head, _, rest = PAGE.read_text(encoding="utf-8").partition(BEGIN)
        _, _, tail = rest.partition(END)
        table = "\n".join(["| what | took | goal | note |", "|---|---|---|---|", *map(line, rows)])
        text = f"{head}{BEGIN}\n{table}\n\n{machine()}\n\n{END}{tail}"
        PAGE.write_text(text, encoding="utf-8")


def measured() -> Iterator[Row]:
    """All rows, in order."""
    yield from starting.rows()
    book = asking.the_book()
    yield from whole_book.rows(book)
    yield from asking.rows(book)
    yield from moving.rows(book)
    yield from enumerating.rows(book)
    yield from ways_elsewhere.rows()
    yield from trees.rows()
    yield from size.rows()


def line(row: Row) -> str:
    """A row as a line of Markdown."""
    return f"| {row.what} | {row.took} | {row.goal} | {row.note} |"


def machine() -> str:
    """What it was measured on."""
    return (
        f"Measured on {os.cpu_count()} shared cores ({platform.machine()}, {platform.system()}), "
        f"Python {platform.python_version()}."
    )


if __name__ == "__main__":
    main()
