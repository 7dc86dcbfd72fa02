"""What a failure shows: through what it comes, causes first, on which gauges, in whose words."""

import tellback as tb
from tellback.logic.facts import Facts
from tellback.logic.picture import picture_of
from tests.small_books import book_of

BOOK = """
units:
  generator: {kind: generator, fails: [stops]}
  contactor: {kind: contactor, runs when: bus otherwise lost}
  valve: {kind: valve, needs: [bus]}
  computer: {kind: computer, needs: [bus], runs when: never}
supplies:
  bus: {kind: bus, fed by: [generator], fails: [lost]}
readings:
  voltage:
    unit: V
    range: 0 to 130
    follows: [{reads: 115, when: bus live}, {reads: 0}]
  seen by nobody:
    unit: V
    range: 0 to 130
    follows: [{reads: 115, when: bus live}, {reads: 0}]
indications:
  bus voltmeter: {kind: gauge, shows: voltage}
  dead voltmeter: {kind: gauge, needs: [bus], shows: voltage}
  COMPUTER OUT: {kind: light, shown when: computer not available}
"""


def test_what_the_crew_is_shown_and_through_what() -> None:
    answer = tb.signs(book_of(BOOK), ["generator: stops"])
    assert (
        str(answer)
        == """\
generator stops (normal):
  The crew is shown:
    at once: voltage 0 V (through bus)
    at once: dead voltmeter not shown (through bus)
    at once: COMPUTER OUT shown (through bus)
  Besides:
    at once: generator not running
    at once: bus lost (through generator)
    at once: seen by nobody 0 V (through bus)
    at once: contactor and valve closed (through bus)"""
    )


def test_a_reading_is_not_shown_on_a_gauge_without_power() -> None:
    book = book_of(BOOK.replace("  bus voltmeter: {kind: gauge, shows: voltage}\n", ""))
    answer = tb.signs(book, ["generator: stops"])
    assert [c.thing for c in answer.indications] == ["dead voltmeter", "COMPUTER OUT"]


def test_what_comes_on_is_told_through_what_came_on() -> None:
    book = book_of(
        BOOK + "latches: {memory: {set when: COMPUTER OUT shown comes on, cleared when: never}}\n"
    )
    answer = tb.signs(book, ["generator: stops"])
    (memory,) = [c for c in answer.changes if c.thing == "memory"]
    assert memory.through == ("COMPUTER OUT",)


def test_what_a_thing_hangs_on_directly_comes_in_the_order_of_the_book() -> None:
    book = book_of(
        """
situations:
  zulu: {normally: no}
  alpha: {normally: no}
  mike: {normally: no}
means:
  first: {when: zulu}
indications:
  WARNING: {kind: light, shown when: zulu or alpha or mike or first}
"""
    )
    assert Facts(picture_of(book)).depends("WARNING") == (
        "WARNING", "zulu", "alpha", "mike", "first"
    )  # fmt: skip


LAMPS = """
controls:
  signs switch: {positions: [OFF, ON], normally: ON}
units:
  generator: {kind: generator, fails: [stops]}
  battery: {kind: battery, needs: [charge at least 5 V]}
  lamp: {kind: light, needs: [line]}
supplies:
  bus: {kind: bus, fed by: [generator]}
  line:
    kind: bus
    fed by: [{from: bus, when: signs switch at ON}, {from: battery, when: called}]
means:
  called: {when: bus lost}
readings:
  charge: {unit: V, range: 0 to 10, starts at: 10, moves: [{to: 0, rate: 1, when: called}]}
latches:
  change: {set when: lamp running comes on, cleared when: change set for 2 s}
"""


def test_what_happens_later_is_not_told_through_what_was_there_before() -> None:
    answer = tb.signs(book_of(LAMPS), ["generator: stops"])
    assert str(answer).splitlines()[-3:] == [
        "    after 5 s: battery not running (through charge)",
        "    after 5 s: line lost (through battery)",
        "    after 5 s: lamp not running (through line)",
    ]


def test_a_loss_at_the_same_moment_is_no_cause_of_what_comes_alive() -> None:
    answer = tb.signs(book_of(LAMPS), ["generator: stops"], changes=["signs switch: OFF"])
    assert "    at once: line live, fed by battery (through called)" in str(answer).splitlines()


def test_a_memory_that_clears_itself_comes_through_nothing_else() -> None:
    answer = tb.effects(book_of(LAMPS), "signs switch: ON", changes=["signs switch: OFF"])
    told = {str(e.change) for e in answer.effects}
    assert {"at once: change set (through lamp)", "after 2 s: change clear"} <= told
