"""What the search for possible states must not miss, and must not give up by habit."""

import tellback as tb
from tellback.logic.picture import picture_of, understand
from tests.small_books import book_of

FLAPS = """
controls:
  lever: {positions: [UP, MID, DOWN]}
surfaces:
  flaps:
    points: [UP, MID, DOWN]
    starts at: UP
    drives:
      to mid: {to: MID, when: lever at MID, takes: 4 s}
      to down: {to: DOWN, when: lever at DOWN, takes: 4 s}
      to up: {to: UP, when: lever at UP, takes: 4 s}
impossible:
  - lever at MID
"""


def test_a_surface_sets_out_for_a_far_point_though_never_sent_to_the_near_one() -> None:
    found = tb.can(book_of(FLAPS), "flaps at DOWN")
    assert found.verdict == "possible"
    assert tb.claim(book_of(FLAPS), "never flaps at DOWN").verdict == "false"


LOCK = """
controls:
  lever: {positions: [UP, DOWN]}
  other: {positions: [UP, DOWN]}
latches:
  first: {set when: lever at DOWN, cleared when: other at DOWN}
  second: {set when: first set and other at UP, cleared when: lever at UP}
"""


def test_a_short_search_that_decides_nothing_does_not_cut_a_longer_one_short() -> None:
    picture = picture_of(book_of(LOCK))
    goal = picture.symbols.space.literal("second", (1,))
    possible = picture.possible(["second"])
    assert possible.meets(goal, 0) is None
    for patience in range(10, 100, 5):
        assert possible.meets(goal, patience) is not False
    assert possible.meets(goal) is True


def test_what_a_lock_hangs_on_can_move_back_after_the_locked_control_moved() -> None:
    book = book_of("""
controls:
  first switch:
    positions: [OFF, ON]
    cannot go to ON when: not second switch at ON
  second switch: {positions: [OFF, ON]}
latches: {memory: {set when: first switch at ON, cleared when: first switch at ON}}
""")
    asked = understand(book, "first switch at ON and second switch at OFF and memory clear")
    picture = picture_of(book, "", asked)
    goal = picture.formula(asked)
    possible = picture.possible(picture.system.variables, [goal])
    assert possible.finish()
    assert possible.met(picture.symbols.of(goal)) != picture.symbols.space.false
