"""Effects: what does moving this control do? Here and in other states, at once and after a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from tellback.book.model import Book
from tellback.logic.answers.effects_text import effects_text
from tellback.logic.answers.elsewhere import Elsewhere, brought_elsewhere
from tellback.logic.answers.locks import Lock, locks
from tellback.logic.answers.may_change import may_change
from tellback.logic.answers.moved import Against, Asking, Moved, Patience, state_formula
from tellback.logic.answers.staying import Drop, Hold, Release, drops, holding, release
from tellback.logic.around import smallest_around
from tellback.logic.facts import FEEDER, Change, Facts, said
from tellback.logic.formula import Formula, Ref
from tellback.logic.impossible import Impossible, as_far_as_possible
from tellback.logic.items import Item
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.picture import Picture, picture_of
from tellback.logic.scene import pairs_of, scene
from tellback.logic.settings import BadSetting
from tellback.logic.words import literal_text

PATIENCE = 20_000
"""The effort of search that the conditions of all effects may take."""

LITTLE = 3_000
"""The effort of search that one of them may take."""

EFFORT_OF_ASKING = 100
"""What asking of one combination takes at least."""


@dataclass(frozen=True, slots=True)
class Effect:
    """A change here; `always` if it follows at once in every possible state without failures.

    `when` is the smallest condition that is met here and enough for it in such states; None where
    that was not asked (what comes after a time or through a memory, memories themselves, what
    something that has failed here bears on) or not decided. What comes through a memory in some of
    the states is not told as coming always.
    """

    change: Change
    always: bool
    when: tuple[Item, ...] | None


@dataclass(frozen=True, slots=True)
class Effects:
    """Everything that moving a control does from a starting state, and may do elsewhere.

    `drops` tell when it did not stay and why, `holds` what holds it where it is at last, and
    `release` what comes of letting it go, if it springs. `locks` tell of other controls that can
    now go where they could not, or no longer can. `may_change` are the things that do not change
    here and of which it is not proved that the move changes them in no state, the nearest first;
    `elsewhere` gives a case for those that change at once, or None if that was not asked.
    `impossible` is what the run comes to although the book states it impossible: it ends there.
    """

    moved: str
    aeroplane: str
    start: str
    effects: tuple[Effect, ...]
    drops: tuple[Drop, ...]
    holds: tuple[Hold, ...]
    release: Release | None
    locks: tuple[Lock, ...]
    may_change: tuple[str, ...]
    elsewhere: tuple[Elsewhere, ...] | None
    impossible: Impossible | None = None

    def __str__(self) -> str:
        return "\n".join(effects_text(self))


@within(ANSWER_SECONDS, "working out what the move does")
def effects(
    book: Book,
    move: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
    elsewhere: bool = False,
) -> Effects:
    """What the move (`control: position`) does from a starting state, until all has settled.

    A control that springs is held until then. `elsewhere`: also what it brings about at once in
    other states alone, with a case of each. Raises Barred if it cannot be moved there now.
    """
    picture = picture_of(book, aeroplane)
    where = scene(picture, start, changes)
    wanted = picture.settings(pairs_of(picture.names, [move])).values
    if not wanted:
        raise BadSetting(f"“{move}” does nothing", "No statement of the book looks at its value.")
    ((name, value),) = wanted.items()
    if picture.system.variables[name].kind == "failure":
        raise BadSetting(f"“{move}” is a failure, no move", "Ask `signs` what it shows.")
    if value == where.moment.state[name]:
        told = f"already so ({where.text}): {_move_text(picture, name, value)}"
        raise BadSetting(told, "Ask from another starting state, or of another position.")
    runner = picture.aeroplane
    history, impossible = as_far_as_possible(
        picture, [where.moment, *runner.history(runner.move(where.moment, wanted))]
    )
    facts = Facts(picture)
    here = facts.changes(history, moved=[picture.system.variables[name].thing])
    moved = Moved(picture, where.moment, name, value)
    told_here = {change.thing for change in here}
    places = (where.moment.state[name], value)
    can_be = Patience(PATIENCE, LITTLE, EFFORT_OF_ASKING).can_be
    return Effects(
        moved=_move_text(picture, name, value),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        effects=tuple(_judged(moved, change, can_be) for change in here),
        drops=drops(picture, history, name, value),
        holds=holding(picture, name, history[-1].state[name]),
        release=None if impossible else release(facts, history, name),
        locks=locks(picture, history, [name]),
        may_change=tuple(n for n in may_change(facts, name, places) if n not in told_here),
        elsewhere=brought_elsewhere(moved, told_here) if elsewhere else None,
        impossible=impossible,
    )


def _move_text(picture: Picture, name: str, value: int) -> str:
    variable = picture.system.variables[name]
    if variable.kind == "control":
        return said(variable.thing, variable.kind, variable.values[value])
    return literal_text(picture.system, name, frozenset([value]))


def _brought(picture: Picture, change: Change) -> Formula | None:
    """What a change brings about that follows at once; None of memories and readings."""
    if change.kind == FEEDER:
        return Ref((change.thing, f"fed by {change.after}"))
    return state_formula(picture.book.thing(change.thing), change.after)


def _judged(moved: Moved, change: Change, can_be: Asking) -> Effect:
    """Whether a change here comes always, and if not, the smallest condition met here."""
    formula = _brought(moved.picture, change)
    if formula is None or change.seconds > 0 or moved.has_failed(formula):
        return Effect(change, False, None)
    brought = moved.brought(formula)
    if not moved.space.holds(brought, moved.now):
        return Effect(change, False, None)
    against = Against(moved, brought, can_be)
    cube = smallest_around(moved.now, partial(against.differing, moved.now))
    if not cube:
        return Effect(change, True, ())
    return Effect(change, False, moved.items(moved.view.widened(cube, cube, against.leaves)))
