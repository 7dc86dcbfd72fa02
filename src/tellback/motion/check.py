"""The check of a book with its scenarios: what they are said to bring is proved by running them."""

from __future__ import annotations

from collections.abc import Iterator, Set

from tellback.book.effectivity import aeroplanes, for_aeroplane
from tellback.book.model import Book, Procedure
from tellback.book.procedures import all_steps
from tellback.book.scenario import Scenario
from tellback.diagnostics import Diagnostic, Place
from tellback.logic.check import Spread
from tellback.logic.check import check as check_logic
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground
from tellback.logic.impossible import EntersImpossible
from tellback.logic.picture import Picture
from tellback.logic.procedure import MADE, SO, carry_out, holds, is_called_for, step_at
from tellback.logic.run import Unsettled
from tellback.motion.expected import verdicts
from tellback.motion.intervals import Seen
from tellback.motion.runner import picture_for, picture_for_all, run_of
from tellback.motion.times import clock
from tellback.motion.trace import BARRED, IMPOSSIBLE, UNMET, Event, Frame, Trace
from tellback.refusals import Refusal

TRIED = ("never-called-for", "step-never-so")
"""What is found where no run that was tried shows otherwise: one of a scenario may."""

CORRECT = "Correct the scenario, or the book."

SETTLE = "Let it stop in the book, by two limits apart from one another or by a latch."

ENDS = f"If the aeroplane does so, say in `ends` when the scenario is over. Otherwise: {SETTLE}"


def check(book: Book, aeroplane: str | None = None, spread: Spread = map) -> tuple[Diagnostic, ...]:
    """What the logic of a book and its scenarios show to be wrong, or worth a look.

    See `tellback.logic.check.check`. That nothing tried calls for a list, or that what a step looks
    for does not come about, is none of it if it is so in a scenario that carries the list out.
    """
    found = check_logic(book, aeroplane, spread, more=(SCENARIO_CHECKS,))
    tried = {each.place for each in found if each.code in TRIED}
    shown = _shown_in_scenarios(book, aeroplane, tried) if tried else set()
    return tuple(f for f in found if f.code not in TRIED or f.place not in shown)


def _shown_in_scenarios(book: Book, aeroplane: str | None, places: Set[Place]) -> set[Place]:
    """Which of these lists a scenario calls for, and which of these steps come about in one.

    On every aeroplane that has them.
    """
    one = aeroplane if aeroplane is not None else book.aeroplane
    shown: dict[Place, bool] = {}
    for name in (one,) if one else aeroplanes(book):
        mine = for_aeroplane(book, name)
        within = {p.name: places & {*_places_of(p)} for p in mine.procedures}
        here: set[Place] = set()
        for scenario in mine.scenarios:
            if any(within.get(happening.procedure) for happening in scenario.happenings):
                here.update(_shown_in(picture_for(book, scenario, name), scenario))
        for place in set().union(*within.values()):
            shown[place] = place in here and shown.get(place, True)
    return {place for place, so in shown.items() if so}


def _places_of(procedure: Procedure) -> Iterator[Place]:
    yield procedure.place
    yield from (step.statement.place for step in all_steps(procedure.steps))


def _shown_in(picture: Picture, scenario: Scenario) -> Iterator[Place]:
    """The places of the lists that a scenario calls for, and of the steps that come about."""
    try:
        trace = run_of(picture, scenario, scenario.happenings)
    except Refusal:
        return
    procedures, seen = {p.name: p for p in picture.book.procedures}, Seen(picture, trace)
    for procedure in {h.procedure: None for h in scenario.happenings if h.procedure}:
        called_for = (picture.formula(s.condition) for s in procedures[procedure].called_for)
        if any(True for formula in called_for for _ in seen.spans(formula)):
            yield procedures[procedure].place
    for frame in trace.frames:
        happening, _, within = frame.event.number.partition(".") if frame.event else ("", "", "")
        if frame.event and within and frame.event.outcome in (MADE, SO):
            procedure = scenario.happenings[int(happening) - 1].procedure
            yield step_at(procedures[procedure], within).statement.place


