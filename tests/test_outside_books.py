"""Books written from published descriptions, against losses worked out by hand from the same text.

Two sources:

* the pressure tank of NUREG-0492, Fault Tree Handbook, chapter VIII, with its published cut sets;
* what the FAA's Aviation Maintenance Technician Handbook, Airframe (FAA-H-8083-31), chapter 12,
  tells of a large twin's hydraulic power. It tells who drives and who uses each circuit; it does
  not tell what drives the electric and air pumps in turn, so here they depend on nothing.
"""

from functools import cache

import pytest

import tellback
from tellback.book.model import Book
from tests.small_books import DEFAULT, book_of

Sets = set[frozenset[str]]


def lost_by(book: Book, question: str, **scene: object) -> Sets:
    """The minimal sets of failures, each as its thing and how it fails."""
    found = tellback.losses(book, question, **scene)
    assert len(found.sets) == found.count
    return {frozenset(f"{f.thing} {f.mode}" for f in chosen) for chosen in found.sets}


def each(*failures: str) -> Sets:
    """Sets of failures, one text for each, its members joined by a plus sign."""
    return {frozenset(text.split(" + ")) for text in failures}


# The pump fills the tank until the pressure switch opens; the timer relay opens after a minute at
# the latest. The state asked about is that in which both should have opened.
PRESSURE_TANK = """
chapter: 36
title: Pressure tank
source: NUREG-0492 ch. VIII
situations:
  tank full: {normally: yes}
  minute over: {normally: yes}
controls:
  start button: {positions: [OUT, PRESSED]}
units:
  tank: {kind: tank, fails: [stops]}
  pressure switch: {kind: contactor, runs when: not tank full, fails: [stuck closed]}
  start switch: {kind: contactor, runs when: start button at PRESSED, fails: [stuck closed]}
  timer relay: {kind: relay, runs when: not minute over, fails: [stuck closed]}
  first relay:
    kind: relay
    runs when: start switch closed or timer relay closed
    fails: [stuck closed]
  second relay:
    kind: relay
    runs when: pressure switch closed and (start switch closed or first relay closed)
    fails: [stuck closed]
  pump motor: {kind: pump, runs when: second relay closed}
means:
  tank holds: {when: not tank failed and not (pump motor running and tank full)}
"""


def test_cut_sets_of_the_pressure_tank_as_published() -> None:
    assert lost_by(book_of(PRESSURE_TANK), "tank holds") == each(
        "tank stops",
        "second relay stuck closed",
        "pressure switch stuck closed + start switch stuck closed",
        "pressure switch stuck closed + first relay stuck closed",
        "pressure switch stuck closed + timer relay stuck closed",
    )


def test_the_first_relay_is_told_apart_from_the_timer_that_holds_it() -> None:
    book = book_of(PRESSURE_TANK)
    assert lost_by(book, "first relay open", order=1) == each(
        "start switch stuck closed", "first relay stuck closed", "timer relay stuck closed"
    )


LARGE_TWIN = """
chapter: 29
title: Hydraulic power
source: FAA-H-8083-31 ch. 12
situations:
  left engine turning: {normally: yes}
  right engine turning: {normally: yes}
controls:
  ram air turbine switch: {positions: [STOWED, DEPLOYED]}
units:
  <s> engine pump:
    for each: s in [left, right]
    kind: pump
    needs: [<s> engine turning]
    fails: [stops]
  <s> electric pump:
    for each: s in [left, right]
    kind: pump
    runs when: <s> circuit otherwise lost
    fails: [stops]
  primary electric pump <n>: {kind: pump, for each: "n in [1, 2]", fails: [stops]}
  air demand pump <n>:
    for each: n in [1, 2]
    kind: pump
    runs when: centre circuit otherwise lost
    fails: [stops]
  ram air turbine: {kind: pump, runs when: ram air turbine switch at DEPLOYED, fails: [stops]}
  <s> reverser: {for each: "s in [left, right]", kind: reverser, needs: [<s> circuit]}
  normal brakes: {kind: brakes, needs: [right circuit]}
  gear motor: {kind: motor, needs: [centre circuit]}
  flap motor: {kind: motor, needs: [centre circuit]}
  slat motor: {kind: motor, needs: [centre circuit]}
supplies:
  <s> circuit:
    for each: s in [left, right]
    kind: circuit
    fed by: [<s> engine pump, <s> electric pump]
    fails: [lost]
  centre circuit:
    kind: circuit
    fed by: [primary electric pump 1, primary electric pump 2, air demand pump 1, air demand pump 2]
    fails: [lost]
  centre flight control line:
    kind: circuit
    fed by: [centre circuit, ram air turbine]
    fails: [lost]
readings:
  <s> pressure:
    for each: s in [left, right]
    unit: psi
    range: 0 to 3500
    follows:
      - {reads: 3000, when: <s> circuit pressurised}
      - {reads: 0}
means:
  flight controls powered:
    when: left circuit live or right circuit live or centre flight control line live
"""

