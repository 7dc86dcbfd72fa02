"""What an answer may look at."""

import pytest

import tellback as tb
from tellback.logic.picture import picture_of
from tests.small_books import book_of


def memory_of(count: int) -> str:
    """A memory set by any of so many lights coming on."""
    lamps = "".join(f"  s{i}: {{}}\n" for i in range(count))
    lights = "".join(f"  L{i}: {{shown when: s{i}}}\n" for i in range(count))
    names = ", ".join(f"L{i}" for i in range(count))
    return (
        f"situations:\n  reset: {{}}\n{lamps}indications:\n{lights}"
        f"groups:\n  lights: [{names}]\n"
        "latches:\n  memory: {set when: any light shown comes on, cleared when: reset}\n"
    )


@pytest.mark.parametrize("count", [2, 20])
def test_what_comes_on_is_told_as_it_is_stated(count: int) -> None:
    """In a steady state nothing comes on, and no state tells what was so before."""
    found = tb.ways(book_of(memory_of(count)), "memory set")
    assert str(found) == (
        "memory set — it is set in one way:\n  1. any light shown comes on\n  Not while reset."
    )


def test_what_comes_on_while_another_thing_is_so_is_not_joined_with_it() -> None:
    """That b comes to ON while a is at ON sets nothing."""
    book = """
controls:
  a: {positions: [OFF, ON]}
  b: {positions: [OFF, ON]}
latches:
  m:
    set when any of: {x: a at ON comes on, y: (a at OFF and b at ON) comes on}
    cleared when: m set for 2 s
"""
    told = [way.text for way in tb.ways(book_of(book), "m set").ways]
    assert told == ["a at ON comes on", "(a at OFF and b at ON) comes on"]


def test_where_too_many_things_are_watched_nothing_is_searched() -> None:
    """What comes on of many at once made diagrams without bound: an answer took minutes."""
    picture = picture_of(book_of(memory_of(20)))
    possible = picture.possible(["memory"])
    assert possible.world.opaque
    room = possible.rooms.entered[possible.rooms.starts[0]]
    before = room.reached
    possible.widen(room, possible.rooms.inputs)
    assert room.reached == before
    assert possible.seek(possible.space.literal("memory", (1,)), 10_000) is None
