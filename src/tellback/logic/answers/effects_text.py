"""What a move does, as an instructor would say it: in order of time, causes first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from tellback.logic.answers.likewise import Line, likewise
from tellback.logic.answers.locks import lock_lines
from tellback.logic.answers.signs_text import change_lines, line_of
from tellback.logic.answers.together import said_together, without_passing
from tellback.logic.facts import sameness
from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.words import alike, listed, when_text

if TYPE_CHECKING:
    from tellback.logic.answers.effects import Effect, Effects
    from tellback.logic.answers.elsewhere import Elsewhere
    from tellback.logic.answers.staying import Drop, Hold, Release

MOST_LINES = 12
"""How many conditions for what comes elsewhere are printed."""

NAMED = 6
"""So many of the things are named that may change elsewhere."""


def effects_text(answer: Effects) -> Iterator[str]:
    """The lines of the answer."""
    yield f"{answer.moved} ({answer.start}):"
    lines = [*map(_drop_line, answer.drops), *likewise(list(_effect_lines(answer.effects)))]
    lines += lock_lines(answer.locks)
    if not lines and not answer.impossible:
        yield "  nothing changes here."
    yield from (f"  {line.text}" for line in sorted(lines, key=lambda line: line.seconds))
    yield from [f"  {answer.impossible}."] if answer.impossible else []
    yield from _hold_lines(answer.holds)
    if answer.release:
        yield from _release_lines(answer.release)
    yield from _elsewhere_text(answer.elsewhere or ())
    yield from _may_change(answer)


def _effect_lines(effects: Sequence[Effect]) -> Iterator[Line]:
    """Each change, those alike together."""
    passing = without_passing([effect.change for effect in effects])
    shown = [effect for effect in effects if effect.change in passing]
    told = _told_before(effects)
    for group in alike(shown, lambda e: (sameness(e.change), _when(e, told[e]))):
        line = line_of([e.change for e in group])
        yield replace(line, text=f"{line.text}{_when(group[0], told[group[0]])}")


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
        return " — always, if nothing has failed"
    fresh = [item for item in effect.when or () if item not in told]
    also = "also " if len(fresh) < len(effect.when or ()) else ""
    return f" — {also}given {listed(told_together(fresh))}" if fresh else ""


def _drop_line(drop: Drop) -> Line:
    because = f", because {drop.because}" if drop.because else ""
    source = f"  [{drop.source}]" if drop.source else ""
    went = f"{drop.control} drops to {drop.position} by itself"
    text = f"{when_text(drop.seconds)}: {went}{because}{source}"
    return Line(drop.seconds, (drop.control,), (), text)


def _hold_lines(holds: Sequence[Hold]) -> Iterator[str]:
    for group in alike(holds, lambda hold: hold.position):
        when = ", or until ".join(hold.when for hold in group)
        yield f"  It stays until {when}; then it drops to {group[0].position}."


def _release_lines(release: Release) -> Iterator[str]:
    """What comes of letting go."""
    let_go = "It is held until all has settled. Let go then,"
    if release.barred:
        yield f"  {let_go} a lock keeps it from {release.position}."
        return
    springs = f"{let_go} it springs to {release.position}"
    if not release.changes:
        yield f"  {springs}; nothing more changes."
        return
    yield f"  {springs}:"
    yield from (f"    {line.text}" for line in change_lines(without_passing(release.changes)))


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


def _may_change(answer: Effects) -> Iterator[str]:
    """One line that names what may change elsewhere, of which no case is told."""
    told = {one.thing for one in answer.elsewhere or ()}
    left = [name for name in answer.may_change if name not in told]
    if not left:
        return
    more = [f"{len(left) - NAMED} more"] if len(left) > NAMED + 1 else left[NAMED:]
    also = "also " if answer.effects or answer.drops or answer.locks else ""
    asked = "it was not worked out when" if told or answer.elsewhere is not None else ""
    tail = asked or "`--elsewhere` tells when"
    yield f"  Elsewhere it may {also}change {listed([*left[:NAMED], *more])}; {tail}."
