"""What comes first in time decides: losses of all choices at once, against single runs in time."""

from itertools import product

import pytest

import tellback
from tellback.logic import under_way
from tellback.logic.outcome import Outcome, free
from tellback.logic.picture import picture_of, understand
from tellback.logic.space import Space
from tests.small_books import book_of

RACE = """
controls:
  damper switch:
    positions: [ON, OFF]
    normally: ON
    drops to OFF when: circuit lost for 1 s
units:
  pump: {kind: pump, fails: [stops]}
  spare pump: {kind: pump, runs when: circuit otherwise lost for SPARE, fails: [stops]}
  damper: {kind: computer, needs: [circuit], runs when: damper switch at ON}
supplies:
  circuit: {kind: circuit, fed by: [pump, spare pump]}
"""

DRAIN = """
readings:
  quantity:
    unit: kg
    range: 0 to 100
    starts at: 100
    moves:
      - {to: 0, rate: RATE, when: pump failed and not isolated set}
units:
  pump: {kind: pump, fails: [stops]}
  sensor: {kind: computer, fails: [stops]}
latches:
  isolated: {set when: (pump failed and sensor running) for 4 s, cleared when: never}
  starved: {set when: quantity below 50 kg, cleared when: never}
"""


@pytest.mark.parametrize(
    ("spare", "expected"),
    [
        ("0.5 s", {frozenset({"pump", "spare pump"})}),
        # The switch has dropped when the spare pump comes, and nobody puts it on again.
        ("3 s", {frozenset({"pump"})}),
    ],
)
def test_what_drops_before_the_spare_comes_is_lost(
    spare: str, expected: set[frozenset[str]]
) -> None:
    book = book_of(RACE.replace("SPARE", spare))
    found = tellback.losses(book, "damper running")
    assert {frozenset(f.thing for f in chosen) for chosen in found.sets} == expected
    assert not found.disputed
    assert tellback.losses(book, "circuit live").counts == ((2, 1),)


@pytest.mark.parametrize(
    ("rate", "expected"),
    [
        # At 10 kg a second half is gone after 5 s, a second after the valve has closed.
        ("10", {frozenset({"pump", "sensor"})}),
        ("20", {frozenset({"pump"})}),
    ],
)
def test_a_reading_races_with_a_delay(rate: str, expected: set[frozenset[str]]) -> None:
    found = tellback.losses(book_of(DRAIN.replace("RATE", rate)), "starved clear")
    assert {frozenset(f.thing for f in chosen) for chosen in found.sets} == expected
    assert not found.disputed


PUMP, SLOW = "failure of pump", "failure of slow pump"
GEAR = """
controls:
  gear lever: {positions: [UP, DOWN], normally: UP}
units:
  pump: {kind: pump, fails: [stops]}
  slow pump: {kind: pump, runs when: circuit otherwise lost for 2 s, fails: [stops]}
supplies:
  circuit: {kind: circuit, fed by: [pump, slow pump]}
surfaces:
  gear:
    points: [UP, DOWN]
    starts at: UP
    drives:
      usual: {to: gear lever, needs: [circuit], takes: 6 s}
latches:
  late: {set when: (gear lever at DOWN and not gear at DOWN) for 7 s, cleared when: never}
"""


def test_all_choices_at_once_end_as_each_does_alone() -> None:
    book = book_of(GEAR)
    picture = picture_of(book)
    late = picture.formula(understand(book, "late set"))
    start = next(iter(picture.starts.values()))
    sizes = {"gear lever": 2, PUMP: 2, SLOW: 2}
    space = Space(list(sizes.items()))
    chosen = {name: free(space, name, size) for name, size in sizes.items()}
    together = Outcome(picture.graph, space, start, chosen, picture.system.variables)
    together.settle()
    node = together.values.of(late)
    ends = {}
    for choice in product((0, 1), repeat=3):
        changes = dict(zip(("gear lever", PUMP, SLOW), choice, strict=True))
        after = picture.aeroplane.settle(picture.aeroplane.move(start, changes))
        ends[choice] = picture.aeroplane.holds(late, after.state)
        assert space.holds(node, changes) == ends[choice], changes
    # Without its pump the gear begins 2 s later and takes 8 s; without both it never arrives.
    assert {choice for choice, is_late in ends.items() if is_late} == {(1, 1, 0), (1, 1, 1)}


def test_what_waits_while_others_come_does_come_to_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two that come at the same time, in other choices, are no round of a third that waits."""
    monkeypatch.setattr(under_way, "MARKED_AFTER", 0)
    book = book_of("""
units:
  first pump: {fails: [stops]}
  second pump: {fails: [stops]}
  third pump: {fails: [stops]}
latches:
  first latch: {set when: first pump not running for 2 s, cleared when: never}
  second latch: {set when: second pump not running for 2 s, cleared when: never}
  third latch: {set when: third pump not running for 5 s, cleared when: never}
means:
  never: {when: first pump running and first pump not running}
""")
    answer = tellback.losses(book, "first latch clear or second latch clear or third latch clear")
    assert (answer.counts, answer.restless) == (((3, 1),), 0)


INTERRUPTED = """
units:
  source: {kind: pump}
  pump: {kind: pump, fails: [stops]}
  main valve: {kind: valve, runs when: not (pump failed for 3 s)}
  spare valve: {kind: valve, runs when: memory set}
supplies:
  line:
    kind: circuit
    fed by:
      - {from: source, through: main valve}
      - {from: source, through: spare valve}
latches:
  memory: {set when: line lost, cleared when: never}
  late:
    set when: pump failed for 6 s and not ((pump failed and line live) for 5 s)
    cleared when: never
"""


def test_a_delay_broken_for_an_instant_begins_anew_among_all_choices_too() -> None:
    """At 3 s the line is lost between two steps: 5 s of it live are over at 8 s, not at 5 s."""
    picture = picture_of(book_of(INTERRUPTED))
    late = picture.formula(understand(picture.book, "late set"))
    start = next(iter(picture.starts.values()))
    space = Space([(PUMP, 2)])
    choices = {PUMP: free(space, PUMP, 2)}
    outcome = Outcome(picture.graph, space, start, choices, picture.system.variables)
    outcome.settle()
    node = outcome.values.of(late)
    after = picture.aeroplane.settle(picture.aeroplane.move(start, {PUMP: 1}))
    assert picture.aeroplane.holds(late, after.state)
    assert [space.holds(node, {PUMP: value}) for value in (0, 1)] == [False, True]
