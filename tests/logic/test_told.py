"""How answers are told: times that pass, gauges that show, and looks that tell most apart."""

import pytest

import tellback as tb
from tellback.book.english import time_text
from tellback.book.model import Book
from tellback.logic.words import run_time_text
from tests.small_books import HEAD, book_of

BOOK = (
    HEAD
    + """\
controls:
  lamp switch: {positions: [OFF, ON]}
  gauge switch: {positions: [OFF, ON], normally: ON}
readings:
  charge:
    unit: "%"
    range: 0 to 100
    starts at: 100
    moves: [{to: 0, rate: 1, when: lamp running}, {to: 0, rate: 2, when: cell not running}]
units:
  lamp: {kind: light, runs when: lamp switch at ON}
  cell: {kind: battery, fails: [stops]}
indications:
  LOW: {kind: light, shown when: charge below 50 %}
"""
)
GAUGE = "  dial: {kind: gauge, needs: [gauge switch at ON], shows: charge}\n"
"""The gauge of the charge."""


def test_a_run_tells_the_time_that_passes_after_the_last_step() -> None:
    answer = tb.can(book_of(BOOK), "charge below 50 %", given=["no failures"])
    assert str(answer.run) == "normal: lamp switch to ON; then 50 s pass"


def test_one_event_is_the_shortest_run_where_no_start_will_do() -> None:
    answer = tb.can(book_of(BOOK), "lamp running")
    assert answer.shortest
    assert str(answer.run) == "normal: lamp switch to ON"


def test_only_a_gauge_at_work_shows_a_reading() -> None:
    def shown(book: Book, *changes: str) -> set[str]:
        return {c.thing for c in tb.signs(book, ["cell: stops"], changes=changes).indications}

    assert shown(book_of(BOOK)) == {"LOW"}
    assert shown(book_of(BOOK + GAUGE)) == {"LOW", "charge"}
    assert shown(book_of(BOOK + GAUGE), "gauge switch: OFF") == {"LOW"}


def test_each_look_parts_what_those_before_leave_together() -> None:
    """Six failures, of which three light A, B and C alike and two light D."""
    pumps = [f"p{n}" for n in range(1, 7)]
    text = HEAD + "units:\n"
    text += "".join(f"  {p}: {{kind: pump, fails: [stops]}}\n" for p in pumps)
    text += "indications:\n  SUM: {kind: light, shown when: "
    text += f'"not (all of ({", ".join(f"{p} running" for p in pumps)}))"}}\n'
    alike = "p1 not running or p2 not running or p3 not running"
    text += "".join(f"  {name}: {{kind: light, shown when: {alike}}}\n" for name in "ABC")
    text += "  D: {kind: light, shown when: p4 not running or p6 not running}\n"
    answer = tb.fits(book_of(text), ["SUM shown"])
    assert [look.thing for look in answer.looks] == ["A", "D"], "B would tell nothing more"
    assert "To tell them apart look at A: shown with 1 to 3; not shown with 4 to 6." in str(answer)
    assert "Then look at D: not shown with 1 to 3 and 5; shown with 4 and 6." in str(answer)


def test_a_gauge_shows_whenever_its_needs_are_met() -> None:
    book = book_of(BOOK + GAUGE)
    assert tb.claim(book, "if gauge switch at ON then dial shown").verdict == "proved"
    assert tb.can(book, "dial shown and gauge switch at OFF").verdict == "impossible"


GUARD = (
    HEAD
    + """\
controls:
  beam switch: {positions: [OFF, ON]}
units:
  beam: {kind: light, runs when: beam switch at ON and guard clear}
latches:
  guard:
    set when: {when: beam running for 120 s, source: p.1}
    cleared when: beam switch at OFF
  idle guard: {set when: beam running and beam switch at OFF, cleared when: beam switch at OFF}
"""
)


def test_a_latch_that_ends_its_own_cause_is_not_said_to_have_no_way() -> None:
    """It is set after two minutes, and in no state that lasts is it about to be."""
    book = book_of(GUARD)
    assert tb.can(book, "guard set").verdict == "possible"
    assert str(tb.ways(book, "guard set")) == (
        "guard set — it is set in passing only, by what the change itself ends, in one way:\n"
        "  1. beam running for 2 min  [p.1]"
    )
    assert "its one way cannot come about" in str(tb.ways(book, "idle guard set"))


