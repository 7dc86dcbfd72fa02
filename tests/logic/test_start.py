"""A starting state: what it says of the controls stands while the latches take their places."""

import tellback as tb
from tests.small_books import DEFAULT, book_of

BRAKES = """
controls:
  selector:
    positions: [OFF, REJECT]
    drops to OFF when: air mode
situations:
  on ground: {normally: no}
latches:
  ground latch: {set when: on ground, cleared when: not on ground}
means:
  air mode: {when: ground latch clear}
"""
TYPE = DEFAULT.replace(
    "  normal: {}\n",
    "  take-off roll: {on ground: yes, selector: REJECT}\n  climb: {selector: REJECT}\n",
)


def so(state: str, start: str) -> bool:
    return tb.why(book_of(BRAKES, TYPE), state, start=start).so


def test_no_control_drops_while_a_latch_is_only_on_its_way() -> None:
    assert so("ground latch set and selector at REJECT", "take-off roll")


def test_a_control_drops_where_the_latches_say_so() -> None:
    assert so("selector at OFF", "climb")
