"""Why, within a scenario: the reason for something at a time of it, back through all that came."""

from __future__ import annotations

from tellback.book.model import Book
from tellback.logic.answers.why import Reason, explained
from tellback.logic.instants import Instant, Instants, Watched
from tellback.logic.picture import understand
from tellback.motion.moment import last_before
from tellback.motion.run import prepared
from tellback.motion.runner import run_of
from tellback.motion.times import asked, clock


def why_within(
    book: Book, scenario: str, question: str, *, at: str = "", aeroplane: str = ""
) -> Reason:
    """Why `question` is so at a time (`41 s`; without one, at the end) of a scenario.

    The chain goes back through all that was done and came in it. Raises UnknownScenario, BadTime.
    """
    condition = understand(book, question, aeroplane)
    seconds = asked(at) if at else None
    picture, meant = prepared(book, scenario, aeroplane, condition)
    watched = Watched(picture.aeroplane.evaluator)
    trace = run_of(picture, meant, meant.happenings, watched)
    time = trace.ends if seconds is None else seconds
    moment = last_before(trace.known, time).moment
    begin = trace.frames[0].moment
    passed = [Instant(begin.time, begin.state, False), *watched.passed]
    there = (i for i, one in enumerate(passed) if one.time <= time and one.state == moment.state)
    instants = Instants(picture, passed[: max(there, default=0) + 1])
    return explained(picture, condition, f"{meant.name}, at {clock(time)}", instants, moment)