def scenario_not_as_expected(ground: Ground) -> Iterator[Found]:
    """What a scenario is to bring and does not bring; steps that never come or cannot be done."""
    book = ground.book
    if not book.scenarios or any(bad.reason is not None for bad in ground.bad_starts):
        return
    picture = picture_for_all(book, book.scenarios, book.aeroplane)
    for scenario in book.scenarios:
        try:
            trace = run_of(picture, scenario, scenario.happenings)
        except Refusal as reason:
            yield _finding(scenario.place, f"`{scenario.name}` cannot begin: {reason.message}")
            continue
        for verdict, expected in zip(
            verdicts(picture, scenario, trace), scenario.expectations, strict=True
        ):
            if not verdict.met:
                message = f"`{scenario.name}` does not bring “{verdict.text}”: {verdict.found}"
                yield _finding(expected.statement.place, message)
        yield from _amiss(scenario, trace)
        yield from _lists_not_securing(picture, scenario, trace)


def _amiss(scenario: Scenario, trace: Trace) -> Iterator[Found]:
    for text in trace.waiting:
        yield _finding(scenario.place, f"`{scenario.name}`: {text}, and that never comes")
    if trace.unrest and not trace.is_contradicted:
        mend = ENDS if trace.unrest.lasts else SETTLE
        yield _finding(scenario.place, f"`{scenario.name}`: {trace.unrest.text}", mend)
    for frame in trace.frames:
        event = frame.event
        if event is not None and _is_amiss(event):
            message = f"`{scenario.name}`: {_told(event, frame.time)}"
            yield _finding(_place(scenario, event), message)


def _lists_not_securing(picture: Picture, scenario: Scenario, trace: Trace) -> Iterator[Found]:
    """Lists that do not secure what they should from where the scenario begins them.

    Each is carried out by itself there, once nothing else is under way, if it is still called for.
    """
    for frame, procedure in _begun(picture, scenario, trace):
        try:
            moment = picture.aeroplane.settle(frame.moment)
            end = carry_out(picture, procedure.steps, moment).end
        except (EntersImpossible, Unsettled):
            continue
        if is_called_for(picture, procedure, moment):
            for statement in procedure.secures:
                if not holds(picture, statement.condition, end):
                    yield _finding(
                        statement.place,
                        f"`{procedure.name}` does not bring about `{statement.text}` from where "
                        f"`{scenario.name}` begins it at {clock(frame.time)}",
                        "Correct its steps, say less in `secures`, or correct the scenario.",
                    )


def _begun(picture: Picture, scenario: Scenario, trace: Trace) -> Iterator[tuple[Frame, Procedure]]:
    """The frames in which a procedure is begun."""
    procedures = {procedure.name: procedure for procedure in picture.book.procedures}
    for frame in trace.frames:
        number = frame.event.number if frame.event else ""
        if number.isdecimal():
            name = scenario.happenings[int(number) - 1].procedure
            if name in procedures:
                yield frame, procedures[name]


def _place(scenario: Scenario, event: Event) -> Place:
    """Where the step stands in the book; what comes by itself has the place of the scenario."""
    step = event.number.partition(".")[0]
    return scenario.happenings[int(step) - 1].statement.place if step else scenario.place


def _is_amiss(event: Event) -> bool:
    return event.outcome in (BARRED, IMPOSSIBLE, UNMET)


def _told(event: Event, time: float) -> str:
    step = f"step {event.number}, " if event.number else ""
    return f"{step}“{event.text}” at {clock(time)}: {event.outcome}"


def _finding(place: Place, message: str, mend: str = CORRECT) -> Found:
    return finding("scenario", place, message, mend)


SCENARIO_CHECKS = (scenario_not_as_expected,)
