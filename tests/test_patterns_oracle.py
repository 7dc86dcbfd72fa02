"""The oracle against answers worked out by hand, for patterns that real aeroplanes have."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest

from tests.oracle.answers import counterexamples, fits, losses, ways
from tests.oracle.frame import Frame, Value, frame_of
from tests.oracle.reach import Possible, can, possible_states
from tests.oracle.timed import Moment, happens, settled, starting_moments
from tests.oracle.values import holds
from tests.pattern_books import FOLDER, Pattern, cubes_of, failure_sets_of, pattern_in

NAMES = [path.stem for path in sorted(FOLDER.glob("*.yaml"))]


@cache
def pattern(name: str) -> Pattern:
    return pattern_in(FOLDER / f"{name}.yaml")


@cache
def frame(name: str) -> Frame:
    """The frame of a pattern, its readings cut for all the questions asked."""
    found = pattern(name)
    asked = [
        found.condition(question["of"])
        for kind in ("ways", "losses", "can")
        for question in found.expected.get(kind, [])
    ]
    return frame_of(found.book, *asked)


@cache
def possible(name: str, start: str = "") -> Possible:
    return possible_states(frame(name), start=start)


def start_of(name: str, question: dict[str, str]) -> Moment:
    return starting_moments(frame(name))[question["from"]]


@pytest.mark.parametrize("name", NAMES)
def test_ways_are_those_worked_out_by_hand(name: str) -> None:
    for question in pattern(name).expected["ways"]:
        condition = pattern(name).condition(question["of"])
        found = ways(frame(name), condition, possible(name), to_root="to root" in question)
        told = cubes_of(question["ways"])
        assert cubes_of(found.cubes) == told, question["of"]
        assert list(found.needs) == question.get("needs", []), question["of"]


@pytest.mark.parametrize("name", NAMES)
def test_losses_are_those_worked_out_by_hand(name: str) -> None:
    for question in pattern(name).expected["losses"]:
        found = losses(
            frame(name),
            pattern(name).condition(question["of"]),
            start_of(name, question),
            int(question["order"]),
            free="free" in question,
        )
        assert set(found) == failure_sets_of(question["sets"]), question["of"]


@pytest.mark.parametrize("name", NAMES)
def test_what_fits_is_what_was_worked_out_by_hand(name: str) -> None:
    for question in pattern(name).expected.get("fits", []):
        seen = {indication: shown == "yes" for indication, shown in question["seen"].items()}
        found = fits(frame(name), seen, start_of(name, question), int(question["order"]))
        assert set(found) == failure_sets_of(question["sets"]), question["seen"]


@pytest.mark.parametrize("name", NAMES)
def test_claims_are_proved_or_have_a_counterexample(name: str) -> None:
    told = pattern(name).expected["claims"]
    for claim, expected in zip(pattern(name).book.claims, told, strict=True):
        found = counterexamples(frame(name), claim, possible(name))
        assert (not found) == (expected["proved"] == "yes"), claim.text


@pytest.mark.parametrize("name", NAMES)
def test_the_shortest_run_has_the_number_of_events_counted_by_hand(name: str) -> None:
    for question in pattern(name).expected["can"]:
        condition = pattern(name).condition(question["of"])
        run = can(frame(name), condition, possible(name, question.get("from", "")))
        told = question["events"]
        assert (run is None) if told == "never" else (run is not None and len(run) == int(told)), (
            question["of"],
            [str(event) for event in run or ()],
        )


@pytest.mark.parametrize("name", NAMES)
def test_a_change_settles_after_the_time_worked_out_by_hand(name: str) -> None:
    for question in pattern(name).expected.get("settles", []):
        changes: dict[str, Value] = dict(question["changes"])
        after = settled(frame(name), happens(frame(name), start_of(name, question), changes))
        assert after.time == Fraction(question["after"]), question
        assert holds(frame(name), after.state, pattern(name).condition(question["then"])), question
