"""What ends X: places of one control, or parts of one reading, that do alike are told as one."""

import tellback as tb
from tests.small_books import HEAD, book_of

FLAPS = (
    HEAD
    + """\
controls:
  flap lever: {positions: [UP, 5, 10, 18, 30], normally: UP}
  slow lever: {positions: [UP, 5, 10], normally: UP}
  stop switch: {positions: [IN, OUT, PULLED]}
  arm switch: {positions: [OFF, ON]}
readings:
  airspeed: {unit: kt, range: 0 to 400, normally: 120}
surfaces:
  slats:
    points: [UP, "5", "10"]
    starts at: UP
    drives:
      motor: {to: slow lever, takes: 10 s}
units:
  fan: {kind: fan, fails: [stops, keeps running], runs when: flap lever at UP or flap lever at 30}
  heater:
    kind: heater
    runs when: airspeed at least 100 kt and airspeed at most 200 kt
  lamp: {kind: lamp, runs when: not (airspeed above 150 kt and arm switch at ON)}
  blower:
    kind: fan
    runs when: not (stop switch not at IN and (flap lever at 5 or flap lever at 10))
latches:
  wide:
    set when: (slats at 5 and slow lever at 5) or slats above 5
    cleared when: never
means:
  slower: {when: airspeed below 90 kt}
  much faster: {when: airspeed above 250 kt or airspeed above 300 kt}
"""
)


def test_positions_of_one_control_that_do_alike_are_one_line() -> None:
    answer = tb.stops(book_of(FLAPS), "fan running")
    assert [str(stop) for stop in answer.stops] == ["fan stops", "flap lever at 5, 10 or 18"]
    assert answer.stops[1].changes[0].states == ("5", "10", "18")


def test_all_positions_but_the_present_one_are_told_by_it() -> None:
    answer = tb.stops(book_of(FLAPS), "flap lever at UP")
    assert [str(stop) for stop in answer.stops] == ["flap lever not at UP"]


def test_positions_that_take_another_time_stand_apart() -> None:
    """The slats go from one point to the next in 5 s."""
    book = book_of(FLAPS)
    left_up = tb.stops(book, "slats at UP")
    assert [str(stop) for stop in left_up.stops] == ["slow lever not at UP, after 2.5 s"]
    short = tb.stops(book, "slats below 5", changes=["slow lever: UP"])
    assert [str(stop) for stop in short.stops] == ["slow lever not at UP, after 5 s"]
    at_five = tb.stops(book, "slats at least 5", changes=["slow lever: 10"])
    assert [str(stop) for stop in at_five.stops] == ["slow lever at UP, after 7.5 s"]
    short_of_ten = tb.stops(book, "slats below 10", changes=["slow lever: 5"])
    assert [str(stop) for stop in short_of_ten.stops] == ["slow lever at 10, after 5 s"]
    apart = tb.stops(book, "slats at 5", changes=["slow lever: 5"])
    assert [str(stop) for stop in apart.stops] == ["slow lever not at 5, after 2.5 s"]
    memory = tb.stops(book, "wide clear")
    assert [str(stop) for stop in memory.stops] == [
        "slow lever at 5, after 5 s",
        "slow lever at 10, after 7.5 s",
    ]


def test_parts_of_one_reading_are_one_range_where_they_lie_in_a_row() -> None:
    """The book cuts the airspeed at 90, 100, 150, 200, 250 and 300 kt."""
    answer = tb.stops(book_of(FLAPS), "heater running")
    assert [str(stop) for stop in answer.stops] == [
        "airspeed below 100 kt",
        "airspeed above 200 kt",
    ]


def test_several_changes_together_merge_in_each_of_them() -> None:
    answer = tb.stops(book_of(FLAPS), "blower running", order=2)
    assert [str(stop) for stop in answer.stops] == [
        "flap lever at 5 or 10 and stop switch not at IN"
    ]
    answer = tb.stops(book_of(FLAPS), "lamp running", order=2)
    assert [str(stop) for stop in answer.stops] == ["airspeed above 150 kt and arm switch at ON"]


