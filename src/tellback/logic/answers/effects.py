"""Effects: what does moving this control do? Here and in other states, at once and after a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from tellback.book.model import Book
from tellback.logic.answers.elsewhere import Elsewhere, elsewhere
from tellback.logic.answers.locks import Lock, lock_lines, locks
from tellback.logic.answers.moved import Against, Moved, Patience, state_formula
from tellback.logic.answers.together import said_together, without_passing
from tellback.logic.around import smallest_around
from tellback.logic.facts import Change, Facts, changes_text, said, sameness
from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.picture import Picture, picture_of
from tellback.logic.scene import pairs_of, scene
from tellback.logic.settings import BadSetting
from tellback.logic.words import alike, listed, literal_text

PATIENCE = 20_000
"""The effort of search that one effect may take."""

MOST_LINES = 12
"""How many conditions for what comes elsewhere are printed."""


@dataclass(frozen=True, slots=True)
class Effect:
    """A change here; `always` if it follows at once in every possible state (with no failures).

    `when` is the smallest condition for it that is met here; None where that was not asked (what
    comes after a time or through a memory, memories themselves) or not decided. What comes through
    a memory in some of the states is not told as coming always.
    """

    change: Change
    always: bool
    when: tuple[Item, ...] | None


@dataclass(frozen=True, slots=True)
class Effects:
    """Everything that moving a control does from a starting state, and may do elsewhere.

    `bears_on` are the memories, surfaces and moving readings that do not change here, but whose
    rules look at whether the control has moved: elsewhere it may set them off, or stop them.
    `locks` tell of other controls that can now go where they could not, or no longer can.
    """

    moved: str
    aeroplane: str
    start: str
    effects: tuple[Effect, ...]
    elsewhere: tuple[Elsewhere, ...]
    bears_on: tuple[str, ...] = ()
    locks: tuple[Lock, ...] = ()

    def __str__(self) -> str:
        return "\n".join(_text(self))


@within(ANSWER_SECONDS, "working out what the move does")
def effects(
    book: Book,
    move: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Effects:
    """What the move (`control: position`) does from a starting state, until all has settled.

    Raises Barred if the control cannot be moved there now.
    """
    picture = picture_of(book, aeroplane)
    where = scene(picture, start, changes)
    wanted = picture.settings(pairs_of(picture.names, [move])).values
    ((name, value),) = wanted.items()
    if picture.system.variables[name].kind == "failure":
        raise BadSetting(f"“{move}” is a failure, no move", "Ask `signs` what it shows.")
    if value == where.moment.state[name]:
        told = f"already so ({where.text}): {_move_text(picture, name, value)}"
        raise BadSetting(told, "Ask from another starting state, or of another position.")
    runner = picture.aeroplane
    history = [where.moment, *runner.history(runner.move(where.moment, wanted))]
    here = Facts(picture).changes(history, moved=[picture.system.variables[name].thing])
    moved = Moved(picture, where.moment, name, value)
    told_here = {change.thing for change in here}
    return Effects(
        moved=_move_text(picture, name, value),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        effects=tuple(_judged(moved, change) for change in here),
        elsewhere=elsewhere(moved, told_here),
        bears_on=tuple(n for n in moved.memories() if n not in told_here),
        locks=locks(picture, history, [name]),
    )


def _move_text(picture: Picture, name: str, value: int) -> str:
    variable = picture.system.variables[name]
    if variable.kind == "control":
        return said(variable.thing, variable.kind, variable.values[value])
    return literal_text(picture.system, name, frozenset([value]))


def _judged(moved: Moved, change: Change) -> Effect:
    """Whether a change here comes always, and if not, the smallest condition met here."""
    formula = state_formula(moved.picture.book.thing(change.thing), change.after)
    if formula is None or change.seconds > 0:
        return Effect(change, False, None)
    brought = moved.brought(formula)
    if not moved.space.holds(brought, moved.now):
        return Effect(change, False, None)
    against = Against(moved, brought, Patience(PATIENCE).can_be)
    cube = smallest_around(moved.now, partial(against.differing, moved.now))
    if not cube:
        return Effect(change, True, ())
    return Effect(change, False, moved.items(moved.view.widened(cube, cube, against.leaves)))


def _text(answer: Effects) -> list[str]:
    lines = [f"{answer.moved} ({answer.start}):"]
    if not answer.effects and not answer.locks:
        lines.append("  nothing changes here.")
    passing = without_passing([effect.change for effect in answer.effects])
    shown = [effect for effect in answer.effects if effect.change in passing]
    told = _told_before(answer.effects)
    for group in alike(shown, lambda e: (sameness(e.change), _when(e, told[e]))):
        lines.append(
            f"  {changes_text([e.change for e in group])}{_when(group[0], told[group[0]])}"
        )
    lines += (f"  {line}" for line in lock_lines(answer.locks))
    lines += _elsewhere_text(answer.elsewhere)
    if answer.bears_on:
        also = "also " * bool(answer.effects or answer.locks or answer.elsewhere)
        lines.append(f"  In other states it may {also}bear on {listed(answer.bears_on)}.")
    return lines


def _elsewhere_text(elsewhere: Sequence[Elsewhere]) -> Iterator[str]:
    """What comes elsewhere, the shortest conditions first; what all listed need is said once."""
    if not elsewhere:
        return
    groups = sorted(alike(elsewhere, lambda e: e.when), key=lambda group: len(group[0].when))
    listed_groups, rest = groups[:MOST_LINES], groups[MOST_LINES:]
    common = frozenset[Item]()
    if len(listed_groups) > 1:
        common = frozenset.intersection(*(frozenset(g[0].when) for g in listed_groups))
    in_common = listed(told_together(i for i in groups[0][0].when if i in common))
    need = f"; all listed need {in_common}" if common else ""
    yield f"  In other states it would also bring about, to give one case of each{need}:"
    for group in listed_groups:
        condition = listed(told_together(i for i in group[0].when if i not in common))
        what = said_together(group)
        yield f"    if {condition}: {what}" if condition else f"    {what}"
    if rest:
        yield f"    ... and {sum(map(len, rest))} more"


def _told_before(effects: Sequence[Effect]) -> dict[Effect, frozenset[Item]]:
    """What has been told of all that each effect comes through, one through another."""
    behind: dict[str, frozenset[Item]] = {}
    before: dict[Effect, frozenset[Item]] = {}
    for effect in effects:
        nothing = frozenset[Item]()
        before[effect] = nothing.union(*(behind.get(n, nothing) for n in effect.change.through))
        behind[effect.change.thing] = before[effect].union(effect.when or ())
    return before


def _when(effect: Effect, told: frozenset[Item]) -> str:
    """When it comes, less what is told of that through which it comes."""
    if effect.always:
        return " — always"
    fresh = [item for item in effect.when or () if item not in told]
    also = "also " if len(fresh) < len(effect.when or ()) else ""
    return f" — here {also}because {listed(told_together(fresh))}" if fresh else ""
