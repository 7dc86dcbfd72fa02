"""What a line pilot would miss in the S94: lights in time, signs that stay, engines shut down."""

from functools import cache

import pytest

from tellback.book.model import Book
from tellback.book.reader import read
from tellback.logic.answers.effects import effects
from tellback.logic.answers.signs import signs
from tests.test_s94 import WHOLE


@cache
def the_book() -> Book:
    """A book of its own, as what one question has found shapes the answer to the next."""
    book, found = read(WHOLE)
    assert book is not None, found
    return book


@pytest.mark.parametrize(
    ("move", "start", "seconds", "thing", "after"),
    [
        ("gear lever: UP", "approach", 0, "GEAR DOORS OUT", "shown"),
        ("gear lever: UP", "approach", 3, "nose down light", "not shown"),
        ("gear lever: UP", "approach", 3, "gear horn", "shown"),
        ("alternate gear handle: PULLED", "cruise", 0, "GEAR MOVING", "shown"),
        ("parking brake: SET", "taxi", 0, "PARKING BRAKE ON", "shown"),
        ("left thrust lever: IDLE", "landing roll", 0, "LEFT REVERSER OUT", "not shown"),
        ("flap lever: 8", "cruise", 0, "SLATS OUT", "shown"),
        ("flap lever: UP", "taxi", 0, "flaps set for take-off", "no"),
    ],
)
def test_a_light_changes_as_the_part_begins_to_move(
    move: str, start: str, seconds: float, thing: str, after: str
) -> None:
    answer = effects(the_book(), move, start=start)
    firsts = [e.change for e in reversed(answer.effects) if e.change.thing == thing]
    assert (firsts[-1].seconds, firsts[-1].after) == (seconds, after)


@pytest.mark.parametrize(
    ("failure", "shown"),
    [
        ("left air data computer: stops", "caution chime"),
        ("left inertial unit: stops", "left attitude flag"),
    ],
)
def test_a_sign_stays_until_something_is_done(failure: str, shown: str) -> None:
    """The chime fell silent, with it a second caution; the attitude went without a sign."""
    answer = signs(the_book(), [failure], start="cruise")
    assert [c.after for c in answer.changes if c.thing == shown] == ["shown"]


def test_the_engines_are_shut_down_standing() -> None:
    (flow,) = (p for p in the_book().procedures if p.name == "shutdown flow")
    speeds = {s.name: dict(s.settings).get("wheel speed") for s in the_book().starts}
    assert [speeds[start] for start in flow.done_from] == ["0"]
