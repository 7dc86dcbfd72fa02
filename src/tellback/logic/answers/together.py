"""How several things and their states are said together: each state once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from tellback.logic.facts import Change, all_of, said

if TYPE_CHECKING:
    from tellback.logic.answers.elsewhere import Elsewhere
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

SHOWN_LAST = {"gauge": 1, "indication": 2}
"""What the crew is shown is told after all else, lights after gauges."""


def said_together(found: Iterable[Change | Difference | Elsewhere], instead: bool = False) -> str:
    """Things with their states after, those of one state together, what the crew is shown last.

    `instead`: with the state before, where more than one could have been.
    """
    groups: dict[tuple[str, str], list[str]] = {}
    for one in sorted(found, key=lambda one: SHOWN_LAST.get(one.kind, 0)):
        groups.setdefault(_state(one, instead), []).append(_name(one))
    return "; ".join(
        f"{all_of(names, kind)} {state}".rstrip() for (state, kind), names in groups.items()
    )


def _name(one: Change | Difference | Elsewhere) -> str:
    return said(one.thing, one.kind, one.after) if one.kind == "means" else one.thing


def _state(one: Change | Difference | Elsewhere, instead: bool) -> tuple[str, str]:
    """The state without the thing, as `said` puts it after its name, and what else parts groups.

    Means that are so and those that are not stand apart: `not A and B` reads as `neither`. So do
    gauges and lights.
    """
    if one.kind == "means":
        return "", one.after
    state = said("", one.kind, one.after).strip()
    if isinstance(one, Change):
        state += one.from_where
    alone = not instead or OPPOSITES.get(one.after) == one.before
    kind = one.kind if one.kind == "gauge" else ""
    return state if alone else f"{state} instead of {one.before}", kind


def without_passing(changes: Sequence[Change]) -> list[Change]:
    """The changes less the gaps through which a surface goes on its way to a point.

    Of what goes to and fro in one instant only the last change, if it then is otherwise at all.
    """
    last = {change.thing: i for i, change in enumerate(changes)}
    at_once: dict[tuple[float, str], list[int]] = {}
    for i, change in enumerate(changes):
        at_once.setdefault((change.seconds, change.thing), []).append(i)
    lasting = {
        several[-1]
        for several in at_once.values()
        if changes[several[0]].before != changes[several[-1]].after
    }
    return [
        change
        for i, change in enumerate(changes)
        if i in lasting and not (change.after.startswith("in transit") and last[change.thing] > i)
    ]
