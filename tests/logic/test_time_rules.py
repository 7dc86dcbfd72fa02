"""The rules of time, whoever runs them: one aeroplane, many side by side, all choices at once."""

from __future__ import annotations

from itertools import islice, product

import pytest
from hypothesis import HealthCheck, given, settings

import tellback as tb
from tellback.book.model import Book
from tellback.logic.outcome import Outcome, free
from tellback.logic.picture import Picture, picture_of
from tellback.logic.row import changes_of
from tellback.logic.run import Moment, Unsettled
from tellback.logic.space import Space
from tests.small_books import book_of
from tests.strategies import BookText, books
from tests.twins import twins_of

quickly = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))

FLASHING = """
units:
  pump: {fails: [stops]}
latches:
  flasher: {set when: pump not running and flasher clear, cleared when: flasher set}
indications:
  PUMP ON: {shown when: pump running}
"""

CHAIN = "units:\n  pump: {fails: [stops]}\nlatches:\n" + "".join(
    f"  latch {i}: {{set when: {before}, cleared when: never}}\n"
    for i, before in enumerate(["pump not running", *(f"latch {i} set" for i in range(60))])
)

PRESSURE = """
controls:
  pump switch: {positions: [OFF, ON], normally: ON}
units:
  pump: {runs when: pump switch at ON, fails: [stops]}
readings:
  pressure:
    unit: psi
    range: 0 to 5000
    starts at: START
    moves:
      - {to: 3000, rate: 100, when: pump running}
      - {to: 0, rate: 20}
indications:
  LOW PRESS: {shown when: pressure below 2000 psi}
"""


def stopping(book: Book, question: str) -> list[set[frozenset[str]]]:
    """What takes it away, asked in four ways: the sets of failures."""
    whole, few = tb.losses(book, question), tb.losses(book, question, order=1)
    stops = tb.stops(book, question)
    return [
        {frozenset(str(one) for one in chosen) for chosen in whole.sets},
        {frozenset(str(one) for one in chosen) for chosen in few.sets},
        {frozenset(str(one) for one in stop.changes) for stop in stops.stops},
    ]


def test_what_flashes_elsewhere_does_not_hide_what_takes_a_light_away() -> None:
    book = book_of(FLASHING)
    assert stopping(book, "PUMP ON shown") == [{frozenset({"pump stops"})}] * 3


def test_what_is_lost_with_a_flasher_that_never_rests_is_left_out_alike() -> None:
    book = book_of(FLASHING)
    question = "flasher clear"
    assert stopping(book, question) == [set()] * 3
    assert tb.losses(book, question).restless == 1
    assert tb.losses(book, question, order=1).restless == 1
    assert tb.stops(book, question).restless == 1
    with pytest.raises(Unsettled):
        tb.signs(book, ["pump: stops"])


def test_a_long_chain_of_latches_is_no_round() -> None:
    book = book_of(CHAIN)
    assert stopping(book, "latch 60 clear") == [{frozenset({"pump stops"})}] * 3
    assert tb.can(book, "latch 60 set").verdict == "possible"
    assert not tb.losses(book, "latch 60 clear").restless


@pytest.mark.parametrize("start", ["2500", "3000", "0"])
def test_a_reading_starts_and_settles_at_its_goal(start: str) -> None:
    book = book_of(PRESSURE.replace("START", start))
    signs = tb.signs(book, ["pump: stops"])
    assert [(sign.seconds, sign.thing) for sign in signs.indications] == [(50.0, "LOW PRESS")]
    off = tb.signs(book, ["pump: stops"], changes=["pump switch: OFF"])
    assert not off.indications


def test_a_reading_keeps_its_pace_whatever_else_happens() -> None:
    """Three seconds of a third of a unit each make one unit, at whatever comes between."""
    book = book_of("""
controls:
  switch: {positions: [OFF, ON]}
readings:
  level:
    unit: kg
    range: 0 to 10
    starts at: 0
    moves:
      - {to: 10, rate: 0.1, when: switch at ON}
latches:
  one: {set when: switch at ON for 1 s, cleared when: never}
  two: {set when: switch at ON for 1.7 s, cleared when: never}
indications:
  FULL: {shown when: level at least 3 kg}
""")
    effects = tb.effects(book, "switch: ON").effects
    assert [e.change.seconds for e in effects if e.change.thing == "FULL"] == [30.0]


