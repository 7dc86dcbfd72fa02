"""The patterns that real aeroplanes have, each a small book with answers worked out by hand.

The files stand in `tests/patterns`. The oracle and the program are held against the same answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any as Anything

import yaml

from tellback.book.conditions import Condition
from tellback.book.grammar import parse_condition
from tellback.book.model import Book
from tellback.book.names import names_of
from tests.small_books import book_of
from tests.yaml_text import block

FOLDER = Path(__file__).parent / "patterns"
TYPE = """\
type: Pattern
manual: Pattern Manual
revision: 1
variants:
  P1: {serials: 1-2}
starting states:
"""

Failures = frozenset[tuple[str, str]]
CubeText = frozenset[tuple[str, tuple[str, ...]]]


@dataclass(frozen=True)
class Pattern:
    """A book and what is expected of it: for each kind of question a list of mappings."""

    name: str
    book: Book
    expected: dict[str, list[dict[str, Anything]]]

    def condition(self, text: str) -> Condition:
        """A condition about the book."""
        return condition_of(self.book, text)


def patterns() -> list[Pattern]:
    """All patterns, in the order of their files."""
    return [pattern_in(path) for path in sorted(FOLDER.glob("*.yaml"))]


def pattern_in(path: Path) -> Pattern:
    """The pattern in a file, every scalar as written; its claims become those of the book."""
    data = yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)
    starts = "".join(f"  {line}\n" for line in data["starting states"].splitlines())
    expected = data["expected"]
    claims = "".join(claim_text(claim) for claim in expected["claims"])
    return Pattern(path.stem, book_of(data["chapter"], TYPE + starts, claims), expected)


def claim_text(claim: dict[str, Anything]) -> str:
    """A claim as it stands in `claims.yaml`."""
    fields = block({key: claim[key] for key in ("claim", "given") if key in claim}, 2)
    return f"- {fields[2:]}"


def condition_of(book: Book, text: str) -> Condition:
    """The condition of a text about the book; fails the test if it cannot be read."""
    found, faults = parse_condition(text, names_of(book))
    assert found is not None, [fault.message for fault in faults]
    return found


def cubes_of(written: Iterable[Mapping[str, Sequence[str]]]) -> set[CubeText]:
    """Cubes as they are written, as sets that can be compared."""
    return {frozenset((item, tuple(values)) for item, values in cube.items()) for cube in written}


def failure_sets_of(written: list[dict[str, str]]) -> set[Failures]:
    """Sets of failures as they are written, as sets that can be compared."""
    return {frozenset(one.items()) for one in written}
