"""What is due at the same time has its order, however its time adds up: delays come first."""

import pytest

import tellback as tb
from tests.small_books import book_of

TRAVEL = """
controls: {{lever: {{positions: [IN, OUT]}}}}
units: {{motor: {{fails: [stops]}}}}
surfaces:
  flap:
    points: [{points}]
    drives:
      out: {{to: P{last}, when: lever at OUT or not motor running, takes: {takes} s}}
      in: {{to: P0, takes: {takes} s}}
latches: {{trip: {{set when: flap moving for {takes} s, cleared when: flap at P0}}}}
"""
TIMES = [(points, takes) for points in range(2, 10) for takes in ("7", "8", "12", "25", "0.7")]


@pytest.mark.parametrize(("points", "takes"), TIMES)
def test_a_delay_as_long_as_a_travel_is_over_before_it(points: int, takes: str) -> None:
    names = ", ".join(f"P{i}" for i in range(points))
    book = book_of(TRAVEL.format(points=names, last=points - 1, takes=takes))
    last = [(e.change.thing, e.change.seconds) for e in tb.effects(book, "lever: OUT").effects][-2:]
    assert last == [("trip", float(takes)), ("flap", float(takes))]
    assert len(tb.losses(book, "not trip set", order=1).sets) == 1


PASSED = " or ".join(f"quantity above {kg} kg" for kg in range(1, 9))
FILLING = f"""
controls: {{valve switch: {{positions: [SHUT, OPEN]}}}}
readings:
  quantity: {{unit: kg, range: 0 to 100, starts at: 0,
    moves: [{{to: 100, rate: RATE, when: valve switch at OPEN}}]}}
means: {{passed: {{when: {PASSED}}}}}
latches: {{late: {{set when: (quantity below 9 kg and valve switch at OPEN) for WAIT s,
  cleared when: valve switch at SHUT}}}}
"""


@pytest.mark.parametrize(
    ("rate", "wait"), [("0.1", "90"), ("0.3", "30"), ("0.6", "15"), ("9", "1")]
)
def test_a_delay_just_as_long_as_a_reading_takes_is_over_before_it_comes(
    rate: str, wait: str
) -> None:
    book = book_of(FILLING.replace("RATE", rate).replace("WAIT", wait))
    changes = [e.change for e in tb.effects(book, "valve switch: OPEN").effects]
    assert ("late", float(wait)) in [(change.thing, change.seconds) for change in changes]
