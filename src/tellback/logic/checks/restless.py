"""Single events after which the aeroplane goes on changing for ever, in its own time."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.model import Control, Thing
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground
from tellback.logic.row import bits, changes_of
from tellback.logic.run import Unsettled
from tellback.logic.words import listed, literal_text


def never_settled(ground: Ground) -> Iterator[Found]:
    """What keeps switching itself on and off after one move from a starting state.

    Told once for each set of things that are under way then.
    """
    abreast, system = ground.picture.abreast, ground.picture.system
    moves = ground.multitude.firsts
    changes = changes_of({name: value} for _, name, value in moves)
    row = abreast.row([ground.picture.starts[start] for start, _, _ in moves])
    allowed = row.all & ~abreast.barred(row, changes)
    row = abreast.move(row, changes)
    lost = row.lost
    under_way: dict[int, tuple[str, ...]] = {}
    for further in abreast.history(row):
        under_way |= {run: row.under_way(run) for run in bits(further.lost & ~lost)}
        row, lost = further, further.lost
        allowed &= ~abreast.impossible(further)
    told: set[tuple[str, ...]] = set()
    for run in bits(row.lost & allowed):
        begun = under_way.get(run, ())
        reason = None if begun in told else _unsettled(ground, *moves[run])
        told.add(begun)
        if reason is not None:
            start, name, value = moves[run]
            owners = [system.variables[one].thing for one in (*reason.names, name)]
            several = len(reason.names) > 1
            verb, goes_on = ("settle", "they change") if several else ("settles", "it changes")
            thing = ground.things[next(o for o in owners if o in ground.things)]
            yield finding(
                "never-settled", thing.place,
                f"{listed(f'`{one}`' for one in reason.names)} never {verb} after "
                f"{literal_text(system, name, [value])} ({start}): {goes_on} to and fro for ever",
                _mend(ground.things.get(name), system.variables[name].values[value]),
                thing.name,
            )  # fmt: skip


def _mend(moved: Thing | None, to: str) -> str:
    """What stops it; a control that nobody lets go may stand for one that was only pressed."""
    if isinstance(moved, Control) and to in dict(moved.springs):
        return (
            f"No question lets {moved.name} go by itself: if a press is meant, write "
            f"`{moved.name} at {to} comes on`."
        )
    return (
        "If the aeroplane does so, leave it: no answer can tell then how all ends. "
        "Otherwise let it stop, by two limits apart from one another or by a latch."
    )


def _unsettled(ground: Ground, start: str, name: str, value: int) -> Unsettled | None:
    runner = ground.picture.aeroplane
    try:
        runner.settle(runner.move(ground.picture.starts[start], {name: value}))
    except Unsettled as reason:
        return reason if reason.timed else None
    return None