FOUR_CENTRE_PUMPS = (
    "primary electric pump 1 stops + primary electric pump 2 stops"
    " + air demand pump 1 stops + air demand pump 2 stops"
)


@cache
def large_twin() -> Book:
    return book_of(LARGE_TWIN, DEFAULT.replace("normal: {}", "in flight: {}"))


@pytest.mark.parametrize(
    ("question", "side"),
    [
        ("left reverser running", "left"),
        ("right reverser running", "right"),
        ("normal brakes running", "right"),
        ("left pressure at least 3000 psi", "left"),
        ("right pressure at 3000 psi", "right"),
    ],
)
def test_what_hangs_on_a_side_is_lost_with_its_circuit_or_both_its_pumps(
    question: str, side: str
) -> None:
    both = f"{side} engine pump stops + {side} electric pump stops"
    assert lost_by(large_twin(), question) == each(f"{side} circuit lost", both)
    assert lost_by(large_twin(), question, free=True) == each(f"{side} circuit lost", both)


@pytest.mark.parametrize("question", [f"{x} motor running" for x in ("gear", "flap", "slat")])
def test_what_hangs_on_the_centre_is_not_saved_by_the_turbine(question: str) -> None:
    expected = each("centre circuit lost", FOUR_CENTRE_PUMPS)
    assert lost_by(large_twin(), question) == expected
    assert lost_by(large_twin(), question, free=True) == expected


def test_one_engine_out_leaves_the_electric_pump_alone() -> None:
    left_out = ["left engine turning: no"]
    assert lost_by(large_twin(), "left reverser running", changes=left_out) == each(
        "left circuit lost", "left electric pump stops"
    )
    assert lost_by(large_twin(), "normal brakes running", changes=left_out) == each(
        "right circuit lost", "right engine pump stops + right electric pump stops"
    )


SIDE = [("{} circuit lost",), ("{} engine pump stops", "{} electric pump stops")]


def all_three(centre: list[tuple[str, ...]]) -> Sets:
    """Something lost on the left, something on the right, something in the centre."""
    return {
        frozenset(part.format("left") for part in left)
        | frozenset(part.format("right") for part in right)
        | frozenset(third)
        for left in SIDE
        for right in SIDE
        for third in centre
    }


def test_flight_controls_are_lost_with_all_three_circuits() -> None:
    line, leak = "centre flight control line lost", "centre circuit lost"
    pumps = tuple(FOUR_CENTRE_PUMPS.split(" + "))
    stowed = [(line,), (leak,), pumps]
    assert lost_by(large_twin(), "flight controls powered") == all_three(stowed)
    # Whatever the crew selects: the turbine, which feeds the line past the centre circuit, too.
    deployed = [(line,), (leak, "ram air turbine stops"), (*pumps, "ram air turbine stops")]
    assert lost_by(large_twin(), "flight controls powered", free=True) == all_three(deployed)


def test_sets_of_the_flight_controls_by_size() -> None:
    # (x + x2)(x + x2)(2x + x4), and with the turbine (x + x2)(x + x2)(x + x2 + x5).
    stowed = tellback.losses(large_twin(), "flight controls powered")
    assert stowed.counts == ((3, 2), (4, 4), (5, 2), (6, 1), (7, 2), (8, 1))
    free = tellback.losses(large_twin(), "flight controls powered", free=True)
    assert free.counts == ((3, 1), (4, 3), (5, 3), (6, 1), (7, 1), (8, 2), (9, 1))


def test_demand_pumps_run_only_when_they_must() -> None:
    book = large_twin()
    claims = [
        "if left engine pump running then not left electric pump running",
        "air demand pump 1 running only if (primary electric pump 1 failed and primary electric "
        "pump 2 failed)",
        "if left circuit live and right circuit live then flight controls powered",
    ]
    for text in claims:
        assert tellback.claim(book, text).verdict == "proved", text
    text = "if flight controls powered then gear motor running"
    assert tellback.claim(book, text).verdict == "false"