def test_a_claim_about_what_never_is_so_is_told_to_say_nothing() -> None:
    book = book_of("""
controls: {switch: {positions: [OFF, ON]}}
situations: {icing: {}}
units: {probe heater: {fails: [stops], runs when: switch at ON}}
means: {frozen: {when: icing and probe heater failed}}
""")
    claim = "if frozen then probe heater not running"
    assert "says nothing" not in str(tb.claim(book, claim))
    idle = str(tb.claim(book, claim, given=["no failures"]))
    assert "proved" in idle
    assert idle.endswith("But it says nothing: frozen is never so.")


LAMP_ON_A_BATTERY = """
controls:
  lamp switch: {positions: [OFF, ON]}
readings:
  charge: {unit: V, range: 0 to 20, starts at: 20, moves: [{to: 0, rate: 1, when: lamp running}]}
units:
  lamp: {needs: [charge at least 5 V], runs when: lamp switch at ON, fails: [stops]}
"""


def test_what_was_so_on_the_way_and_has_ended_is_told() -> None:
    """Questions begin where all has settled: by then the battery is empty."""
    book, on = book_of(LAMP_ON_A_BATTERY), ["lamp switch: ON"]
    passed = "It was so on the way there, but no longer after 15 s."
    head = "lamp running: not so to begin with (normal, with lamp switch: ON). "
    assert str(tb.losses(book, "lamp running", changes=on)) == head + passed
    assert str(tb.stops(book, "lamp running", changes=on)) == head + passed
    assert passed in str(tb.why(book, "lamp running", changes=on))
    assert tb.why(book, "lamp not running", changes=on).passed is None
    assert tb.why(book, "lamp running").passed is None


CHIME = """
controls:
  signs switch: {positions: [OFF, ON]}
latches:
  chime memory:
    set when any of:
      lit: signs switch at ON comes on
      dark: signs switch at ON goes out
    cleared when: chime memory set for 2 s
"""


def test_what_sets_a_memory_by_coming_on_and_by_going_out_is_not_always() -> None:
    told = (
        "chime memory set — it is set in any of 2 ways{}:\n  1. lit: signs switch at ON comes on\n"
        "  2. dark: signs switch at ON goes out"
    )
    assert str(tb.ways(book_of(CHIME), "chime memory set")) == told.format("")
    given = tb.ways(book_of(CHIME), "chime memory set", given=["signs switch at ON"])
    assert "always" not in str(given)


@pytest.mark.parametrize(
    ("seconds", "stated", "run"),
    [
        (0.5, "0.5 s", "0.5 s"),
        (1 / 3, "0.3333333333333333 s", "0.33 s"),
        (119.999, "119.999 s", "2 min"),
        (120, "2 min", "2 min"),
        (150.25, "2 min 30.25 s", "2 min 30 s"),
        (3600, "60 min", "60 min"),
        (27612, "7 h 40 min 12 s", "7 h 40 min 12 s"),
        (7205, "2 h 5 s", "2 h 5 s"),
    ],
)
def test_a_stated_time_is_told_exactly_and_that_of_a_run_rounded(
    seconds: float, stated: str, run: str
) -> None:
    assert (time_text(seconds), run_time_text(seconds)) == (stated, run)


@pytest.mark.parametrize(
    ("time", "told"), [("90 s", "90 s"), ("20 min", "20 min"), ("1200 s", "20 min")]
)
def test_a_long_time_is_told_in_minutes(time: str, told: str) -> None:
    line = f"""
situations:
  main bus lost: {{normally: no}}
units:
  battery line: {{runs when: not (main bus lost for {time})}}
"""
    (way,) = tb.ways(book_of(line), "battery line running").ways
    assert [way.said.text] == [f"not (main bus lost for {told})"]
    assert tb.ways(book_of(line), f"main bus lost for {told}").ways, "and can be asked so"
