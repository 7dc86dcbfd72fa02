"""Whole processes, from nothing to the end."""

from __future__ import annotations

from collections.abc import Iterator

from benchmarks.measures import Row, median_of_processes, seconds

QUESTION = "left AC bus powered"
COLD = "import sys; from tellback.cli.main import main; sys.exit(main())"


def rows() -> Iterator[Row]:
    """Python by itself, the import, and one question asked cold."""
    nothing = median_of_processes(["-c", "pass"])
    yield Row("Python starts and ends", seconds(nothing), note="for comparison")
    imported = median_of_processes(["-c", "import tellback"])
    yield Row("`import tellback`, whole process", seconds(imported), "0.25 s")
    asked = median_of_processes(["-c", COLD, "ways", "books/s94", QUESTION])
    yield Row(f"`tellback ways books/s94 '{QUESTION}'`, whole process", seconds(asked), "1.2 s")
