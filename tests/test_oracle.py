"""The oracle against answers worked out by hand for the finer points of `docs/meaning.md`."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.logic.brute_force import Truth, prime_cubes
from tests.oracle.answers import boxes_without
from tests.oracle.frame import Frame, State, Value, frame_of
from tests.oracle.reach import possible_states
from tests.oracle.steps import NeverSteady, moves
from tests.oracle.timed import Moment, happens, next_event, passed, settled, starting_moments
from tests.oracle.values import FeederCircle, Undecided, feeders, holds, values
from tests.pattern_books import condition_of
from tests.small_books import book_of
from tests.strategies import BookText, books

SLOW = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], database=None
)
SWITCH = "controls:\n  switch: {positions: [OFF, ON]}\n  button: {positions: [OUT, IN]}\n"


def start(chapter: str) -> tuple[Frame, Moment]:
    """The frame and the starting moment of a chapter."""
    frame = frame_of(book_of(chapter))
    return frame, starting_moments(frame)["normal"]


def is_so(frame: Frame, state: State, text: str) -> bool:
    return holds(frame, state, condition_of(frame.book, text))


def after(frame: Frame, moment: Moment, **changes: Value) -> Moment:
    """The moment after controls moved, not yet settled."""
    return happens(frame, moment, dict(changes))


def test_two_that_each_run_without_the_other_are_undecided() -> None:
    chapter = "units:\n  one: {runs when: not two running}\n  two: {runs when: not one running}\n"
    with pytest.raises(Undecided):
        start(chapter)


def test_one_that_runs_when_it_does_not_is_undecided() -> None:
    with pytest.raises(Undecided):
        start("units:\n  one: {runs when: not one running}\n")


def test_a_circle_through_not_is_decided_where_something_outside_settles_it() -> None:
    chapter = SWITCH + (
        "units:\n  one: {runs when: switch at OFF and not two running}\n"
        "  two: {runs when: switch at ON and not one running}\n"
    )
    frame, moment = start(chapter)
    assert is_so(frame, moment.state, "one running and not two running")
    assert is_so(frame, after(frame, moment, switch="ON").state, "two running and not one running")


def test_supplies_do_not_keep_each_other_live() -> None:
    chapter = "supplies:\n  left bus: {fed by: [right bus]}\n  right bus: {fed by: [left bus]}\n"
    frame, moment = start(chapter)
    assert is_so(frame, moment.state, "left bus lost and right bus lost")


def test_feeders_in_a_circle_are_an_error() -> None:
    chapter = (
        "units:\n  one: {kind: pump}\n  two: {kind: pump}\n"
        "supplies:\n  left bus: {fed by: [right bus, one]}\n"
        "  right bus: {fed by: [left bus, two]}\n"
    )
    frame, moment = start(chapter)
    with pytest.raises(FeederCircle):
        feeders(frame, moment.state)


def test_a_supply_takes_the_highest_level_and_its_feeder_is_the_first_that_delivers() -> None:
    chapter = SWITCH + (
        "units:\n  weak: {kind: pump}\n  strong: {kind: pump, runs when: switch at ON}\n"
        "supplies:\n"
        "  duct:\n    levels: [lost, reduced, normal]\n"
        "    fed by:\n      - {from: weak, delivers: reduced}\n      - strong\n"
        "  end:\n    levels: [lost, reduced, normal]\n    fed by: [duct]\n"
        "  other: {fed by: [duct]}\n"
    )
    frame, moment = start(chapter)
    told = "duct at reduced and end at reduced and other live and duct fed by weak"
    assert is_so(frame, moment.state, told)
    on = after(frame, moment, switch="ON").state
    assert is_so(frame, on, "duct at normal and end at normal and duct fed by weak")
    assert is_so(frame, on, "duct paralleled and end paralleled and not duct below normal")


def test_a_source_that_feeds_one_takes_the_first_that_calls() -> None:
    chapter = SWITCH + (
        "units:\n  main: {runs when: switch at OFF}\n  spare: {feeds one: [first, second]}\n"
        "supplies:\n  first: {fed by: [main, spare]}\n  second: {fed by: [spare]}\n"
    )
    frame, moment = start(chapter)
    assert is_so(frame, moment.state, "first fed by main and second fed by spare")
    on = after(frame, moment, switch="ON").state
    assert is_so(frame, on, "first fed by spare and second lost")


def test_failures_beat_conditions_but_a_pump_that_keeps_running_needs_its_needs() -> None:
    chapter = SWITCH + (
        "units:\n  source: {runs when: button at OUT}\n"
        "  pump: {needs: [bus], runs when: switch at ON, fails: [stops, keeps running]}\n"
        "  tie: {kind: contactor, needs: [bus], fails: [stuck open, stuck closed]}\n"
        "  tap: {kind: valve, needs: [bus], fails: [stuck open, stuck closed]}\n"
        "supplies:\n  bus: {fed by: [source]}\n"
    )
    frame, moment = start(chapter)

    def failed(name: str, mode: str, **changes: Value) -> State:
        return happens(frame, moment, {f"failure of {name}": mode, **changes}).state

    assert is_so(frame, failed("pump", "keeps running"), "pump running and not pump available")
    assert is_so(frame, failed("pump", "keeps running", button="IN"), "not pump running")
    assert is_so(frame, failed("pump", "stops", switch="ON"), "not pump running and pump failed")
    assert is_so(frame, failed("tie", "stuck closed", button="IN"), "tie closed")
    assert is_so(frame, failed("tie", "stuck open"), "tie open")
    assert is_so(frame, failed("tap", "stuck open", button="IN"), "tap open")
    assert is_so(frame, failed("tap", "stuck closed"), "tap closed")


def test_a_reading_is_cut_only_where_a_comparison_tells_apart() -> None:
    chapter = (
        "readings:\n  speed: {unit: kt, range: 0 to 400, normally: 100}\n"
        "means:\n  slow: {when: speed below 80 kt}\n  fast: {when: speed at least 200 kt}\n"
    )
    frame, moment = start(chapter)
    regions = [(r.low, r.low_included, r.high) for r in frame.regions["speed"]]
    assert regions == [(0, True, 80), (80, True, 200), (200, True, 400)]
    assert is_so(frame, moment.state, "not slow and not fast")


def test_a_false_reading_is_what_conditions_use_and_true_is_the_real_one() -> None:
    chapter = (
        "readings:\n  speed: {unit: kt, range: 0 to 400, normally: 100, fails: [reads 0]}\n"
        "means:\n  slow: {when: speed below 80 kt}\n  truly slow: {when: true speed below 80 kt}\n"
    )
    frame, moment = start(chapter)
    state = happens(frame, moment, {"failure of speed": "reads 0"}).state
    assert is_so(frame, state, "slow and not truly slow")


def test_a_following_reading_has_the_first_row_that_applies_or_its_low_end() -> None:
    chapter = SWITCH + (
        "readings:\n  pressure:\n    unit: psi\n    range: 100 to 3500\n    follows:\n"
        "      - {reads: 3000, when: switch at ON}\n      - {reads: 500, when: button at IN}\n"
    )
    frame, moment = start(chapter)
    assert is_so(frame, moment.state, "pressure at 100 psi")
    assert is_so(frame, after(frame, moment, button="IN").state, "pressure at 500 psi")
    both = after(frame, moment, button="IN", switch="ON").state
    assert is_so(frame, both, "pressure at 3000 psi")


@pytest.mark.parametrize(("wins", "expected"), [("", False), (", set wins: yes", True)])
def test_clearing_wins_unless_setting_does(wins: str, expected: bool) -> None:
    latch = f"  mark: {{set when: switch at ON, cleared when: button at IN{wins}}}\n"
    frame, moment = start(SWITCH + "latches:\n" + latch)
    both = after(frame, moment, switch="ON", button="IN")
    assert is_so(frame, both.state, "mark set") == expected
    was_set = after(frame, after(frame, moment, switch="ON"), button="IN")
    assert is_so(frame, was_set.state, "mark set") == expected
    assert is_so(frame, after(frame, was_set, switch="OFF").state, "mark clear")


def test_latches_read_the_old_values_of_one_another() -> None:
    chapter = SWITCH + (
        "latches:\n  one: {set when: switch at ON, cleared when: button at IN}\n"
        "  two: {set when: switch at ON and one clear, cleared when: button at IN}\n"
    )
    frame, moment = start(chapter)
    assert is_so(frame, after(frame, moment, switch="ON").state, "one set and two set")


def test_an_edge_sets_a_latch_once() -> None:
    chapter = SWITCH + (
        "latches:\n  mark: {set when: switch at ON comes on, cleared when: button at IN}\n"
    )
    frame, moment = start(chapter)
    on = after(frame, moment, switch="ON")
    assert is_so(frame, on.state, "mark set")
    cleared = after(frame, after(frame, on, button="IN"), button="OUT")
    assert is_so(frame, cleared.state, "mark clear and switch at ON")
    again = after(frame, after(frame, cleared, switch="OFF"), switch="ON")
    assert is_so(frame, again.state, "mark set")


def test_a_latch_that_undoes_its_own_cause_is_never_steady() -> None:
    chapter = "latches:\n  mark: {set when: mark clear, cleared when: mark set}\n"
    with pytest.raises(NeverSteady):
        start(chapter)


def test_a_control_drops_and_is_locked() -> None:
    chapter = (
        "controls:\n  button: {positions: [OUT, IN]}\n"
        "  switch: {positions: [OFF, ON], drops to OFF when: button at IN,"
        " cannot go to ON when: button at IN}\n"
    )
    frame, moment = start(chapter)
    dropped = after(frame, after(frame, moment, switch="ON"), button="IN")
    assert is_so(frame, dropped.state, "switch at OFF")
    assert [event.item for event in moves(frame, dropped.state)] == ["button"]


def test_a_delay_runs_without_a_break() -> None:
    chapter = SWITCH + "means:\n  late: {when: switch at ON for 3 s}\n"
    frame, moment = start(chapter)
    on = after(frame, moment, switch="ON")
    assert not is_so(frame, on.state, "late")
    assert is_so(frame, settled(frame, on).state, "late")
    assert settled(frame, on).time == 3
    broken = after(frame, after(frame, passed(frame, on, Fraction(2)), switch="OFF"), switch="ON")
    assert settled(frame, broken).time == 5


def test_a_delay_has_elapsed_in_a_starting_state() -> None:
    frame, moment = start(SWITCH + "means:\n  late: {when: switch at OFF for 3 s}\n")
    assert is_so(frame, moment.state, "late")


def test_a_surface_takes_its_time_stops_and_goes_back() -> None:
    chapter = SWITCH + (
        "units:\n  source: {runs when: button at OUT}\nsupplies:\n  bus: {fed by: [source]}\n"
        "surfaces:\n  flap:\n    points: [OFF, MID, ON]\n    drives:\n"
        "      motor: {to: switch, needs: [bus], takes: 8 s}\n"
    )
    frame, moment = start(chapter)
    going = after(frame, moment, switch="ON")
    assert is_so(frame, going.state, "flap at OFF and flap moving")
    time, event = next_event(frame, going) or (Fraction(0), None)
    assert event is not None
    assert time == 2
    left = happens(frame, passed(frame, going, time), {event.item: event.value})
    assert is_so(frame, left.state, "flap between OFF and MID and not flap at MID")
    stopped = after(frame, left, button="IN")
    assert is_so(frame, settled(frame, stopped).state, "flap still and not flap at OFF")
    assert settled(frame, after(frame, left, switch="OFF")).time == 4
    assert settled(frame, going).time == 8


def test_a_surface_without_time_is_there_at_once() -> None:
    chapter = SWITCH + (
        "surfaces:\n  tap:\n    points: [OFF, ON]\n    drives:\n      spring: {to: switch}\n"
    )
    frame, moment = start(chapter)
    assert is_so(frame, after(frame, moment, switch="ON").state, "tap at ON and tap still")


def test_a_reading_moves_at_its_rate_through_its_regions() -> None:
    chapter = SWITCH + (
        "readings:\n  charge:\n    unit: psi\n    range: 0 to 3000\n    starts at: 3000\n"
        "    moves:\n"
        "      - {to: 0, rate: 100, when: switch at ON}\n"
        "means:\n  low: {when: charge below 1000 psi}\n"
    )
    frame, moment = start(chapter)
    used = settled(frame, after(frame, moment, switch="ON"))
    assert used.time == 30
    assert dict(used.numbers)["charge"] == 0
    assert is_so(frame, used.state, "low")


def test_a_cancelled_indication_comes_back_only_after_its_cause_has_gone() -> None:
    chapter = SWITCH + (
        "indications:\n  CAUTION: {shown when: switch at ON, reset when: button at IN}\n"
    )
    frame, moment = start(chapter)
    gone = after(frame, after(frame, after(frame, moment, switch="ON"), button="IN"), button="OUT")
    assert is_so(frame, gone.state, "not CAUTION shown and switch at ON")
    back = after(frame, after(frame, gone, switch="OFF"), switch="ON")
    assert is_so(frame, back.state, "CAUTION shown")


@given(st.sets(st.tuples(st.integers(0, 1), st.integers(0, 2), st.integers(0, 2))), st.booleans())
def test_the_largest_boxes_are_those_of_plain_enumeration(
    bad: set[tuple[int, ...]], ordered: bool
) -> None:
    sizes = (2, 3, 3)
    every = set(product(*map(range, sizes)))
    orders: list[tuple[Value, ...]] = [tuple(range(size)) for size in sizes]
    free = [not ordered] * 3
    found = boxes_without(tuple(frozenset(o) for o in orders), set(bad), free, orders)
    good = frozenset(every - bad)
    plain = prime_cubes(Truth(sizes, good), (ordered,) * 3, lambda cube: cube <= good)
    assert set(found) == plain


@SLOW
@given(books(memories=True, circles="positive"), st.data())
def test_runs_in_time_stay_among_the_possible_states(drawn: BookText, data: st.DataObject) -> None:
    frame = frame_of(book_of(drawn.chapter, drawn.type_file))
    possible = set(possible_states(frame).states)
    moment = data.draw(st.sampled_from(list(starting_moments(frame).values())))
    for _ in range(4):
        events = moves(frame, moment.state)
        event = data.draw(st.sampled_from(events))
        moved = happens(frame, moment, {event.item: event.value})
        if not any(holds(frame, moved.state, s.condition) for s in frame.book.impossible):
            moment = settled(frame, moved)
        assert moment.state in possible


@SLOW
@given(st.booleans(), st.booleans(), st.data())
def test_every_drawn_book_can_be_read_and_decided(
    memories: bool, failures: bool, data: st.DataObject
) -> None:
    drawn = data.draw(books(memories, "positive", failures, most_states=60))
    frame = frame_of(book_of(drawn.chapter, drawn.type_file))
    found = possible_states(frame, most=60)
    assert all(values(frame, state) is not None for state in found.states)
    for question in drawn.questions:
        condition_of(frame.book, question)