@quickly
@given(books(memories=True, circles="any", most_states=300))
def test_all_ways_of_running_come_to_the_same_end(text: BookText) -> None:
    picture = twins_of(text).picture
    for start in picture.starts.values():
        names = [v.name for v in picture.system.variables.values() if v.is_input][:5]
        sizes = {name: len(picture.system.variables[name].values) for name in names}
        choices = [
            dict(zip(names, values, strict=True))
            for values in islice(product(*map(range, sizes.values())), 200)
        ]
        ends = [alone(picture, start, choice) for choice in choices]
        assert ends == side_by_side(picture, start, choices)
        assert ends == all_at_once(picture, start, sizes, choices)


End = dict[str, int] | None
"""The settled state; None if there is none."""


def alone(picture: Picture, start: Moment, choice: dict[str, int]) -> End:
    runner = picture.aeroplane
    try:
        return dict(runner.settle(runner.put(start, choice)).state)
    except Unsettled:
        return None


def side_by_side(picture: Picture, start: Moment, choices: list[dict[str, int]]) -> list[End]:
    abreast = picture.abreast
    row = abreast.settle(abreast.move(abreast.row([start] * len(choices)), changes_of(choices)))
    return [
        None if row.lost >> run & 1 else dict(abreast.moment(row, run).state)
        for run in range(len(choices))
    ]


def all_at_once(
    picture: Picture, start: Moment, sizes: dict[str, int], choices: list[dict[str, int]]
) -> list[End]:
    space = Space(list(sizes.items()))
    chosen = {name: free(space, name, size) for name, size in sizes.items()}
    outcome = Outcome(picture.graph, space, start, chosen, picture.system.variables)
    outcome.settle()
    return [
        None
        if space.holds(outcome.restless, choice)
        else {
            name: next(v for v, where in enumerate(of) if space.holds(where, choice))
            for name, of in outcome.state.items()
        }
        for choice in choices
    ]


def test_a_reading_under_way_is_where_its_rate_has_brought_it() -> None:
    live = tb.Live(book_of(PRESSURE.replace("START", "3000")))
    live.move("pump switch", "OFF")
    live.advance(10)
    assert live.standing.numbers["pressure"] == 2800
    live.settle()
    live.move("pump switch", "ON")
    live.advance(10)
    assert live.standing.numbers["pressure"] == 1000
    live.move("pump switch", "OFF")
    live.advance(5)
    assert live.standing.numbers["pressure"] == 900
    live.move("pump switch", "ON")
    live.advance(30)
    assert live.standing.numbers["pressure"] == 3000


def test_a_surface_that_stands_between_two_places_goes_on_beside_one_at_its_place() -> None:
    """Side by side as alone, whether both go on or one of them stays where it stopped."""
    picture = picture_of(
        book_of("""
controls: {lever: {positions: [UP, DOWN]}, power: {positions: [ON, OFF]}}
surfaces:
  gear: {points: [UP, DOWN], drives: {motor: {to: lever, when: power at ON, takes: 8 s}}}
""")
    )
    runner, abreast = picture.aeroplane, picture.abreast
    begun = next(iter(picture.starts.values()))
    still = runner.move(begun, {"power": 1})
    under_way = runner.later(runner.move(begun, {"lever": 1}), 1)[-1]
    stopped = runner.settle(runner.move(under_way, {"power": 1}))
    ends = [runner.settle(runner.move(m, {"lever": 1, "power": 0})) for m in (still, stopped)]
    assert [end.time - m.time for end, m in zip(ends, (still, stopped), strict=True)] == [8, 7]
    on = {"lever": 1, "power": 0}
    for changes, expected in (([on, on], ends), ([on, {}], [ends[0], stopped])):
        row = abreast.move(abreast.row([still, stopped]), changes_of(changes))
        row = abreast.settle(row)
        assert [abreast.moment(row, run).time for run in (0, 1)] == [end.time for end in expected]
