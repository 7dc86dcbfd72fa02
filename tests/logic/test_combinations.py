"""What is known of the combinations that can be, as far as an answer depends on it."""

from functools import partial

import pytest

from tellback.logic.combinations import Combinations
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
    proved = found.are_shortest(shortest, target, view.space.true)
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
