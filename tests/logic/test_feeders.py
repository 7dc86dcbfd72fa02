"""Who feeds a supply: a change of feeder is told wherever changes are."""

import tellback as tb
from tests.small_books import book_of

BUSES = """
controls:
  tie switch: {positions: [AUTO, "OFF"]}
  <side> generator switch:
    for each: side in [left, right]
    positions: ["ON", "OFF"]
  battery switch: {positions: ["OFF", "ON"]}
units:
  <side> generator:
    for each: side in [left, right]
    fails: [stops]
    runs when: <side> generator switch at ON
  tie contactor:
    kind: contactor
    runs when: tie switch at AUTO and (left bus otherwise lost or right bus otherwise lost)
  battery: {}
supplies:
  left bus:
    kind: bus
    fails: [lost]
    fed by: [left generator, {from: right bus, through: tie contactor}]
  right bus: {kind: bus, fed by: [right generator, {from: left bus, through: tie contactor}]}
  essential bus:
    kind: bus
    fed by: [left bus, right bus, {from: battery, when: battery switch at ON}]
  lamp bus: {kind: bus, fed by: essential bus}
indications:
  TIED: {kind: light, shown when: left bus fed by right bus}
"""


def changes(answer: object) -> list[tuple[str, str, str]]:
    return [
        (c.thing, c.before, c.after)
        for c in answer.changes  # type: ignore[attr-defined]
        if c.kind == "feeder"
    ]


def test_a_supply_that_stays_live_and_is_fed_by_another_is_a_sign() -> None:
    answer = tb.signs(book_of(BUSES), ["left generator: stops"])
    assert changes(answer) == [("left bus", "left generator", "right bus")]
    told = "    at once: left bus fed by right bus (through left generator, tie contactor)"
    assert told in str(answer).splitlines()


def test_what_looks_at_the_feeder_comes_through_its_supply() -> None:
    answer = tb.signs(book_of(BUSES), ["left generator: stops"])
    assert "    at once: TIED shown (through left bus)" in str(answer).splitlines()


def test_only_the_feeder_that_changes_is_told() -> None:
    """The essential bus takes the right bus; the lamp bus has one source and stays with it."""
    answer = tb.signs(book_of(BUSES), ["left bus: lost"])
    assert changes(answer) == [("essential bus", "left bus", "right bus")]


def test_a_change_of_feeder_is_an_effect_with_its_condition() -> None:
    answer = tb.effects(book_of(BUSES), "tie switch: OFF", changes=["left generator switch: OFF"])
    told = {(e.change.thing, e.change.kind): e for e in answer.effects}
    fed = told["essential bus", "feeder"]
    assert fed.change.text == "essential bus fed by right bus"
    assert [item.text for item in fed.when or ()] == [
        "left generator switch at OFF",
        "right generator switch at ON",
    ]


def test_what_comes_live_says_what_feeds_it() -> None:
    off = ["tie switch: OFF", "left generator switch: OFF", "right generator switch: OFF"]
    answer = tb.effects(book_of(BUSES), "battery switch: ON", changes=off)
    assert [(e.change.text, e.change.fed_by) for e in answer.effects] == [
        ("essential bus live, fed by battery", "battery"),
        ("lamp bus live", ""),
    ]
    assert "at once: essential bus live, fed by battery — here because" in str(answer)


SCENARIO = """
scenarios:
  tied:
    from: normal
    steps:
      - at: 3 s
        set: {left generator: stops}
"""


def test_a_scenario_tells_it_and_still_says_through_what() -> None:
    book = book_of(BUSES, scenarios=SCENARIO)
    assert "left bus fed by right bus" in str(tb.run(book, "tied"))
    still = tb.still(book, "tied", "left bus fed by right bus")
    assert [(i.begins, i.ends) for i in still.intervals] == [(3, None)]
    other = tb.what_if(book, "tied", changes=["tie switch: OFF"])
    assert "- left bus fed by right bus" in str(other)


def test_a_step_that_changes_the_feeder_alone_is_not_idle() -> None:
    procedures = """
procedures:
  share:
    kind: flow
    done from: normal
    steps:
      - do: battery switch at ON
      - do: left generator switch at OFF
"""
    answer = tb.steps(book_of(BUSES, procedures=procedures), "share")
    assert [step.idle for step in answer.steps] == [True, False]
    assert "left bus fed by right bus" in str(answer)
