"""Losses: sets that differ in one failure alone are told together, and stay what they were."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

import tellback as tb
from tellback.logic.answers.one_of_each import together
from tellback.logic.failures import Failure, Failures
from tellback.logic.formula import Formula
from tellback.logic.minimal import FailureSet
from tests.small_books import book_of

failure_sets = st.sets(st.frozensets(st.sampled_from("abcdef"), min_size=1, max_size=3))


@given(failure_sets)
def test_told_together_they_are_the_same_sets(drawn: set[frozenset[str]]) -> None:
    sets = [[Failure(x, "stops", f"{x} stops") for x in sorted(chosen)] for chosen in drawn]
    told = [
        frozenset(f.thing for f in one) for groups in together(sets) for one in product(*groups)
    ]
    assert len(told) == len(drawn)
    assert set(told) == drawn


def test_two_groups_of_which_any_two_lose_it_are_told_as_such() -> None:
    book = book_of("""
units:
  left engine: {fails: [stops]}
  left pump: {needs: [left engine running], fails: [stops]}
  right engine: {fails: [stops]}
  right pump: {needs: [right engine running], fails: [stops]}
supplies:
  circuit: {kind: circuit, fed by: [left pump, right pump], fails: [lost]}
""")
    assert (
        str(tb.losses(book, "circuit live"))
        == """\
circuit live (normal): lost, once all has settled, by any of these, and nothing less:
  1 single failure:
    circuit itself fails
  4 sets of 2 failures:
    one of: left pump stops, left engine stops
      and one of: right pump stops, right engine stops"""
    )


CYCLING = """
readings:
  tank pressure:
    unit: psi
    range: 0 to 50
    starts at: 35
    moves:
      - {to: 35, rate: 1, when: air valve open}
      - {to: 50, rate: 1, when: compressor running}
      - {to: 0, rate: 1}
latches:
  call: {set when: tank pressure below 28 psi, cleared when: tank pressure above 40 psi}
units:
  air valve: {kind: valve, fails: [stuck closed]}
  compressor: {runs when: call set, fails: [stops]}
indications:
  LOW: {shown when: tank pressure below 15 psi}
"""


def test_a_failure_after_which_nothing_comes_to_rest_is_left_out() -> None:
    """With the valve shut the compressor comes on and goes off for ever; without it all is lost."""
    told = """\
    air valve sticks closed and compressor stops
  Some take it away only in time, the slowest of those run after 20 s.
  Left out, as the aeroplane does not come to rest after them: 1."""
    answer = tb.losses(book_of(CYCLING), "tank pressure at least 15 psi")
    assert str(answer).endswith(told)
    assert (answer.counts, answer.order) == (((2, 1),), None)


def test_what_would_explain_what_is_seen_leaves_it_out_too() -> None:
    answer = tb.fits(book_of(CYCLING), ["LOW shown"])
    assert [[item.text for item in one.causes] for one in answer.explained] == [
        ["air valve sticks closed", "compressor stops"]
    ]
    assert answer.restless == 1
    one = tb.fits(book_of(CYCLING), ["LOW shown"], order=1)
    assert str(one).splitlines() == [
        "LOW shown (normal): nothing explains it.",
        "  Sought with one thing at a time: failures, facts and readings from outside, controls.",
        "  Left out, as the aeroplane does not come to rest after them: 1.",
    ]


BATTERY = """
controls:
  spare switch: {positions: [OFF, ON], normally: OFF}
readings:
  charge:
    unit: "%"
    range: 0 to 100
    starts at: 100
    moves: [{to: 0, rate: 0.1, when: charger not running}]
units:
  charger: {fails: [stops]}
  battery: {kind: battery, runs when: charge above 10 %}
  spare battery: {kind: battery, runs when: spare switch at ON}
supplies:
  bus: {kind: bus, fed by: [battery, spare battery]}
"""


def test_what_is_lost_only_in_time_is_told_so() -> None:
    assert (
        str(tb.losses(book_of(BATTERY), "bus live"))
        == """\
bus live (normal): lost, once all has settled, by any of these, and nothing less:
  1 single failure:
    charger stops
  Some take it away only in time, the slowest of those run after 15 min."""
    )


def test_what_no_failure_takes_away_is_told_of_failures_alone() -> None:
    """Not that nothing does: a switch would."""
    book = book_of(BATTERY)
    held = tb.losses(book, "bus live", changes=["spare switch: ON"])
    assert str(held) == "bus live (normal, with spare switch: ON): no failures take it away."
    one = tb.losses(book, "bus live", changes=["spare switch: ON"], order=1)
    assert str(one).endswith(": at most 1 failure cannot take it away.")
    free = tb.losses(book, "bus live", free=True)
    assert str(free) == (
        "bus live (normal): whatever fails, some setting of the controls makes it so once all has "
        "settled."
    )


def test_what_is_not_so_to_begin_with_is_not_searched() -> None:
    answer = tb.losses(book_of(BATTERY), "spare battery running")
    assert str(answer) == "spare battery running: not so to begin with (normal)."
    assert (answer.sets, answer.counts) == ((), ())


def test_a_set_whose_run_in_time_ends_otherwise_is_told_as_not_decided(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    book = book_of("""
units:
  pump: {kind: pump, fails: [stops]}
  spare pump: {kind: pump, fails: [stops]}
supplies:
  line: {kind: circuit, fed by: [pump, spare pump], fails: [lost]}
""")
    agreed = tb.losses(book, "line live")
    assert (agreed.counts, agreed.disputed) == (((1, 1), (2, 1)), ())
    assert "Not decided" not in str(agreed)

    def still_so_after_two(found: Failures, formula: Formula, chosen: FailureSet) -> float | None:
        return None if len(chosen) == 2 else 0.0

    monkeypatch.setattr("tellback.logic.answers.losses._lost_after", still_so_after_two)
    disputed = tb.losses(book, "line live")
    assert [[f.thing for f in chosen] for chosen in disputed.sets] == [["line"]]
    assert [{f.thing for f in chosen} for chosen in disputed.disputed] == [{"pump", "spare pump"}]
    assert disputed.counts == agreed.counts
    told = "  Not decided for 1 sets: their run in time ends otherwise."
    assert told in str(disputed).splitlines()
