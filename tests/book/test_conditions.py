"""Conditions: what the grammar makes of them, and canonical text that reads back the same."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.book.conditions import (
    ALWAYS,
    NEVER,
    All,
    Any,
    AtLeast,
    Between,
    Compare,
    Condition,
    Edge,
    FedBy,
    Held,
    Not,
    State,
)
from tellback.book.cursor import Origin
from tellback.book.grammar import parse_condition
from tellback.book.names import Declared, Names
from tellback.book.phrases import phrase

MOMENTS = Origin(edges=True)


def declared(name: str, form: str, **more: object) -> Declared:
    return Declared(name, form, **more)  # type: ignore[arg-type]


THINGS = (
    declared("switch", "control", states=("OFF", "TAKE-OFF 1", "5"), fails=("stuck",)),
    declared("fuel switch", "control", states=("OFF", "TAKE-OFF 1")),
    declared("fuel selector", "control", states=("LEFT", "BOTH", "COLD")),
    declared("cold", "situation"),
    declared("left pressure", "reading", unit="psi", low=0.0, high=3500.0, fails=("reads 0",)),
    declared("airspeed", "reading", unit="kt", low=0.0, high=400.0),
    declared("Mach number", "reading", unit="none", low=0.0, high=1.0),
    declared("on ground", "situation"),
    declared("inhibited in take-off", "means"),
    declared("pump 1", "unit", kind="pump", fails=("stops",)),
    declared("pump 2", "unit", kind="pump"),
    declared("pump 10", "unit", kind="pump"),
    declared("tie", "unit", kind="bus tie contactor"),
    declared("bleed", "unit", kind="bleed valve"),
    *(declared(f"valve {n}", "unit", kind="bleed valve") for n in "123"),
    declared("bus", "supply", kind="AC bus", states=("lost", "reduced", "normal")),
    declared("left system", "supply", kind="hydraulic circuit", states=("lost", "normal")),
    declared("flaps", "surface", states=("UP", "5", "20", "40")),
    declared("memory", "latch"),
    declared("L FEED LOW", "indication", also=("low feed light",)),
)
GROUPS = {
    "pumps": ("pump 1", "pump 2"),
    "buses": ("bus",),
    "switches": ("switch", "fuel switch"),
    "valves": ("valve 1", "valve 2", "valve 3"),
}
NAMES = Names({t.name: t for t in THINGS}, GROUPS)
PUMP_1, PUMP_2, GROUND = (
    State("pump 1", "running"),
    State("pump 2", "running"),
    State("on ground", "yes"),
)

OFF, TAKE_OFF = State("switch", "at OFF"), State("switch", "at TAKE-OFF 1")


def read(text: str) -> Condition:
    condition, faults = parse_condition(text, NAMES, MOMENTS)
    assert not [fault for fault in faults if fault.kind == "error"], faults
    assert condition is not None
    return condition


def psi(low: float | None, low_in: bool, high: float | None, high_in: bool) -> Compare:
    return Compare("left pressure", low, low_in, high, high_in)


MEANT: dict[str, Condition] = {
    "switch at TAKE-OFF 1": State("switch", "at TAKE-OFF 1"),
    "SWITCH  At take-off 1": State("switch", "at TAKE-OFF 1"),
    "switch not at 5": Not(State("switch", "at 5")),
    "switch at OFF or 5": Any((OFF, State("switch", "at 5"))),
    "switch at OFF, TAKE-OFF 1 or 5": Any((OFF, TAKE_OFF, State("switch", "at 5"))),
    "switch at OFF or TAKE-OFF 1 or 5": Any((OFF, TAKE_OFF, State("switch", "at 5"))),
    "switch not at OFF or TAKE-OFF 1": Not(Any((OFF, TAKE_OFF))),
    "on ground and switch at OFF or 5 and pump 1 running": All(
        (GROUND, Any((OFF, State("switch", "at 5"))), PUMP_1)
    ),
    "switch at OFF or 5 for 3 s": Held(Any((OFF, State("switch", "at 5"))), 3),
    "switch at OFF or pump 1 running": Any((OFF, PUMP_1)),
    "any of (switch at OFF, TAKE-OFF 1 or 5, on ground)": Any(
        (Any((OFF, TAKE_OFF, State("switch", "at 5"))), GROUND)
    ),
    "any of (switch at OFF, switch at 5)": Any((OFF, State("switch", "at 5"))),
    "fuel selector at LEFT or BOTH": Any(
        (State("fuel selector", "at LEFT"), State("fuel selector", "at BOTH"))
    ),
    "fuel selector at LEFT or both pumps running": Any(
        (State("fuel selector", "at LEFT"), All((PUMP_1, PUMP_2)))
    ),
    "fuel selector at LEFT or cold": Any((State("fuel selector", "at LEFT"), State("cold", "yes"))),
    "bus at lost or normal": Any((State("bus", "at lost"), State("bus", "at normal"))),
    "flaps at UP, 5 or 20": Any(tuple(State("flaps", f"at {p}") for p in ("UP", "5", "20"))),
    "switch failed": State("switch", "failed"),
    "left pressure above 2,300 psi": psi(2300, False, None, False),
    "left pressure at least 2300psi": psi(2300, True, None, False),
    "left pressure below 1 bar": psi(None, False, 14.50377377302092, False),
    "left pressure at most 2300.5 psi": psi(None, False, 2300.5, True),
    "left pressure between 1000 and 2300 psi": psi(1000, True, 2300, True),
    "left pressure at 3000 psi": psi(3000, True, 3000, True),
    "true left pressure at 3000 psi": Compare("left pressure", 3000, True, 3000, True, true=True),
    "true airspeed above 100 kt": Compare("airspeed", 100, False, None, False),
    "airspeed above 185.2 km/h": Compare("airspeed", 100, False, None, False),
    "Mach number above 0.8": Compare("Mach number", 0.8, False, None, False),
    "on ground": GROUND,
    "not inhibited in take-off": Not(State("inhibited in take-off", "yes")),
    "pump 10 running": State("pump 10", "running"),
    "pump 1 available": State("pump 1", "available"),
    "tie closed": State("tie", "running"),
    "tie open": Not(State("tie", "running")),
    "bleed open": State("bleed", "running"),
    "bleed not open": Not(State("bleed", "running")),
    "bus powered": State("bus", "live"),
    "left system unpressurised": Not(State("left system", "live")),
    "bus at reduced": State("bus", "at reduced"),
    "bus at least reduced": Between("bus", "reduced", True, None, False),
    "bus below normal": Between("bus", None, False, "normal", False),
    "bus fed by pump 1": FedBy("bus", "pump 1"),
    "bus otherwise lost": State("bus", "otherwise lost"),
    "bus paralleled": State("bus", "paralleled"),
    "flaps at 5": State("flaps", "at 5"),
    "flaps between 5 and 20": Between("flaps", "5", True, "20", True),
    "flaps above UP": Between("flaps", "UP", False, None, False),
    "flaps still": Not(State("flaps", "moving")),
    "memory clear": Not(State("memory", "set")),
    "L FEED LOW lit": State("L FEED LOW", "shown"),
    "low feed light not shown": Not(State("L FEED LOW", "shown")),
    "pump 1 running and not on ground": All((PUMP_1, Not(GROUND))),
    "(pump 1 running and on ground) or pump 2 running": Any((All((PUMP_1, GROUND)), PUMP_2)),
    "not on ground for 2 s": Held(Not(GROUND), 2),
    "not (on ground for 2 min)": Not(Held(GROUND, 120)),
    "any of (on ground, pump 1 running)": Any((GROUND, PUMP_1)),
    "none of (on ground, pump 1 running)": Not(Any((GROUND, PUMP_1))),
    "at least 2 of (on ground, pump 1 running)": AtLeast(2, (GROUND, PUMP_1)),
    "any pump not running": Any((Not(PUMP_1), Not(PUMP_2))),
    "every pump running": All((PUMP_1, PUMP_2)),
    "both pumps running": All((PUMP_1, PUMP_2)),
    "no pumps running": Not(Any((PUMP_1, PUMP_2))),
    "at least 1 pump running": AtLeast(1, (PUMP_1, PUMP_2)),
    "any bus live": Any((State("bus", "live"),)),
    "any pump running for 3 s": Held(Any((PUMP_1, PUMP_2)), 3),
    "any pump running comes on": Any((Edge(PUMP_1, True), Edge(PUMP_2, True))),
    "(any pump running) comes on": Edge(Any((PUMP_1, PUMP_2)), True),
    "every pump running goes out": Edge(All((PUMP_1, PUMP_2)), False),
    "always": ALWAYS,
    "never": NEVER,
}


@pytest.mark.parametrize(("text", "meant"), MEANT.items(), ids=MEANT.keys())
def test_meaning(text: str, meant: Condition) -> None:
    assert read(text) == meant


BY_GROUP = {
    "pump 1 running and pump 2 running": "both pumps running",
    "pump 1 not running and pump 2 not running": "pump 1 not running and pump 2 not running",
    "pump 1 not running or pump 2 not running": "any pump not running",
    "valve 1 closed and valve 2 closed and valve 3 closed": "every valve closed",
    "pump 1 running or pump 2 running": "any pump running",
    "none of (pump 1 running, pump 2 running)": "no pump running",
    "at least 2 of (pump 1 running, pump 2 running)": "at least 2 pumps running",
    "on ground and (pump 1 running or pump 2 running)": "on ground and any pump running",
    "any pump running comes on": "any pump running comes on",
    "(any pump running) comes on": "(any pump running) comes on",
    "any pump running for 3 s": "any pump running for 3 s",
    "valve 1 open and valve 2 open and valve 3 open": "every valve open",
    "pump 1 running and pump 2 not running": "pump 1 running and pump 2 not running",
    "pump 2 running and pump 1 running": "pump 2 running and pump 1 running",
    "pump 1 running and pump 10 running": "pump 1 running and pump 10 running",
    "pump 1 running for 3 s or pump 2 running for 3 s": (
        "pump 1 running for 3 s or pump 2 running for 3 s"
    ),
    "any bus live": "any of (bus live)",
    "switch at OFF or switch at 5": "switch at OFF or 5",
    "none of (switch at OFF, switch at TAKE-OFF 1, switch at 5)": (
        "switch not at OFF, TAKE-OFF 1 or 5"
    ),
    "on ground and (flaps at 5 or flaps at UP)": "on ground and flaps at 5 or UP",
    "flaps at 5 or flaps at 20 or on ground": "flaps at 5 or flaps at 20 or on ground",
    "any valve open and (any switch at OFF or TAKE-OFF 1)": (
        "any valve open and any switch at OFF or TAKE-OFF 1"
    ),
}


@pytest.mark.parametrize(("text", "told"), BY_GROUP.items(), ids=BY_GROUP.keys())
def test_what_is_said_of_a_whole_group_is_told_by_its_name(text: str, told: str) -> None:
    assert phrase(read(text), NAMES) == told
    assert read(told) == read(text)


@pytest.mark.parametrize("meant", MEANT.values(), ids=MEANT.keys())
def test_canonical_text_reads_back(meant: Condition) -> None:
    assert read(phrase(meant, NAMES)) == meant


numbers = st.just(0.0) | st.floats(1e-6, 3500)


def compares() -> st.SearchStrategy[Condition]:
    low = st.builds(
        Compare, st.sampled_from(["left pressure"]), numbers, st.booleans(), st.none(),
        st.just(False), st.booleans(),
    )  # fmt: skip
    high = st.builds(
        Compare, st.sampled_from(["left pressure"]), st.none(), st.just(False), numbers,
        st.booleans(), st.booleans(),
    )  # fmt: skip
    both = st.tuples(numbers, numbers).map(sorted).map(lambda p: psi(p[0], True, p[1], True))
    return low | high | both


def leaves() -> st.SearchStrategy[Condition]:
    simple = [c for c in MEANT.values() if isinstance(c, State | FedBy | Between)]
    return st.sampled_from(simple) | compares()


def joined(parts: st.SearchStrategy[Condition]) -> st.SearchStrategy[Condition]:
    several = st.lists(parts, min_size=1, max_size=3).map(tuple)
    running = [tuple(State(name, "running") for name in GROUPS[g]) for g in ("pumps", "valves")]
    # what is said of every member alike, as by a group's name
    of_all = st.sampled_from(running)
    several |= of_all | of_all.map(lambda parts: tuple(map(Not, parts)))
    several |= of_all.map(lambda parts: tuple(Held(part, 2) for part in parts))
    places = st.lists(st.sampled_from(("UP", "5", "20", "40")), min_size=1, max_size=3)
    several |= places.map(lambda several: tuple(State("flaps", f"at {p}") for p in several))
    several |= of_all.map(lambda parts: tuple(Edge(part, True) for part in parts))
    return (
        st.builds(All, several)
        | st.builds(Any, several)
        | st.builds(AtLeast, st.just(1), several)
        | st.builds(Not, parts)
        | st.builds(Held, parts, st.floats(0.001, 1e6))
        | st.builds(Edge, parts, st.booleans())
    )


@given(st.recursive(leaves(), joined, max_leaves=8))
@settings(max_examples=300, deadline=None)
def test_any_tree_written_out_reads_back_the_same(tree: Condition) -> None:
    assert read(phrase(tree, NAMES)) == tree


WORDS = [word for text in MEANT for word in text.split()] + ["(", ")", ",", "é", "3", "-", "<n>"]


@given(st.lists(st.sampled_from(WORDS), max_size=15).map(" ".join) | st.text(max_size=40))
@settings(max_examples=500, deadline=None)
def test_no_text_raises_and_every_fault_lies_within_it(text: str) -> None:
    condition, faults = parse_condition(text, NAMES, MOMENTS)
    errors = [fault for fault in faults if fault.kind == "error"]
    assert (condition is None) == bool(errors)
    for fault in faults:
        assert 0 <= fault.offset <= len(text)
        assert fault.width >= 1
        assert fault.mend
