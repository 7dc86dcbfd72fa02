"""What explains what is seen, by trying every set of changes, at either time."""

from __future__ import annotations

from tellback.book import conditions as c
from tests.oracle.changes import Inputs, may_happen, other_inputs
from tests.oracle.frame import OK, Frame, Value
from tests.oracle.timed import Moment, happens, history
from tests.oracle.values import holds


def explained(
    frame: Frame,
    condition: c.Condition,
    first: Moment,
    move: Inputs,
    now: Moment,
    order: int,
    mending: bool = False,
) -> dict[Inputs, bool]:
    """The minimal sets after which, settled, the condition is so.

    They are made at `now`, to which the move has led from `first`; failures alone also before it.
    The value says that a set does only that. An input of the last move is not changed, and what
    has failed already does not fail otherwise. `mending`: nothing fails, but what has may work.
    """

    def may_be(item: str, value: Value) -> bool:
        if not is_failure(item):
            return True
        return value == OK if mending else state[item] == OK

    found: dict[Inputs, bool] = {}
    moved = {item for item, _ in move}
    state = frame.named(now.state)
    for chosen in other_inputs(frame, now.state, order):
        fit = all(item not in moved and may_be(item, value) for item, value in chosen)
        if not chosen or not fit or any(less <= chosen for less in found):
            continue
        early = bool(move) and not mending and all(is_failure(item) for item, _ in chosen)
        if leads_to(frame, condition, now, chosen, frozenset()):
            found[chosen] = False
        elif early and leads_to(frame, condition, first, chosen, move):
            found[chosen] = True
    return found


def leads_to(
    frame: Frame, condition: c.Condition, moment: Moment, chosen: Inputs, then: Inputs
) -> bool:
    """The condition is so once a set of changes has been made, and then another, each settled."""
    for changes in (chosen, then):
        if not may_happen(frame, moment, changes):
            return False
        moment = history(frame, happens(frame, moment, dict(changes)))[-1]
    return holds(frame, moment.state, condition)


def is_failure(item: str) -> bool:
    """The input says how a thing has failed."""
    return item.startswith("failure of ")
