"""What if: a scenario with one thing otherwise, beside the scenario as it is written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from tellback.book.conditions import ALWAYS
from tellback.book.happenings import change_at
from tellback.book.model import Book, Control
from tellback.book.procedures import moves_of
from tellback.book.scenario import Happening, Scenario
from tellback.diagnostics import Diagnostic
from tellback.logic.facts import Facts
from tellback.logic.picture import Picture
from tellback.logic.scene import pairs_of
from tellback.logic.settings import BadSetting
from tellback.logic.words import listed
from tellback.motion.otherwise_text import lines_of
from tellback.motion.run import Line, lines_from, outside_readings, prepared
from tellback.motion.runner import run_of
from tellback.motion.times import asked, clock
from tellback.motion.trace import BEGINS, Frame, unrest_text
from tellback.refusals import Refusal

BOTH, WRITTEN, OTHERWISE = "both", "as written", "otherwise"


class NoSuchStep(Refusal, ValueError):
    """The scenario has no step of that number."""


class NothingOtherwise(Refusal, ValueError):
    """What is asked for is the scenario as it is written."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A line of the time line, and in which run it stands: `both`, `as written` or `otherwise`."""

    where: str
    line: Line


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The same scenario twice; what is in one run alone is marked.

    Lines are alike if the same happens to within a tenth of a second. `ends` are both ends,
    `waiting` the steps that never came in each.
    """

    scenario: str
    aeroplane: str
    otherwise: str
    lines: tuple[Beside, ...]
    ends: tuple[float, float]
    waiting: tuple[tuple[str, ...], tuple[str, ...]]
    unrest: tuple[str, str]

    def __str__(self) -> str:
        return "\n".join(lines_of(self))


def what_if(
    book: Book,
    scenario: str,
    *,
    changes: Sequence[str] = (),
    at: str = "",
    without: Sequence[int] = (),
    aeroplane: str = "",
) -> WhatIf:
    """The scenario with changes (`thing: state`) from a time (`20 s`) on, or without some steps.

    Without a time the changes are there from the beginning. Raises UnknownScenario, BadSetting for
    what is not in the book, BadTime, NoSuchStep and NothingOtherwise.
    """
    seconds = asked(at) if at else 0.0
    picture, meant = prepared(book, scenario, aeroplane)
    other = _without(meant, without)
    added = tuple(added_steps(picture, changes, seconds))
    begun = [pair for step in added if not seconds for pair in _at_the_start(step)]
    later = tuple(step for step in added if seconds or not _at_the_start(step))
    other = replace(other, changes=(*other.changes, *begun), happenings=(*other.happenings, *later))
    if other == meant:
        raise NothingOtherwise(
            "nothing is otherwise", "Say what: a change as `thing: state`, or a step to leave out."
        )
    one, two = (run_of(picture, each, each.happenings) for each in (meant, other))
    last = len(meant.happenings)
    lines = [_numbered(lines_from(picture, trace.frames), last) for trace in (one, two)]
    first = _from_the_beginning(picture, one.frames[0], two.frames[0], [name for name, _ in begun])
    return WhatIf(
        scenario=meant.name,
        aeroplane=picture.book.aeroplane,
        otherwise="; ".join(_told(changes, seconds, without)),
        lines=(*first, *_beside(*lines)),
        ends=(one.ends, two.ends),
        waiting=(one.waiting, two.waiting),
        unrest=(unrest_text(one), unrest_text(two)),
    )


def _from_the_beginning(
    picture: Picture, one: Frame, two: Frame, changed: Sequence[str]
) -> Iterator[Beside]:
    """What is otherwise before anything comes, less the controls and readings put otherwise."""
    facts = Facts(picture)
    put = {n for n in changed if isinstance(picture.book.thing(n), Control)}
    found = facts.changes([one.moment, two.moment], outside_readings(picture.book) | put)
    if found:
        begins = Line(0.0, BEGINS, "", "from the beginning", "", "", tuple(found))
        yield Beside(OTHERWISE, begins)


def _numbered(lines: Iterable[Line], last: int) -> list[Line]:
    """The lines; what is no step of the written scenario, which has `last`, has no number."""
    return [
        line
        if not line.number or int(line.number.partition(".")[0]) <= last
        else replace(line, number="")
        for line in lines
    ]


def _without(scenario: Scenario, numbers: Sequence[int]) -> Scenario:
    """The scenario without some steps; what a step left out waited for is still waited for."""
    for number in numbers:
        if not 1 <= number <= len(scenario.happenings):
            raise NoSuchStep(
                f"{scenario.name} has no step {number}",
                f"Its steps are 1 to {len(scenario.happenings)}.",
            )
    kept = tuple(
        _left_out(happening) if number in numbers else happening
        for number, happening in enumerate(scenario.happenings, 1)
    )
    return replace(scenario, happenings=kept)


def _left_out(happening: Happening) -> Happening:
    """The step's place in time, with nothing done there."""
    text = happening.statement.text or listed(s.thing for s in happening.settings)
    statement = replace(happening.statement, condition=ALWAYS, text=text)
    return replace(happening, kind="left out", statement=statement, settings=(), procedure="")


