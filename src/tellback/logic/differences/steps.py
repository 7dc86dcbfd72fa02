"""The steps of procedures as lines to compare, and which procedure of one book is which."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from typing import NamedTuple

from tellback.book.model import Procedure, Step
from tellback.book.names import fold
from tellback.logic.differences.pairing import was_before
from tellback.logic.differences.shapes import shape

Pairs = Mapping[str, tuple[Procedure, Procedure]]
"""For each name in the second book the procedure as it was and as it is."""


class Line(NamedTuple):
    """A step with its number, and the branch it stands in (`then`, `otherwise`) if it does."""

    number: str
    step: Step
    branch: str


def lines_in(steps: Sequence[Step], before: str = "", branch: str = "") -> Iterator[Line]:
    """The steps with their numbers, each followed by those of its branches."""
    for number, step in enumerate(steps, 1):
        yield Line(f"{before}{number}", step, branch)
        inside = f"{before}{number}."
        yield from lines_in(step.then, inside, "then")
        yield from (
            line._replace(number=_later(line.number, inside, len(step.then)))
            for line in lines_in(step.otherwise, inside, "otherwise")
        )


def _later(number: str, before: str, count: int) -> str:
    """The steps of `otherwise` count on from those of `then`."""
    own, dot, rest = number.removeprefix(before).partition(".")
    return f"{before}{int(own) + count}{dot}{rest}"


def mark(line: Line) -> Hashable:
    """What makes a step what it is; what is only said or noted is not compared but as text."""
    step = line.step
    said = fold(step.statement.text) if step.kind == "say" else ""
    depth = line.number.count(".")
    return (
        step.kind, shape(step.statement.condition), said, step.seconds, step.from_memory,
        line.branch, depth,
    )  # fmt: skip


def _marks(procedure: Procedure) -> list[Hashable]:
    return [mark(line) for line in lines_in(procedure.steps)]


def paired(a: Sequence[Procedure], b: Sequence[Procedure]) -> Pairs:
    """Which procedure is which: by `was`, by name, or by all that is to be done."""
    by_name_a, by_name_b = ({fold(one.name): one for one in of} for of in (a, b))
    found: dict[str, tuple[Procedure, Procedure]] = {}

    def add(old: Procedure | None, new: Procedure | None) -> None:
        taken = {one.name for one, _ in found.values()}
        if old and new and old.name not in taken and new.name not in found:
            found[new.name] = old, new

    for new in b:
        if not was_before(new, by_name_a):
            add(by_name_a.get(fold(new.was)), new)
    for old in a:
        if not was_before(old, by_name_b):
            add(old, by_name_b.get(fold(old.was)))
    for new in b:
        add(by_name_a.get(fold(new.name)), new)
    for old, new in _alike(a, b, found):
        add(old, new)
    return found


def _alike(
    a: Sequence[Procedure], b: Sequence[Procedure], found: Pairs
) -> list[tuple[Procedure, Procedure]]:
    """Those left over that have the same steps as one of the other book, and no more than one."""
    taken = {old.name for old, _ in found.values()}
    left = [old for old in a if old.name not in taken and old.steps]
    alike = []
    for new in b:
        those = [old for old in left if _marks(old) == _marks(new)]
        again = [one for one in b if _marks(one) == _marks(new)]
        if len(those) == len(again) == 1:
            alike.append((those[0], new))
    return alike
