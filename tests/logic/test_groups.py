"""What is so of every member of a group is told by its name, and means the same."""

from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tellback as tb
from tellback.book.grammar import parse_condition
from tellback.logic.groups import told_together
from tellback.logic.items import View
from tellback.logic.picture import picture_of
from tests.small_books import book_of

BOOK = book_of("""
controls:
  left lever: {positions: [OFF, AUTO, ON]}
  right lever: {positions: [OFF, AUTO, ON]}
  nose door: {positions: [OPEN, SHUT], normally: SHUT}
  left door: {positions: [OPEN, SHUT], normally: SHUT}
  right door: {positions: [OPEN, SHUT], normally: SHUT}
  tail hatch: {positions: [OPEN, SHUT], normally: SHUT}
  fan switch: {positions: [OFF, ON]}
situations: {left wet: {}, right wet: {}}
readings:
  left speed: {unit: kt, range: 0 to 400}
  right speed: {unit: kt, range: 0 to 400}
supplies:
  left bus: {kind: AC bus, levels: [lost, reduced, normal], fed by: left pump}
  right bus: {kind: AC bus, levels: [lost, reduced, normal], fed by: right pump}
latches:
  left memory: {set when: left wet, cleared when: left lever at OFF}
  right memory: {set when: right wet, cleared when: right lever at OFF}
units:
  left pump: {kind: pump, fails: [stops]}
  right pump: {kind: pump, fails: [stops]}
  fan: {runs when: fan switch at ON and every opening at SHUT}
  cooler: {runs when: any door at OPEN}
  heater: {runs when: no lever at OFF and both speeds at least 100 kt}
  dryer: {runs when: both wetnesses or (nose door at OPEN and both memories clear)}
  light: {runs when: both buses live}
  alarm: {kind: bell, runs when: both pumps not running}
  gate: {runs when: left door at OPEN and right door at OPEN}
groups:
  levers: [left lever, right lever]
  doors: [nose door, left door, right door]
  openings: [nose door, left door, right door, tail hatch]
  wetnesses: [left wet, right wet]
  speeds: [left speed, right speed]
  buses: [left bus, right bus]
  memories: [left memory, right memory]
  pumps: [left pump, right pump]
""")


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ("fan running", ["every opening at SHUT and fan switch at ON"]),
        ("cooler not running", ["every door at SHUT"]),
        ("heater running", ["no lever at OFF and both speeds at least 100 kt"]),
        ("dryer running", ["both wetnesses", "nose door at OPEN and both memories clear"]),
        ("light running", ["both buses live"]),
        # not all of the members; what no condition of the book says; not the same of all
        ("gate running", ["left door at OPEN and right door at OPEN"]),
        ("alarm running", ["left pump stops and right pump stops"]),
        (
            "every opening at SHUT and left lever at ON and right lever at OFF",
            ["left lever at ON, right lever at OFF and every opening at SHUT"],
        ),
    ],
)
def test_ways_tell_what_is_so_of_a_whole_group_by_its_name(question: str, told: list[str]) -> None:
    lines = str(tb.shortest(BOOK, question)).splitlines()
    ways = [line.split("  [")[0].split(". ")[1] for line in lines if "  [" in line]
    assert ways == told


def test_the_json_form_lists_the_members() -> None:
    (way,) = tb.as_json(tb.shortest(BOOK, "light running"))["combinations"]
    assert [item["text"] for item in way["items"]] == ["left bus live", "right bus live"]
    assert way["items"][0].keys() == {"thing", "kind", "states", "text"}


def test_what_is_asked_of_a_group_is_told_by_its_name() -> None:
    text = "nose door at OPEN or left door at OPEN or right door at OPEN"
    assert str(tb.can(BOOK, text)).startswith("any door at OPEN: can be.")


def test_a_reason_and_what_is_missing_name_the_group() -> None:
    answer = tb.why(BOOK, "cooler running")
    assert "cooler not running (normal), because every door at SHUT.\n" in str(answer)
    answer = tb.why(BOOK, "fan running", changes=[f"{n} door: OPEN" for n in ("nose", "left")])
    assert "missing: nose door at SHUT, left door at SHUT and fan switch at ON." in str(answer)
    answer = tb.why(
        BOOK, "fan running", changes=[f"{n} door: OPEN" for n in ("nose", "left", "right")]
    )
    assert "missing: every door at SHUT and fan switch at ON." in str(answer)


def test_effects_tell_by_the_group_when_something_comes() -> None:
    answer = str(tb.effects(BOOK, "fan switch: ON"))
    assert "fan running — given every opening at SHUT" in answer
    answer = str(tb.effects(BOOK, "left speed: 200", elsewhere=True))
    assert "if no lever at OFF and right speed at least 100 kt: heater running" in answer


def test_what_must_be_changed_of_a_whole_group_names_it() -> None:
    answer = tb.stops(BOOK, "any lever at OFF", order=2)
    assert "    no lever at OFF\n" in str(answer)


VIEW = View(picture_of(BOOK), to_root=False)
NAMES = [
    *(name for name, v in VIEW.picture.system.variables.items() if v.kind != "failure"),
    *VIEW.supplies,
]


@st.composite
def cubes(draw: st.DrawFn) -> Mapping[str, frozenset[int]]:
    """Some values of some items; members of one group often have the same."""
    values = st.sets(st.integers(0, 2), min_size=1)
    of_group = {
        member: draw(values)
        for members in BOOK.groups.values()
        for member in members
        if draw(st.booleans())
    }
    cube = {}
    for name in NAMES:
        chosen = of_group.get(name) or (draw(values) if draw(st.booleans()) else set())
        if chosen and VIEW.ordered(name):
            chosen = set(range(min(chosen), max(chosen) + 1))
        fitting = frozenset(v for v in chosen if v < VIEW.space.size(name))
        if 0 < len(fitting) < VIEW.space.size(name):
            cube[name] = fitting
    return cube


@given(cubes())
@settings(max_examples=200, deadline=None)
def test_what_is_told_together_means_what_the_items_mean(
    cube: Mapping[str, frozenset[int]],
) -> None:
    items = {VIEW.item(n, cube[n]): VIEW.space.cube({n: cube[n]}) for n in VIEW.in_order(cube)}
    alone = {item.text: node for item, node in items.items()}
    meant = VIEW.space.true
    for text in told_together(items):
        condition = parse_condition(text, VIEW.picture.names)[0]
        in_words = condition and VIEW.of(VIEW.picture.formula(condition))
        told = alone.get(text, in_words)
        assert told is not None
        meant = meant & told
    assert meant == VIEW.space.all_of(items.values())
