"""The program against answers worked out by hand, for patterns that real aeroplanes have.

The same answers that the oracle is held against in `test_patterns_oracle.py`.
"""

from __future__ import annotations

from functools import cache

import pytest

import tellback
from tellback.logic.answers.claims import verdict_on
from tellback.logic.answers.shortest import Shortest
from tellback.logic.failures import Failure
from tellback.logic.items import Item
from tellback.logic.picture import picture_of, understand
from tellback.logic.scene import scene
from tests.pattern_books import (
    FOLDER,
    CubeText,
    Failures,
    Pattern,
    cubes_of,
    failure_sets_of,
    pattern_in,
)

NAMES = [path.stem for path in sorted(FOLDER.glob("*.yaml"))]


@cache
def pattern(name: str) -> Pattern:
    return pattern_in(FOLDER / f"{name}.yaml")


def told_cubes(found: Shortest) -> set[CubeText]:
    """The ways as cubes, those that are told only as `likewise` too."""
    each = [one.items for way in found.combinations for one in (way, *way.likewise)]
    return {frozenset((item_name(item), item.states) for item in items) for items in each}


def item_name(item: Item) -> str:
    """What the answers by hand call an item."""
    names = {"failure": f"failure of {item.thing}", "cancelled": f"{item.thing} cancelled"}
    return names.get(item.kind, item.thing)


def failure_sets(sets: tuple[tuple[Failure, ...], ...]) -> set[Failures]:
    return {frozenset((failure.thing, failure.mode) for failure in chosen) for chosen in sets}


@pytest.mark.parametrize("name", NAMES)
def test_ways_are_those_worked_out_by_hand(name: str) -> None:
    for question in pattern(name).expected["ways"]:
        found = tellback.shortest(pattern(name).book, question["of"], to_root="to root" in question)
        assert found.exact
        assert told_cubes(found) == cubes_of(question["ways"]), question["of"]
        assert found.count == len(question["ways"]), question["of"]
        assert [need.text for need in found.needs] == question.get("needs", []), question["of"]


@pytest.mark.parametrize("name", NAMES)
def test_losses_are_those_worked_out_by_hand(name: str) -> None:
    for question in pattern(name).expected["losses"]:
        found = tellback.losses(
            pattern(name).book,
            question["of"],
            start=question["from"],
            order=int(question["order"]),
            free="free" in question,
        )
        assert failure_sets(found.sets) == failure_sets_of(question["sets"]), question["of"]
        assert found.count == len(question["sets"]), question["of"]
        assert not found.disputed


@pytest.mark.parametrize("name", NAMES)
def test_what_fits_is_what_was_worked_out_by_hand(name: str) -> None:
    for question in pattern(name).expected.get("fits", []):
        seen = [
            f"{indication} {'shown' if shown == 'yes' else 'not shown'}"
            for indication, shown in question["seen"].items()
        ]
        found = tellback.fits(
            pattern(name).book, seen, start=question["from"], order=int(question["order"])
        )
        failures = [
            tuple(Failure(item.thing, item.states[0], item.text) for item in one.causes)
            for one in found.explained
            if {item.kind for item in one.causes} == {"failure"}
        ]
        wanted = [one for one in question["sets"] if one]
        assert failure_sets(failures) == failure_sets_of(wanted), seen
        assert found.already == ({} in question["sets"])


@pytest.mark.parametrize("name", NAMES)
def test_claims_are_proved_or_have_a_run_against_them(name: str) -> None:
    picture = picture_of(pattern(name).book)
    told = pattern(name).expected["claims"]
    for claim, expected in zip(picture.book.claims, told, strict=True):
        found = verdict_on(picture, claim)
        assert found.verdict == ("proved" if expected["proved"] == "yes" else "false"), claim.text
        if found.run is not None:
            end = found.run.end.state
            broken = picture.formula(claim.condition)
            assert not picture.aeroplane.holds(broken, end), claim.text
            given = (picture.formula(condition) for condition in claim.given)
            assert all(picture.aeroplane.holds(formula, end) for formula in given), claim.text


@pytest.mark.parametrize("name", NAMES)
def test_the_shortest_run_has_the_number_of_events_counted_by_hand(name: str) -> None:
    for question in pattern(name).expected["can"]:
        found = tellback.can(pattern(name).book, question["of"], start=question.get("from", ""))
        told = question["events"]
        if told == "never":
            assert found.verdict == "impossible", question["of"]
        else:
            assert found.run is not None, question["of"]
            assert found.run.events == int(told), (question["of"], str(found.run))
            assert found.shortest, question["of"]


@pytest.mark.parametrize("name", NAMES)
def test_a_change_settles_after_the_time_worked_out_by_hand(name: str) -> None:
    picture = picture_of(pattern(name).book)
    for question in pattern(name).expected.get("settles", []):
        changes = [
            f"{thing.removeprefix('failure of ')}: {state}"
            for thing, state in question["changes"].items()
        ]
        before = picture.starts[question["from"]]
        after = scene(picture, question["from"], changes).moment
        assert after.time - before.time == float(question["after"]), question
        then = picture.formula(understand(picture.book, question["then"]))
        assert picture.aeroplane.holds(then, after.state), question
