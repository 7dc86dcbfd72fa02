"""Lines that say the same of members of a family, in one: `left (right) pump running`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Line:
    """A line of an answer in time: when it comes, of which things, through which, in words."""

    seconds: float
    things: tuple[str, ...]
    through: tuple[str, ...]
    text: str


def likewise(lines: Sequence[Line]) -> Iterator[Line]:
    """The lines, those of one time that differ in the member alone in one, where the first is.

    Only if every word of the one becomes the other where it names the other member; and none comes
    to stand before what it comes through.
    """
    left, told = list(lines), set[str]()
    while left:
        first = left.pop(0)
        later = {thing for line in left for thing in line.things if line.seconds == first.seconds}
        own, others = "", list[str]()
        for line in list(left):
            one, other = _members(first, line)
            ready = (later & set(line.through)) <= told.union(first.through, first.things)
            if one and own in ("", one) and ready and line.seconds == first.seconds:
                own = one
                others.append(other)
                left.remove(line)
                told.update(line.things)
        told.update(first.things)
        yield first if not others else replace(first, text=_all_in_one(first.text, own, others))


def _members(line: Line, other: Line) -> tuple[str, str]:
    """What names the member in either line, if they say the same of both; else nothing."""
    one, two = (
        (line.things[0].split(), other.things[0].split())
        if line.things and other.things
        else ([], [])
    )
    same = 0
    while same < min(len(one), len(two)) - 1 and one[-1 - same] == two[-1 - same]:
        same += 1
    here, there = " ".join(one[: len(one) - same]), " ".join(two[: len(two) - same])
    alike = same and _put(line.text, here, there) == other.text
    return (here, there) if alike else ("", "")


def _put(text: str, here: str, there: str) -> str:
    """The text with one member in place of another, in capitals where that is."""

    def instead(found: re.Match[str]) -> str:
        if found[0] == here:
            return there
        return there.upper() if found[0].isupper() else there.lower()

    return re.sub(rf"\b{re.escape(here)}\b", instead, text, flags=re.IGNORECASE)


def _all_in_one(text: str, own: str, others: Sequence[str]) -> str:
    return _put(text, own, f"{own} ({', '.join(others)})")
