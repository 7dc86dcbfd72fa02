"""What has to do with what, for runs in which one thing is moved after another."""

from random import Random

from tellback.logic.company import company_of
from tellback.logic.picture import picture_of
from tests.small_books import book_of

BOOK = """
controls:
  left switch: {positions: [OFF, ON]}
  left lever: {positions: [UP, DOWN]}
  right switch: {positions: [OFF, ON]}
  right lever: {positions: [UP, DOWN]}
means:
  left way: {when: left lever at DOWN}
  round about: {when: round again}
  round again: {when: round about}
latches:
  left latch: {set when: left switch at ON and left way, cleared when: left switch at OFF}
  right latch: {set when: right switch at ON and right lever at UP, cleared when: round about}
"""


def company(name: str) -> list[str]:
    draw = company_of(picture_of(book_of(BOOK)).system, Random(0))
    return [draw(name) for _ in range(40)]


def test_inputs_that_decide_something_together_are_in_company() -> None:
    assert set(company("left lever")) == set(company("left switch")) == {
        "left lever", "left switch"
    }  # fmt: skip
    assert set(company("right lever")) == {"right lever", "right switch"}


def test_the_company_is_the_same_every_time() -> None:
    assert company("left lever") == company("left lever")
