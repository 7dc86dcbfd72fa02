"""The budget of processor time: what spends it, when it fires, and what is told then."""

from __future__ import annotations

import time
from collections.abc import Iterator

import pytest

from tellback.logic.limits import TooLarge, TooLong, look, within
from tellback.logic.minimal import minimal_sets
from tellback.logic.picture import picture_of
from tellback.logic.possible import Possible
from tellback.logic.rooms import Rooms
from tellback.logic.space import Node, Space
from tests.small_books import book_of


def spend(seconds: float) -> None:
    """Keep the processor busy for so long."""
    end = time.thread_time() + seconds
    while time.thread_time() < end:
        pass


def test_waiting_for_the_processor_spends_nothing() -> None:
    with within(0.1, "waiting"):
        time.sleep(0.3)
        look()


def test_working_spends_it() -> None:
    with within(0.05, "counting sheep", "Count fewer."):
        look()
        spend(0.1)
        with pytest.raises(TooLong) as refused:
            look()
    assert str(refused.value) == (
        "counting sheep takes more than 0.05 s of processor time\n  Count fewer."
    )


def test_of_budgets_within_one_another_the_one_that_ends_first_counts() -> None:
    with within(0.05, "the whole"), within(60, "a part"):
        spend(0.1)
        with pytest.raises(TooLong, match="the whole"):
            look()
    with within(60, "the whole"):
        with within(0.05, "a part"):
            spend(0.1)
            with pytest.raises(TooLong, match="a part"):
                look()
        look()


def test_nothing_is_spent_where_nothing_was_allowed() -> None:
    with within(0, "nothing"), pytest.raises(TooLong):
        look()
    look()


def crossed_pairs(space: Space) -> Iterator[Node]:
    """Pairs of events that stand so far apart in the order that each doubles the diagram."""
    names = space.names
    half = len(names) // 2
    for one, other in zip(names[:half], names[half:], strict=True):
        yield space.literal(one, (1,)) & space.literal(other, (1,))


def test_it_fires_while_a_diagram_is_being_built() -> None:
    space = Space([(f"x{index}", 2) for index in range(60)])
    begun = time.thread_time()
    with within(0.2, "building"), pytest.raises(TooLong, match="building"):
        space.any_of(crossed_pairs(space))
    assert time.thread_time() - begun < 5


def test_it_fires_while_the_minimal_sets_are_sought() -> None:
    space = Space([(f"x{index}", 2) for index in range(28)])
    top = space.any_of(crossed_pairs(space))
    with pytest.raises(TooLong, match=r"finding the minimal sets takes more than 0\.05 s"):
        minimal_sets(space, top, dict.fromkeys(space.names, 0), seconds=0.05)


def test_a_search_that_gives_up_what_is_too_large_does_not_go_on_when_the_time_is_spent(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def possible() -> Possible:
        picture = picture_of(book_of("units:\n  pump: {fails: [stops]}\n"), "")
        return picture.possible(picture.system.variables)

    def fails(error: Exception) -> None:
        def close(*_: object) -> None:
            raise error

        monkeypatch.setattr(Rooms, "close", close)

    fails(TooLarge("too much"))
    assert not possible().finish()
    fails(TooLong("too long"))
    with pytest.raises(TooLong):
        possible().finish()
