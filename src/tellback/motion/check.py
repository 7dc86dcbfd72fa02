"""The check of a book with its scenarios: what they are said to bring is proved by running them."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from tellback.book.effectivity import aeroplanes, for_aeroplane
from tellback.book.model import Book, Procedure
from tellback.book.scenario import Scenario
from tellback.diagnostics import Diagnostic, Place
from tellback.logic.check import Spread
from tellback.logic.check import check as check_logic
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground
from tellback.logic.picture import Picture
from tellback.logic.procedure import carry_out, holds, is_called_for
from tellback.logic.run import Barred, Unsettled
from tellback.logic.settings import BadSetting
from tellback.motion.expected import verdicts
from tellback.motion.intervals import Seen
from tellback.motion.runner import picture_for, picture_for_all, run_of
from tellback.motion.times import clock
from tellback.motion.trace import BARRED, IMPOSSIBLE, UNMET, Event, Frame, Trace

NEVER_CALLED_FOR = "never-called-for"

CORRECT = "Correct the scenario, or the book."

SETTLE = "Let it stop in the book, by two limits apart from one another or by a latch."

ENDS = f"If the aeroplane does so, say in `ends` when the scenario is over. Otherwise: {SETTLE}"


def check(book: Book, aeroplane: str | None = None, spread: Spread = map) -> tuple[Diagnostic, ...]:
    """What the logic of a book and its scenarios show to be wrong, or worth a look.

    See `tellback.logic.check.check`. A list that nothing tried calls for is none of it if it is
    called for in a scenario that carries it out.
    """
    found = check_logic(book, aeroplane, spread, more=(SCENARIO_CHECKS,))
    uncalled = {each.place for each in found if each.code == NEVER_CALLED_FOR}
    called = _called_for_in_scenarios(book, aeroplane, uncalled) if uncalled else set()
    return tuple(f for f in found if f.code != NEVER_CALLED_FOR or f.place not in called)


def _called_for_in_scenarios(
    book: Book, aeroplane: str | None, uncalled: Collection[Place]
) -> set[Place]:
    """Which of the lists at these places some scenario calls for, on every aeroplane with both."""
    one = aeroplane if aeroplane is not None else book.aeroplane
    called: dict[Place, bool] = {}
    for name in (one,) if one else aeroplanes(book):
        mine = for_aeroplane(book, name)
        for procedure in mine.procedures:
            if procedure.place in uncalled:
                so = any(_calls_for(book, scenario, procedure, name) for scenario in mine.scenarios)
                called[procedure.place] = so and called.get(procedure.place, True)
    return {place for place, so in called.items() if so}


def _calls_for(book: Book, scenario: Scenario, procedure: Procedure, aeroplane: str) -> bool:
    """Whether a scenario carries the list out and comes to where it is called for."""
    if all(happening.procedure != procedure.name for happening in scenario.happenings):
        return False
    picture = picture_for(book, scenario, aeroplane)
    try:
        seen = Seen(picture, run_of(picture, scenario, scenario.happenings))
    except (BadSetting, Barred, Unsettled):
        return False
    return any(True for s in procedure.called_for for _ in seen.spans(picture.formula(s.condition)))


def scenario_not_as_expected(ground: Ground) -> Iterator[Found]:
    """What a scenario is to bring and does not bring; steps that never come or cannot be done."""
    book = ground.book
    if not book.scenarios or any(bad.reason is not None for bad in ground.bad_starts):
        return
    picture = picture_for_all(book, book.scenarios, book.aeroplane)
    for scenario in book.scenarios:
        try:
            trace = run_of(picture, scenario, scenario.happenings)
        except (BadSetting, Barred, Unsettled) as reason:
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
    if trace.unrest:
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
        except Unsettled:
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
