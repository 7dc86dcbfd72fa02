"""How several things and their states are said together: each state once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from tellback.logic.facts import Change, said
from tellback.logic.words import listed

if TYPE_CHECKING:
    from tellback.logic.answers.steps import Difference

OPPOSITES = {
    word: other
    for pair in (
        ("running", "not running"),
        ("open", "closed"),
        ("shown", "not shown"),
        ("set", "clear"),
        ("live", "lost"),
    )
    for word, other in (pair, pair[::-1])
}
"""States that need no `instead of`: there is but one other."""


def said_together(found: Iterable[Change | Difference], instead: bool = False) -> str:
    """Things with their states after, those of one state together, what the crew is shown last.

    `instead`: with the state before, where more than one could have been.
    """
    groups: dict[str, list[str]] = {}
    for one in sorted(found, key=lambda one: one.kind == "indication"):
        groups.setdefault(_state(one, instead), []).append(_name(one))
    return "; ".join(f"{listed(names)} {state}".rstrip() for state, names in groups.items())


def _name(one: Change | Difference) -> str:
    return said(one.thing, one.kind, one.after) if one.kind == "means" else one.thing


def _state(one: Change | Difference, instead: bool) -> str:
    """The state without the thing, as `said` puts it after its name."""
    if one.kind == "means":
        return ""
    state = said("", one.kind, one.after).strip()
    alone = not instead or OPPOSITES.get(one.after) == one.before
    return state if alone else f"{state} instead of {one.before}"


def without_passing(changes: Sequence[Change]) -> list[Change]:
    """The changes less the gaps through which a surface goes on its way to a point."""
    last = {change.thing: i for i, change in enumerate(changes)}
    return [
        change
        for i, change in enumerate(changes)
        if not (change.after.startswith("in transit") and last[change.thing] > i)
    ]
