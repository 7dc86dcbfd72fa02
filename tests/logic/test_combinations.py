"""What is known of the combinations that can be, as far as an answer depends on it."""

from functools import partial

import pytest

import tellback as tb
from tellback.logic.combinations import Asked, Combinations
from tellback.logic.items import View
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.primes import Cube
from tests.small_books import book_of

BOOK = """
controls:
  switch: {positions: [OFF, ON], normally: OFF}
  lever: {positions: [IN, OUT], normally: IN}
latches:
  first: {set when: switch at ON, cleared when: never}
  second: {set when: first set and lever at OUT, cleared when: never}
  third: {set when: second set and switch at OFF, cleared when: never}
units:
  pump: {kind: pump, runs when: third set and lever at IN}
  fan: {kind: fan, runs when: third set and first clear}
"""
"""Memories that come one after the other: no starting state has any of them."""


def asked(question: str) -> tuple[Combinations, list[Cube], bool]:
    """The combinations behind the ways, the shortest reasons, and whether they are proved so."""
    book = book_of(BOOK)
    condition = understand(book, question, "")
    picture: Picture = picture_of(book, "", condition)
    view = View(picture, to_root=False)
    target = view.of(picture.formula(condition))
    found = view.combinations([target])
    shortest = partial(view.cubes, target)
    proved = found.are_shortest(Asked(shortest, target, view.space.true))
    return found, list(shortest(found.widest)), proved


def test_reasons_are_shortest_where_runs_show_each_and_that_less_does_not_do() -> None:
    _, reasons, proved = asked("pump running")
    assert proved
    assert [sorted(reason) for reason in reasons] == [["lever", "third"]]


def test_what_never_comes_about_is_excluded() -> None:
    _, reasons, proved = asked("fan running")
    assert proved
    assert reasons == []


def test_nothing_is_proved_without_runs_or_a_search(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Combinations, "_brought_about", lambda self, doubt: None)
    _, _, proved = asked("pump running")
    assert not proved


WATCHED = [f"{place} door open" for place in "abcdefghi"]
A_DELAY_THAT_SETS = f"""
controls: {{switch: {{positions: [OFF, ON]}}}}
situations: {{hot: {{}}, reset: {{}}, {", ".join(f"{one}: {{}}" for one in WATCHED)}}}
units: {{fan: {{runs when: switch at ON and trip clear and not (hot for 5 s) and memory clear}}}}
latches:
  trip: {{set when: hot for 5 s, cleared when: switch at OFF}}
  memory:
    set when: "any of ({", ".join(f"{one} comes on" for one in WATCHED)})"
    cleared when: reset
"""
"""Too many things come on and go out for a search: nothing is excluded by one."""


def test_a_delay_that_has_elapsed_has_set_what_it_sets() -> None:
    """The fan was said to need that it is not hot for 5 s besides, and that was not decided."""
    answer = tb.shortest(book_of(A_DELAY_THAT_SETS), "fan running")
    assert str(answer) == (
        "fan running by one combination:\n  1. switch at ON, trip clear and memory clear  [stated]"
    )


def test_a_delay_that_sets_what_is_being_cleared_may_have_elapsed() -> None:
    off = A_DELAY_THAT_SETS.replace("switch at ON and trip", "trip")
    told = [str(way.items[-1]) for way in tb.shortest(book_of(off), "fan running").combinations]
    assert "not (hot for 5 s)" in told
