"""Minimal sets of circuits, module by module, against every state there is."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.logic import cut_sets as cut_sets_module
from tellback.logic.circuit import FALSE, TRUE, Circuit
from tellback.logic.limits import TooLarge, TooLong, within
from tellback.logic.minimal import minimal_sets_of
from tellback.logic.modules import cut

Holds = Callable[[frozenset[int]], bool]
"""Whether something holds when exactly these events do."""


@dataclass(frozen=True)
class Drawn:
    """A term, the events of its circuit, and a second reading of what was drawn."""

    circuit: Circuit
    top: int
    events: tuple[int, ...]
    holds: Holds


@st.composite
def circuits(draw: st.DrawFn) -> Drawn:
    """Up to 14 gates over up to 7 events; many parts are needed twice, many are negated."""
    circuit = Circuit()
    events = tuple(circuit.event() for _ in range(draw(st.integers(1, 7))))
    terms: list[tuple[int, Holds]] = [(event, _holding(event >> 1)) for event in events]
    for _ in range(draw(st.integers(1, 14))):
        several = st.lists(st.tuples(st.sampled_from(terms), st.booleans()), min_size=1, max_size=4)
        drawn = draw(several)
        parts = [term ^ negated for (term, _), negated in drawn]
        reads = [(holds, negated) for (_, holds), negated in drawn]
        kind = draw(st.sampled_from(["all", "any", "at least"]))
        number = {"all": len(parts), "any": 1}.get(kind) or draw(st.integers(0, len(parts) + 1))
        term = {
            "all": lambda p, _: circuit.all_of(p),
            "any": lambda p, _: circuit.any_of(p),
            "at least": lambda p, n: circuit.at_least(n, p),
        }[kind](parts, number)
        terms.append((term, _counting(number, reads)))
    return Drawn(circuit, terms[-1][0], tuple(event >> 1 for event in events), terms[-1][1])


def _holding(event: int) -> Holds:
    return lambda held: event in held


def _counting(number: int, reads: list[tuple[Holds, bool]]) -> Holds:
    return lambda held: sum(holds(held) != negated for holds, negated in reads) >= number


def smallest(drawn: Drawn, apart: dict[int, str] | None = None) -> set[frozenset[int]]:
    """The minimal sets by their definition; no two events `apart` under one name in a set."""
    found: set[frozenset[int]] = set()
    for size in range(len(drawn.events) + 1):
        for some in map(frozenset, combinations(drawn.events, size)):
            named = [apart[event] for event in some] if apart else []
            less = any(one <= some for one in found)
            if not less and len(set(named)) == len(named) and drawn.holds(some):
                found.add(some)
    return found


@settings(deadline=None, max_examples=400)
@given(circuits(), st.one_of(st.none(), st.integers(0, 4)))
def test_they_are_the_smallest_that_do_it_alone(drawn: Drawn, order: int | None) -> None:
    modes = {event: (f"e{event}", 1) for event in drawn.events}
    found = minimal_sets_of(drawn.circuit, drawn.top, modes, order)
    expected = {one for one in smallest(drawn) if order is None or len(one) <= order}
    sets = [frozenset(int(name[1:]) for name, _ in one) for one in found]
    assert set(sets) == expected
    assert found.count == len(sets) == len(expected)
    assert [len(one) for one in sets] == sorted(map(len, sets))


@settings(deadline=None)
@given(circuits(), st.one_of(st.none(), st.integers(0, 3)))
def test_no_set_has_two_modes_of_one_thing(drawn: Drawn, order: int | None) -> None:
    apart = {event: f"thing {place // 3}" for place, event in enumerate(drawn.events)}
    modes = {event: (apart[event], 1 + place % 3) for place, event in enumerate(drawn.events)}
    found = minimal_sets_of(drawn.circuit, drawn.top, modes, order)
    expected = {
        frozenset(modes[event] for event in one)
        for one in smallest(drawn, apart)
        if order is None or len(one) <= order
    }
    assert set(map(frozenset, found)) == expected


@settings(deadline=None)
@given(circuits())
def test_cutting_into_modules_changes_nothing(drawn: Drawn) -> None:
    top, modules = cut(drawn.circuit, drawn.top)
    for states in product((False, True), repeat=len(drawn.events)):
        held = frozenset(e for e, state in zip(drawn.events, states, strict=True) if state)
        assert _value(drawn.circuit, top, held) == drawn.holds(held)
    for module in modules:
        inside = set(drawn.circuit.below(2 * module))
        outside = [n for n in drawn.circuit.below(top) if n not in inside]
        parts = {part >> 1 for n in outside for part in drawn.circuit.gates[n].parts}
        assert parts & inside <= {module}


def _value(circuit: Circuit, term: int, held: frozenset[int]) -> bool:
    gate = circuit.gates[term >> 1]
    if gate.kind in ("constant", "event"):
        so = gate.kind == "constant" or term >> 1 in held
    else:
        number = sum(_value(circuit, part, held) for part in gate.parts)
        so = number >= (gate.number or len(gate.parts))
    return so != bool(term & 1)


def test_constants_and_single_events() -> None:
    circuit = Circuit()
    event = circuit.event()
    modes = {event >> 1: ("pump", 2)}
    assert list(minimal_sets_of(circuit, TRUE, modes)) == [()]
    assert list(minimal_sets_of(circuit, FALSE, modes)) == []
    assert list(minimal_sets_of(circuit, event, modes)) == [(("pump", 2),)]
    assert list(minimal_sets_of(circuit, event, modes, order=0)) == []
    assert list(minimal_sets_of(circuit, event ^ 1, modes)) == [()]


def test_an_independent_part_is_a_module() -> None:
    circuit = Circuit()
    a, b, c, d, shared = (circuit.event() for _ in range(5))
    part = circuit.any_of([a, b])
    top = circuit.any_of([circuit.all_of([part, shared]), circuit.all_of([shared, c, d])])
    top, modules = cut(circuit, top)
    assert part >> 1 in modules
    assert circuit.all_of([c, d]) >> 1 in modules


def crossed(circuit: Circuit, pairs: int) -> int:
    """Pairs of events, of which each is met again only when all others have been."""
    ones = [circuit.event() for _ in range(pairs)]
    others = [circuit.event() for _ in range(pairs)]
    either = circuit.any_of(map(circuit.all_of, zip(ones, others, strict=True)))
    shifted = [*others[pairs // 2 :], *others[: pairs // 2]]
    return circuit.all_of(
        [either, circuit.any_of(map(circuit.all_of, zip(ones, shifted, strict=True)))]
    )


def test_where_the_whole_is_too_large_small_sets_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cut_sets_module, "TABLES", (1 << 10, 1 << 14))
    circuit = Circuit()
    top = crossed(circuit, 20)
    modes = {number: (str(number), 1) for number in circuit.below(top)}
    with pytest.raises(TooLarge, match="--order 2"):
        minimal_sets_of(circuit, top, modes)
    assert minimal_sets_of(circuit, top, modes, order=2).count == 0
    assert minimal_sets_of(circuit, top, modes, order=3).by_order() == {3: 40}


def test_time_that_is_spent_ends_it() -> None:
    circuit = Circuit()
    top = crossed(circuit, 60)
    modes = {number: (str(number), 1) for number in circuit.below(top)}
    begun = time.thread_time()
    with pytest.raises(TooLong), within(0.3, "all sets"):
        minimal_sets_of(circuit, top, modes)
    assert time.thread_time() - begun < 5
