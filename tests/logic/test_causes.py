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
