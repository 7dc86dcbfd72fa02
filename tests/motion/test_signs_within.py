"""Signs within a scenario are what comes in the run with the failure, and not without it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tellback.book.model import Book, Reading
from tellback.logic.facts import FEEDER, Facts
from tellback.motion.runner import picture_for, run_of
from tellback.motion.signs import signs_within
from tellback.motion.what_if import added_steps
from tests.motion.drawn_scenarios import ScenarioText, scenarios
from tests.small_books import book_of

quickly = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))

Words = dict[str, str]
LATER = 0.1
"""What comes that much later without the failure is told as alike."""


@quickly
@given(scenarios(), st.data())
def test_signs_are_what_comes_with_the_failure_alone(
    text: ScenarioText, data: st.DataObject
) -> None:
    book = book_of(
        text.book.chapter, text.book.type_file, procedures=text.procedures,
        scenarios=text.scenarios,
    )  # fmt: skip
    failures = [(t.name, mode) for t in book.things for mode in t.fails]
    assume(failures)
    name, mode = data.draw(st.sampled_from(failures))
    (scenario,) = book.scenarios
    assert scenario.ends is not None
    picture = picture_for(book, scenario, "")
    assume(not run_of(picture, scenario, scenario.happenings).is_contradicted)
    at = data.draw(st.integers(0, int(scenario.ends)))
    answer = signs_within(book, scenario.name, [f"{name}: {mode}"], at=f"{at} s")
    without, with_it = courses(book, f"{name}: {mode}", at)
    fed = {c.thing for c in answer.changes if c.fed_by or c.kind == FEEDER}
    told = {(round(at + c.seconds, 3), c.thing, c.after) for c in answer.changes}
    aside = {
        thing.name
        for thing in book.things
        if isinstance(thing, Reading) and thing.is_outside and thing.name != name
    }
    expected = {one for one in apart(with_it, without, at) if one[1] not in aside}
    assert expected <= told
    assert {thing for _, thing, _ in told - expected} <= fed  # live as without it, by another
    for change in answer.missing:
        assert stands(with_it, at + change.seconds + LATER)[change.thing] != change.after


def courses(book: Book, failure: str, at: int) -> list[list[tuple[float, Words]]]:
    """The words of all things at each time of the run without the failure, and with it."""
    (scenario,) = book.scenarios
    picture = picture_for(book, scenario, "")
    facts = Facts(picture)
    steps = tuple(added_steps(picture, [failure], float(at)))
    without = run_of(picture, scenario, scenario.happenings)
    lasting = replace(scenario, ends=without.ends)
    with_it = run_of(picture, lasting, (*scenario.happenings, *steps))
    return [
        [(frame.time, dict(facts.at(frame.moment))) for frame in trace.known]
        for trace in (without, with_it)
    ]


def stands(course: list[tuple[float, Words]], time: float) -> Words:
    """How all stands when everything of that time has happened."""
    return [words for when, words in course if when <= time or when == course[0][0]][-1]


def apart(
    course: list[tuple[float, Words]], other: list[tuple[float, Words]], at: int
) -> Iterator[tuple[float, str, str]]:
    """What is otherwise than just before, and than in the other run at that time."""
    for time in sorted({when for when, _ in course if when >= at}):
        now, there = stands(course, time), stands(other, time + LATER)
        before = [words for when, words in course if when < time] or [course[0][1]]
        for thing in now:
            if now[thing] != before[-1][thing] and now[thing] != there[thing]:
                yield round(time, 3), thing, now[thing]
