"""What an answer may look at."""

import tellback as tb
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


def test_what_comes_on_is_told_by_what_begins() -> None:
    """In a steady state nothing comes on; the answer still says what sets the memory."""
    found = tb.ways(book_of(memory_of(2)), "memory set")
    told = {frozenset(item.text for item in way.items) for way in found.ways}
    assert told == {frozenset({"not reset", "s0"}), frozenset({"not reset", "s1"})}
    assert "the moment this begins" in str(found)


def test_a_memory_that_watches_many_is_explained_too() -> None:
    assert tb.ways(book_of(memory_of(20)), "memory set").count == 20
