"""Losses: sets that differ in one failure alone are told together, and stay what they were."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

import tellback as tb
from tellback.logic.answers.losses import together
from tellback.logic.failures import Failure
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
circuit live (normal): lost by any of these, and nothing less:
  1 single failure:
    circuit itself fails
  4 sets of 2 failures:
    one of: left pump stops, left engine stops
      and one of: right pump stops, right engine stops"""
    )