def lines(book: str, question: str, **options: object) -> list[str]:
    return str(tb.stops(book_of(book), question, **options)).splitlines()


THERMOSTAT = """
controls: {switch: {positions: [OFF, ON], normally: ON}}
readings:
  temperature:
    unit: C
    range: 0 to 100
    starts at: 20
    moves: [{to: 100, rate: 1, when: heater running}, {to: 0, rate: 1}]
units:
  heater: {fails: [stops], runs when: switch at ON and temperature below 50 C and not door open}
situations: {door open: {normally: yes}}
indications:
  HEAT OFF: {shown when: not heater running}
"""


def test_what_never_comes_to_rest_is_not_passed_over() -> None:
    """With the door shut the heater goes on and off for ever: no end can be told of that."""
    answer = tb.stops(book_of(THERMOSTAT), "HEAT OFF shown")
    assert (answer.stops, answer.restless) == ((), 1)
    assert str(answer).splitlines() == [
        "HEAT OFF shown (normal): no single change is known to end it.",
        "  Left out, as the aeroplane does not come to rest after them: 1.",
    ]


LOCKED = """
controls:
  gear lever:
    positions: [DOWN, UP]
    cannot go to UP when: on ground
situations: {on ground: {normally: yes}}
units: {horn: {runs when: gear lever at DOWN}}
"""


def test_what_a_lock_forbids_is_named() -> None:
    assert lines(LOCKED, "horn running") == [
        "horn running (normal): no single change that can be made ends it.",
        "  It would end, too, if no lock forbade this: gear lever at UP.",
    ]


def test_nothing_left_out_is_said_plainly() -> None:
    book = "units: {horn: {}}\nsituations: {on ground: {}}"
    assert lines(book, "horn running") == ["horn running (normal): no single change ends it."]
    assert lines(book, "horn running", order=2) == [
        "horn running (normal): no 2 changes together end it."
    ]


TWINS = """
controls:
  <side> master:
    for each: side in [left, right]
    positions: [ON, IDLE, OFF]
units:
  <side> engine:
    for each: side in [left, right]
    fails: [stops]
    runs when: <side> master not at OFF
  pump: {fails: [stops], runs when: left engine running and right engine running}
  fan: {fails: [stops], runs when: left engine running or right engine running}
"""


def test_members_of_a_pair_are_one_line() -> None:
    assert lines(TWINS, "pump running")[1:] == [
        "  the crew:",
        "    left or right master at OFF",
        "  a failure:",
        "    left or right engine stops",
        "    pump stops",
        "  Sought up to 1 change at a time.",
    ]


def test_pairs_that_differ_in_one_member_are_one_line() -> None:
    assert lines(TWINS, "fan running", order=2)[1:] == [
        "  a failure:",
        "    fan stops",
        "  several together:",
        "    one of: left engine stops, left master at OFF",
        "      and one of: right engine stops, right master at OFF",
        "  Sought up to 2 changes at a time.",
    ]


def test_positions_that_take_another_time_are_one_line() -> None:
    told = lines(FLAPS, "wide clear")
    assert told[2] == "    slow lever at 5, after 5 s, or at 10, after 7.5 s"


def test_a_reading_and_its_failure_stand_apart() -> None:
    book = """
readings:
  pressure: {unit: psi, range: 0 to 100, normally: 50, fails: [reads 0]}
units:
  lamp: {runs when: pressure at least 20 psi}
"""
    assert lines(book, "lamp running")[1:5] == [
        "  from outside:",
        "    pressure below 20 psi",
        "  a failure:",
        "    pressure falsely reads 0 psi",
    ]


def test_a_reading_and_its_failure_stand_apart_in_a_choice_too() -> None:
    book = """
readings:
  pressure: {unit: psi, range: 0 to 100, normally: 50, fails: [reads 0]}
situations: {other: {normally: yes}}
units:
  lamp: {runs when: pressure at least 20 psi or other}
"""
    assert lines(book, "lamp running", order=2)[1:4] == [
        "  several together:",
        "    not other",
        "      and one of: pressure falsely reads 0 psi, pressure below 20 psi",
    ]
