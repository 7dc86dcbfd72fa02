"""Who feeds a supply: a change of feeder is told wherever changes are."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

import tellback as tb
from tellback.book.model import Supply
from tellback.logic.answers.feeds import NoSupply
from tests.oracle.values import fed_from, values
from tests.scenes import drawn_scene
from tests.small_books import book_of
from tests.strategies import BookText
from tests.test_answers_against_oracle import drawn, quickly
from tests.twins import twins_of

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
    assert "at once: essential bus live, fed by battery — given" in str(answer)


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


def feeds(supply: str, *changes: str) -> list[str]:
    return str(tb.feeds(book_of(BUSES), supply, changes=changes)).splitlines()


def test_who_feeds_it_through_what_and_who_stands_by() -> None:
    answer = tb.feeds(book_of(BUSES), "Essential bus")
    assert answer.feeder == "left bus"
    assert [(link.supply, link.source) for link in answer.path] == [
        ("essential bus", "left bus"),
        ("left bus", "left generator"),
    ]
    assert [(s.place, s.source, s.standing) for s in answer.sources] == [
        (1, "left bus", "feeds"),
        (2, "right bus", "delivers"),
        (3, "battery", "not ready"),
    ]
    assert str(answer).splitlines() == [
        "essential bus (normal): live, fed by left bus.",
        "  left bus is fed by left generator.",
        "  The others, in the order in which they come:",
        "    2. right bus: delivers as well, but stands behind",
        "    3. battery when battery switch at ON: does not deliver, as battery switch not at ON; "
        "missing: battery switch at ON",
    ]


def test_what_takes_over_by_itself_stands_by() -> None:
    """The tie closes as soon as a bus is otherwise lost; with its switch off it does not."""
    assert feeds("left bus")[2:] == [
        "    2. right bus through tie contactor: stands by, and takes over at once if those "
        "before it go"
    ]
    (shut,) = feeds("left bus", "tie switch: OFF")[2:]
    assert shut.startswith(
        "    2. right bus through tie contactor: does not deliver, as tie contactor open; missing: "
        "tie switch at AUTO"
    )


def test_what_stands_by_may_hang_on_the_same() -> None:
    told = feeds("essential bus", "left generator: stops")
    assert told[:3] == [
        "essential bus (normal, with left generator: stops): live, fed by left bus.",
        "  left bus is fed by right bus through tie contactor.",
        "  right bus is fed by right generator.",
    ]
    assert (
        "    2. right bus: delivers as well, but stands behind; it hangs on right generator"
        in (told[4])
    )


def test_nothing_feeds_what_is_lost() -> None:
    assert feeds("left bus", "left bus: lost")[:2] == [
        "left bus (normal, with left bus: lost): lost, as it has failed itself.",
        "  Its sources, in the order in which they come:",
    ]
    dead = feeds("left bus", "left generator: stops", "tie switch: OFF")
    assert "lost, as nothing feeds it." in dead[0]
    assert dead[2] == "    1. left generator: does not deliver, as left generator stops"


def test_a_source_that_feeds_one_tells_which() -> None:
    book = """
situations: {need: {}}
units:
  motor: {feeds one: [first line, second line]}
supplies:
  first line: {kind: circuit, fed by: {from: motor, when: need}}
  second line: {kind: circuit, fed by: [motor]}
"""
    answer = tb.feeds(book_of(book), "second line", changes=["need: yes"])
    assert [source.elsewhere for source in answer.sources] == ["first line"]
    assert "does not deliver, as it feeds first line; missing: not need" in str(answer)


def test_only_a_supply_is_fed() -> None:
    with pytest.raises(NoSupply) as unit:
        tb.feeds(book_of(BUSES), "left generator")
    assert unit.value.mend == "It may feed left bus: ask of that."
    with pytest.raises(NoSupply) as misspelt:
        tb.feeds(book_of(BUSES), "left buss")
    assert misspelt.value.mend == "Did you mean left bus?"


def test_who_feeds_it_within_a_scenario() -> None:
    book = book_of(BUSES, scenarios=SCENARIO)
    before = tb.feeds_within(book, "tied", "left bus", at="2 s")
    after = tb.feeds_within(book, "tied", "left bus")
    assert (before.feeder, after.feeder) == ("left generator", "right bus")
    assert after.start == "tied, at 3 s"


@quickly
@given(drawn, st.data())
def test_in_drawn_books_the_feeder_is_the_first_that_delivers(
    text: BookText, data: st.DataObject
) -> None:
    twins = twins_of(text)
    where = drawn_scene(data, twins)
    fed = fed_from(twins.frame, where.moment.state)
    true = values(twins.frame, where.moment.state)
    for supply in twins.frame.of(Supply):
        answer = tb.feeds(twins.book, supply.name, start=where.start, changes=where.changes)
        assert answer.feeder == fed.get(supply.name, "")
        deliver = [s.place for s in answer.sources if s.standing in ("feeds", "delivers")]
        rows = range(len(supply.feeds))
        assert deliver == [i + 1 for i in rows if ("delivers", supply.name, i, 1) in true]
        assert [s.place for s in answer.sources if s.standing == "feeds"] == (
            deliver[:1] if supply.name in fed else []
        )
        back = [supply.name, *(link.source for link in answer.path)]
        assert all(fed[one] == other for one, other in pairwise(back))
        assert back[-1] not in fed


def test_what_feeds_itself_ends_where_it_began() -> None:
    """The check finds that; an answer that goes round for ever would be worse."""
    book = """
units: {generator: {}}
supplies:
  one bus: {kind: bus, fed by: [other bus, generator]}
  other bus: {kind: bus, fed by: [one bus]}
"""
    answer = tb.feeds(book_of(book), "one bus")
    assert [(link.supply, link.source) for link in answer.path] == [
        ("one bus", "other bus"),
        ("other bus", "one bus"),
    ]
    assert "feeders-in-a-circle" in {found.code for found in tb.check(book_of(book))}
