"""What the search for possible states must not miss, and must not give up by habit."""

import pytest

import tellback as tb
from tellback.logic import layers
from tellback.logic.path import Event, Paths
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


PACK = """
readings:
  tank quantity: {unit: kg, range: 0 to 3000, normally: 2000}
units:
  pack: {kind: pack, fails: [stops]}
indications:
  TANK LOW: {level: caution, shown when: tank quantity below 900 kg for 30 s}
  PACK OFF: {level: caution, shown when: pack not running}
"""


@pytest.mark.parametrize(
    ("question", "given", "verdict"),
    [
        ("TANK LOW shown", "no failures", "possible"),
        ("TANK LOW shown", "at most 1 failure", "possible"),
        ("TANK LOW shown and PACK OFF shown", "no failures", "impossible"),
        ("TANK LOW shown and PACK OFF shown", "at most 1 failure", "possible"),
        ("TANK LOW shown and PACK OFF shown", "at most 999 failures", "possible"),
    ],
)
def test_failures_that_bear_on_nothing_that_changes_are_counted_where_asked_about(
    question: str, given: str, verdict: str
) -> None:
    book = book_of(PACK)
    assert tb.can(book, question, given=[given]).verdict == verdict
    proved = {"possible": "false", "impossible": "proved"}[verdict]
    assert tb.claim(book, f"never ({question})", given=[given]).verdict == proved


def test_what_has_failed_is_counted_at_every_moment_of_a_run() -> None:
    book = book_of("""
units:
  first pump: {kind: pump, fails: [stops]}
  second pump: {kind: pump, fails: [stops]}
latches:
  memory: {set when: first pump failed, cleared when: second pump failed}
""")
    asked = "memory set and first pump not failed and second pump failed"
    assert tb.can(book, "memory set", given=["at most 1 failure"]).verdict == "possible"
    assert tb.can(book, asked, given=["at most 1 failure"]).verdict == "impossible"
    both = "first pump failed and second pump failed"
    assert tb.can(book, both, given=["at most 1 failure"]).verdict == "impossible"
    assert tb.can(book, both, given=["at most 2 failures"]).verdict == "possible"


def test_the_key_of_a_lock_is_turned_first_even_where_runs_cannot_be_traced_back(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(layers, "MOST_NODES", 0)
    book = book_of("""
controls:
  lever: {positions: [DOWN, UP], cannot go to UP when: on ground and release at NORMAL}
  release: {positions: [NORMAL, PRESSED]}
situations:
  on ground: {normally: yes}
""")
    found = tb.can(book, "lever at UP and on ground", given=["no failures"])
    assert found.run is not None
    assert [text for _, text in found.run.steps] == ["release to PRESSED", "lever to UP"]
    broken = tb.claim(book, "never (lever at UP and on ground)", given=["no failures"])
    assert broken.verdict == "false"


def test_no_step_of_a_run_can_be_left_out() -> None:
    book = book_of(PACK)
    picture = picture_of(book)
    paths = Paths(picture, None, "")
    low = [Event("failure of pack", 1, False), Event("tank quantity", 0, False)]
    goal = picture.formula(understand(book, "TANK LOW shown"))
    run = paths.leanest("normal", low, goal)
    assert run is not None
    assert [text for _, text in run.steps] == ["tank quantity below 900 kg"]


BEYOND = """
controls:
  key: {positions: [OFF, ON]}
  reset: {positions: [OFF, ON]}
  first: {positions: [OFF, ON]}
  second: {positions: [OFF, ON]}
  third: {positions: [OFF, ON]}
latches:
  forbidden: {set when: key at ON, cleared when: reset at ON}
  beyond: {set when: forbidden set for 1 s, cleared when: reset at ON}
  done:
    set when: beyond set or (first at ON and second at ON and third at ON)
    cleared when: reset at ON
impossible:
  - forbidden set
"""


def test_what_lies_beyond_the_impossible_cannot_be() -> None:
    assert tb.can(book_of(BEYOND), "beyond set").verdict == "impossible"
    assert tb.claim(book_of(BEYOND), "never beyond set").verdict == "proved"


def test_no_run_through_the_impossible_counts_as_a_shorter_one() -> None:
    found = tb.can(book_of(BEYOND), "done set")
    assert found.run is not None
    assert (found.run.events, found.shortest) == (3, True)


def test_nothing_impossible_counts_as_possible_while_the_search_goes_on() -> None:
    picture = picture_of(book_of(BEYOND))
    possible = picture.possible(["done"])
    impossible = picture.symbols.of(picture.system.impossible)
    done = picture.symbols.space.literal("done", (1,))
    for patience in range(10, 200, 5):
        possible.meets(done, patience)
        assert possible.reached & impossible == picture.symbols.space.false
