"""The ways as the book states them: counted, named, in its order and in its positions."""

import tellback as tb
from tests.small_books import book_of

PUMP = """
controls:
  pump switch: {positions: [OFF, AUTO, ON], normally: AUTO}
  flap lever: {positions: [UP, DOWN]}
situations: {airborne: {}, turning: {normally: yes}}
readings: {wheel speed: {unit: kt, range: 0 to 200}}
units:
  engine pump: {kind: pump, runs when: turning, fails: [stops]}
  electric pump:
    kind: pump
    needs: [AC bus]
    runs when any of:
      selected: {when: pump switch at ON, source: p.1}
      engine pump lost:
        when: >-
          pump switch at AUTO and (airborne or wheel speed above 10 kt) and circuit otherwise lost
        source: p.2
      flaps out: {when: pump switch at AUTO and airborne and flap lever at DOWN, source: p.3}
    fails: [stops, keeps running]
  generator: {kind: generator}
supplies:
  AC bus: {kind: bus, fed by: [generator], fails: [lost]}
  circuit: {kind: circuit, fed by: [engine pump, electric pump]}
"""


def lines(chapter: str, question: str, **options: object) -> list[str]:
    return str(tb.ways(book_of(chapter), question, **options)).splitlines()  # type: ignore[arg-type]


def test_ways_are_counted_named_and_worded_as_the_book_states_them() -> None:
    """They were counted as shortest combinations, so that `at AUTO` became `not at OFF`."""
    assert lines(PUMP, "electric pump running") == [
        "electric pump running in any of 3 ways:",
        "  1. selected: pump switch at ON  [p.1]",
        "  2. engine pump lost: pump switch at AUTO, either airborne or wheel speed above 10 kt, "
        "and circuit otherwise lost  [p.2]",
        "  3. flaps out: pump switch at AUTO, airborne and flap lever at DOWN  [p.3]",
        "  What else brings it about:",
        "  4. electric pump keeps running  [by failure]",
        "  It needs as well: AC bus.",
        "  Taken as not failed: electric pump.",
    ]


def test_the_shortest_combinations_are_there_when_asked_for() -> None:
    book = book_of(PUMP)
    answer = tb.ways(book, "electric pump running", shortest=True)
    assert answer.shortest == tb.shortest(book, "electric pump running")
    assert tb.ways(book, "electric pump running").shortest is None
    assert "pump switch not at OFF" in str(answer.shortest)


def test_a_way_that_cannot_come_about_is_told_as_that() -> None:
    never = PUMP.replace(
        "airborne and flap lever", "airborne and turning and not turning and flap lever"
    )
    (told,) = [line for line in lines(never, "electric pump running") if "flaps out" in line]
    assert told.endswith("[p.3; cannot come about]")


def test_what_is_given_shows_which_ways_can_come_about_then() -> None:
    told = lines(PUMP, "electric pump running", given=["pump switch at OFF"])
    assert told[0] == (
        "electric pump running: none of its 3 ways can come about (given pump switch at OFF):"
    )
    assert told[4:6] == [
        "  What else brings it about:",
        "  4. electric pump keeps running  [by failure]",
    ]


COVERED = """
controls: {a: {positions: [OFF, ON]}, b: {positions: [OFF, ON]}, c: {positions: [OFF, ON]}}
means:
  called:
    when any of:
      first: a at ON
      second: a at ON and b at ON
      third: b at ON and c at ON
      fourth: a at OFF and b at ON and c at ON
      fifth: not a at OFF
"""


def test_a_way_that_another_one_covers_is_told_as_that() -> None:
    first, second, third, fourth, fifth = tb.ways(book_of(COVERED), "called").ways
    assert (first.covered_by, second.covered_by, third.covered_by) == ((), (1,), (1, 4))
    assert (fourth.covered_by, fifth.covered_by) == ((3,), (1,))
    text = str(tb.ways(book_of(COVERED), "called"))
    assert "  3. third: b at ON and c at ON  [covered by 1 and 4 together]" in text.splitlines()


SENSED = """
controls: {selector: {positions: [BOTH, A, B]}}
situations: {heat at A: {}, heat at B: {}}
units:
  loop A: {runs when: heat at A}
  loop B: {runs when: heat at B}
  bell: {runs when any of: {engine: fire sensed, hand: selector at A}}
means:
  fire sensed:
    when any of:
      both loops: {when: loop A running and loop B running, source: p.1}
      A selected: {when: loop A running and selector at A, source: p.2}
  called: {when: {when: selector at B and heat at B, source: p.5}}
indications:
  FIRE: {shown when: {when: fire sensed, source: p.3}}
  TEST: {shown when: {when: called, source: p.6}}
"""


def test_ways_named_within_a_means_keep_their_names() -> None:
    """They became `stated`."""
    assert lines(SENSED, "FIRE shown") == [
        "FIRE shown in any of 2 ways, those of fire sensed  [p.3]:",
        "  1. both loops: loop A running and loop B running  [p.1]",
        "  2. A selected: loop A running and selector at A  [p.2]",
    ]
    assert lines(SENSED, "TEST shown")[1] == "  1. called: selector at B and heat at B  [p.6; p.5]"
    assert lines(SENSED, "bell running")[1] == "  1. engine: fire sensed (both loops or A selected)"


