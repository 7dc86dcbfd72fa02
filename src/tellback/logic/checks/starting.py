"""Starting states that cannot be."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.model import Reading
from tellback.logic.checks.found import Found, error
from tellback.logic.checks.ground import Ground
from tellback.logic.picture import picture_of, starting_states
from tellback.logic.run import Unsettled
from tellback.logic.settings import BadSetting

REST = (
    "Start with a control or situation in which they rest, or make what sets them and what clears "
    "them exclude one another."
)

DRIFTS = (
    "Look at its rows of `moves`: one that ends as soon as it has brought the reading somewhere "
    "(`below 35`) gives way to the next; let it hold there (`at most 35`)."
)


def starting_state_with_unknown_setting(ground: Ground) -> Iterator[Found]:
    """A starting state sets what cannot be set, or to what it cannot be."""
    for bad in ground.bad_starts:
        if isinstance(bad.reason, BadSetting):
            message = f"the starting state `{bad.start.name}` cannot be: {bad.reason.message}"
            place = bad.start.place
            yield error("starting-state", place, message, bad.reason.mend, bad.start.name)


def starting_state_unsettled(ground: Ground) -> Iterator[Found]:
    """A starting state in which changes repeat without end."""
    for bad in ground.bad_starts:
        if isinstance(bad.reason, Unsettled):
            names = ", ".join(bad.reason.names[:6])
            how = "as time passes" if bad.reason.timed else "at once"
            moving = {t.name for t in ground.book.things if isinstance(t, Reading) and t.moves}
            yield error(
                "starting-state", bad.start.place,
                f"the starting state `{bad.start.name}` never settles: {how}, "
                f"changes repeat without end in {names}",
                DRIFTS if moving.issuperset(bad.reason.names) else REST,
                bad.start.name,
            )  # fmt: skip


def starting_state_impossible(ground: Ground) -> Iterator[Found]:
    """A starting state that the book itself says cannot be."""
    for bad in ground.bad_starts:
        if bad.reason is None:
            yield error(
                "starting-state", bad.start.place,
                f"the starting state `{bad.start.name}` is one that the book states impossible: "
                f"{_broken(ground, bad.start.name)}",
                "Set what differs from normal in it, or correct the statement.",
                bad.start.name,
            )  # fmt: skip


def _broken(ground: Ground, name: str) -> str:
    """The texts of the impossible statements that hold in a starting state."""
    picture = picture_of(ground.book)
    start = next(s for s in starting_states(ground.book) if s.name == name)
    state = picture.start(start).state
    holding = (
        s.text
        for s in ground.book.impossible
        if picture.aeroplane.holds(picture.formula(s.condition), state)
    )
    return "; ".join(holding)
