"""How a procedure ends otherwise with its new steps than with the old ones."""

from __future__ import annotations

from collections.abc import Sequence

from tellback.book.model import Procedure
from tellback.book.spoken import named_in_procedure
from tellback.logic.differences.attributes import attributes_of
from tellback.logic.differences.sides import Sides
from tellback.logic.facts import Facts, said
from tellback.logic.impossible import EntersImpossible
from tellback.logic.picture import Picture
from tellback.logic.procedure import carry_out, differing, picture_for
from tellback.logic.run import Unsettled
from tellback.logic.words import listed

STATES = ("positions", "points", "levels")
MOST_TOLD = 4
"""So many things that end otherwise are told."""


def ends(sides: Sides, old: Procedure, new: Procedure) -> str:
    """What ends otherwise if the second aeroplane is handled by the new steps, not the old ones.

    From the starting states that the procedure is done from, nothing failed; the first in which
    something ends otherwise is told. Empty if the old steps cannot be made in it at all.
    """
    if not _can_be_made(sides, old):
        return ""
    picture = picture_for(sides.book_b, [old, new])
    alike: list[str] = []
    for start in new.done_from:
        try:
            told = _otherwise(picture, old, new, start)
        except (EntersImpossible, Unsettled):
            continue
        if told:
            return f"{_done(sides, [start])}, the second list ends with {told}"
        alike.append(start)
    return f"{_done(sides, alike)}, both lists end alike" if alike else ""


def _done(sides: Sides, starts: Sequence[str]) -> str:
    on = f" on {sides.book_b.aeroplane}" if sides.same_book else ""
    return f"done from {listed(starts, 'or')}{on} with nothing failed"


def _can_be_made(sides: Sides, procedure: Procedure) -> bool:
    """Whether all that a procedure speaks of is in both books, with the same states."""
    a, b = ({t.name: t for t in book.things} for book in (sides.book_a, sides.book_b))
    return all(
        name in b
        and type(a[name]) is type(b[name])
        and {(k, v) for k, v in attributes_of(a[name]) if k in STATES}
        == {(k, v) for k, v in attributes_of(b[name]) if k in STATES}
        for name in named_in_procedure(procedure)
    )


def _otherwise(picture: Picture, old: Procedure, new: Procedure, start: str) -> str:
    moment = picture.starts[start]
    before, after = (carry_out(picture, steps, moment).end for steps in (old.steps, new.steps))
    found = differing(Facts(picture), before, after)
    told = [said(*seen, now) for seen, _, now in found[:MOST_TOLD]]
    more = len(found) - MOST_TOLD
    return listed([*told, *([f"{more} more otherwise"] if more > 0 else [])])