def added_steps(picture: Picture, changes: Sequence[str], at: float) -> Iterator[Happening]:
    """The changes as steps that come at a time."""
    for thing, state in pairs_of(picture.names, changes):
        step = change_at(picture.names, thing, state, at)
        if isinstance(step, Diagnostic):
            raise BadSetting(step.message, step.mend)
        yield step


def _at_the_start(step: Happening) -> tuple[tuple[str, str], ...]:
    """What a step changes as settings of a starting state; none where it takes time."""
    if step.kind == "do":
        return moves_of(step.statement.condition)
    return tuple((s.thing, s.state) for s in step.settings if s.how in ("is", "fails"))


def _told(changes: Sequence[str], at: float, without: Sequence[int]) -> Iterator[str]:
    """What is otherwise, in words."""
    if changes:
        yield f"with {listed(changes)}{f' at {clock(at)}' if at else ''}"
    if without:
        yield f"without step{'s' * (len(without) > 1)} {listed(map(str, without))}"


def _beside(one: Sequence[Line], other: Sequence[Line]) -> Iterator[Beside]:
    """The lines of both in order of time; those alike once, with what differs in them apart."""
    written, otherwise = _by_event(one), _by_event(other)
    for event in sorted({**written, **otherwise}, key=lambda event: event.seconds):
        here, there = written.get(event), otherwise.get(event)
        if here is None or there is None:
            line = here or there
            assert line is not None
            yield Beside(WRITTEN if here else OTHERWISE, line)
            continue
        common = _states(here) & _states(there)
        together = _only(here, common)
        if together.text or together.changes:
            yield Beside(BOTH, together)
        for where, line in ((WRITTEN, here), (OTHERWISE, there)):
            apart = replace(_only(line, _states(line) - common), text="", number="", outcome="")
            if apart.changes:
                yield Beside(where, apart)


class _Event(NamedTuple):
    """What makes two lines the same; `again` counts those that are at one time."""

    seconds: float
    number: str
    text: str
    outcome: str
    again: int


def _by_event(lines: Sequence[Line]) -> dict[_Event, Line]:
    found: dict[_Event, Line] = {}
    for line in lines:
        event = _Event(round(line.seconds, 1), line.number, line.text, line.outcome, 0)
        while event in found:
            event = event._replace(again=event.again + 1)
        found[event] = line
    return found


def _states(line: Line) -> set[str]:
    return {change.text for change in line.changes}


def _only(line: Line, states: set[str]) -> Line:
    """The line with the changes to these states alone."""
    return replace(line, changes=tuple(c for c in line.changes if c.text in states))