SUPPLY = """
controls: {switch: {positions: [OFF, ON]}, tie switch: {positions: [OPEN, SHUT]}}
situations: {left turning: {}, right turning: {}}
units:
  left generator: {runs when: left turning}
  right generator: {runs when: right turning}
  tie: {kind: contactor, runs when: tie switch at SHUT}
supplies:
  right bus: {fed by: [right generator]}
  left bus:
    fed by:
      - {from: left generator, source: p.1}
      - {from: right bus, through: tie, source: p.2}
    shed when: switch at OFF
"""


def test_a_supply_is_told_from_where_it_comes() -> None:
    assert lines(SUPPLY, "left bus live") == [
        "left bus live in any of 2 ways:",
        "  1. from left generator  [p.1]",
        "  2. from right bus through tie  [p.2]",
        "  It needs as well: switch not at OFF.",
    ]
    assert lines(SUPPLY, "left bus fed by right bus") == [
        "left bus fed by right bus in one way:",
        "  1. from right bus through tie  [p.2]",
        "  It needs as well: switch not at OFF.",
        "  Not while fed from left generator.",
    ]


FLAPS = """
controls:
  lever: {positions: [UP, DOWN]}
  brake: {positions: [FREE, SET]}
situations: {fast: {}, pressed: {normally: yes}}
surfaces:
  flap:
    points: [UP, DOWN]
    drives:
      relief: {to: UP, when: fast, takes: 4 s}
      motor: {to: lever, when: brake at FREE and lever not at UP, takes: 8 s}
      spring: {to: UP, when: not pressed, takes: 8 s}
latches:
  memory: {set when any of: {lever: lever at DOWN, brake: brake at SET}, cleared when: fast}
"""


def test_a_position_is_told_by_the_drives_that_go_there_and_what_comes_before_them() -> None:
    assert lines(FLAPS, "flap at DOWN") == [
        "flap at DOWN — it goes there in one way:",
        "  1. motor: lever at DOWN and brake at FREE",
        "  Not while one of these drives it elsewhere: relief.",
    ]
    assert lines(FLAPS, "flap at UP")[1:3] == ["  1. relief: fast", "  2. spring: not pressed"]


def test_a_memory_is_told_by_what_sets_it_and_what_keeps_it_from_that() -> None:
    assert lines(FLAPS, "memory set") == [
        "memory set — it is set in any of 2 ways:",
        "  1. lever: lever at DOWN",
        "  2. brake: brake at SET",
        "  Not while fast.",
    ]


def test_what_the_book_does_not_name_is_told_in_few_lines() -> None:
    """What several combinations share is said once, with the choice beside it."""
    assert lines(PUMP, "electric pump not running") == [
        "electric pump not running in any of 4 ways:",
        "  1. pump switch at OFF  [follows]",
        "  2. AC bus lost  [follows]",
        "  3. pump switch not at ON, and either (flap lever at UP and turning) or (not airborne, "
        "and either wheel speed at most 10 kt or turning)  [follows]",
        "  4. electric pump stops  [by failure]",
        "  Taken as not failed: in 1 and 3 electric pump; in 3 engine pump.",
    ]
    assert lines(COVERED, "not called") == [
        "not called in one way:",
        "  1. a at OFF, and either b or c at OFF  [follows]",
    ]


def test_no_bus_is_live_that_nothing_feeds_at_that_level() -> None:
    """A supply without a row for it was `always` so."""
    weak = """
units: {pump: {}}
supplies: {line: {levels: [lost, reduced, normal], fed by: [{from: pump, delivers: reduced}]}}
"""
    assert lines(weak, "line at normal") == ["line at normal: there is no way to this."]


def test_what_clears_a_memory_by_coming_on_does_not_keep_it_from_being_set() -> None:
    """What is set while the switch is at ON was said to have no way to it."""
    memory = """
controls: {switch: {positions: [OFF, ON]}, button: {positions: [OUT, IN]}}
latches: {held: {set when: switch at ON, cleared when: button at IN comes on}}
"""
    assert lines(memory, "held set") == [
        "held set — it is set in one way:",
        "  1. switch at ON",
    ]


def test_what_is_told_of_a_memory_says_what_sets_it() -> None:
    light = """
controls: {switch: {positions: [OFF, ON]}}
situations: {hot: {}}
latches: {trip: {set when: hot for 3 s, cleared when: switch at OFF}}
indications: {TRIPPED: {shown when: trip set}}
"""
    assert lines(light, "TRIPPED shown")[1] == "  1. trip set (by hot for 3 s)"


def test_no_drive_goes_to_a_place_that_is_only_passed() -> None:
    door = """
controls: {lever: {positions: [UP, DOWN]}}
surfaces:
  door:
    points: [UP, MID, DOWN]
    drives: {up: {to: UP, when: lever at UP}, down: {to: DOWN, when: lever at DOWN, takes: 4 s}}
"""
    assert lines(door, "door at MID") == ["door at MID: nothing sends it there."]


def test_what_is_lost_is_told_by_the_statements_that_feed_it() -> None:
    """It went back to every switch behind them: 15 lines where a person writes one."""
    assert lines(PUMP, "circuit lost") == [
        "circuit lost in one way:",
        "  1. engine pump not running and electric pump not running  [follows]",
    ]
    assert lines(SENSED, "FIRE not shown") == [
        "FIRE not shown in one way:",
        "  1. not fire sensed  [follows]",
    ]
