"""Why something is not so: what is missing is told once, as widely as it can be."""

import pytest

import tellback as tb
from tests.small_books import book_of

BOOK = """
controls:
  lever: {positions: [UP, MID, DOWN]}
units:
  pump:
    runs when any of:
      by hand: lever at DOWN
      either: lever at MID or lever at DOWN
"""


def test_what_is_missing_is_told_once() -> None:
    (lack,) = tb.why(book_of(BOOK), "pump running").missing
    assert [item.text for item in lack] == ["lever not at UP"]


def test_a_run_begins_at_time_0_however_long_the_start_took_to_settle() -> None:
    rising = """
readings:
  pressure:
    unit: psi
    range: 0 to 3500
    starts at: 0
    moves: [{to: 3000, rate: 100}]
means:
  pressed: {when: pressure above 1000 psi}
"""
    verdict = tb.claim(book_of(BOOK + rising), "never pump running")
    assert verdict.run is not None
    assert [time for time, _ in verdict.run.steps] == [0.0]


def test_the_chain_behind_a_bus_may_pass_one_that_it_feeds() -> None:
    book = book_of("""
units:
  left generator: {kind: generator, fails: [stops]}
  right generator: {kind: generator, fails: [stops]}
supplies:
  left bus: {kind: bus, fed by: [left generator, right bus]}
  right bus: {kind: bus, fed by: [right generator, left bus]}
""")
    stopped = ["left generator: stops", "right generator: stops"]
    answer = tb.why(book, "left bus live", changes=stopped)
    assert not answer.so
    assert {link.text for link in answer.chain} >= {"left generator stops", "right generator stops"}


MEMORY = """
controls:
  lever: {positions: [UP, DOWN]}
  reset: {positions: [OFF, ON]}
units:
  pump: {runs when: lever at DOWN, fails: [stops]}
latches:
  low:
    set when: pump not running for 3 s
    cleared when: reset at ON
    why: [{computed: a pump that has stopped stays suspect, source: D 29}]
"""


@pytest.mark.parametrize(
    ("question", "changes", "told"),
    [
        (
            "low set",
            [],
            "low set (normal), because reset at OFF and pump not running for 3 s.\n"
            "  computed: a pump that has stopped stays suspect (D 29)\n"
            "  The chain behind it:\n"
            "    pump not running for 3 s\n"
            "      pump not running\n"
            "  As in the starting state: reset at OFF and lever at UP.",
        ),
        (
            "low clear",
            ["reset: ON", "lever: DOWN"],
            "low clear (normal, with reset: ON, lever: DOWN), because reset at ON: "
            "it was cleared at once, and has not been set since.\n"
            "  computed: a pump that has stopped stays suspect (D 29)",
        ),
        (
            "low set",
            ["reset: ON"],
            "low clear (normal, with reset: ON), because reset at ON: "
            "it was cleared at once, and has not been set since.\n"
            "  What is missing: reset at OFF.",
        ),
        (
            "low set",
            ["lever: DOWN"],
            "low set (normal, with lever: DOWN), because reset at OFF: "
            "it was set in the starting state.\n"
            "  computed: a pump that has stopped stays suspect (D 29)\n"
            "  As in the starting state: reset at OFF.",
        ),
    ],
)
def test_a_memory_is_explained_by_its_history(question: str, changes: list[str], told: str) -> None:
    """It never explains itself."""
    assert str(tb.why(book_of(MEMORY), question, changes=changes)) == told


def test_a_switch_held_by_a_magnet_lacks_what_the_magnet_wants() -> None:
    """The switch cannot be at ON without a plug, so the switch alone is not what is missing."""
    book = book_of("""
controls:
  switch:
    positions: [OFF, ON]
    cannot go to ON when: not plugged in
    drops to OFF when: not plugged in
situations: {plugged in: {}}
units:
  contactor: {kind: contactor, runs when: switch at ON and plugged in}
""")
    lacks = tb.why(book, "contactor running").missing
    assert [[item.text for item in lack] for lack in lacks] == [["plugged in", "switch at ON"]]


TWO_GENERATORS = """
controls:
  <side> switch: {for each: 'side in [left, right]', positions: [OFF, ON], normally: ON}
units:
  <side> generator: {for each: 'side in [left, right]', runs when: <side> switch at ON}
supplies:
  right bus: {kind: bus, fed by: [right generator, left generator]}
  right line: {kind: bus, fed by: [right bus]}
"""


def test_of_two_sources_that_could_feed_the_one_that_does_is_the_reason() -> None:
    book = book_of(TWO_GENERATORS)
    right = tb.why(book, "right bus live")
    assert "fed by right generator, because right generator running." in str(right)
    assert "right switch at ON" in [link.text for link in tb.why(book, "right line live").chain]
    left = tb.why(book, "right bus live", changes=["right switch: OFF"])
    assert "fed by left generator, because left generator running." in str(left)
    assert [link.text for link in left.chain] == ["left generator running", "left switch at ON"]


VALVE = """
controls:
  handle: {positions: [IN, PULLED]}
readings:
  speed: {unit: kt, range: 0 to 400, normally: 200}
  pressure:
    unit: psi
    range: 0 to 3000
    starts at: 3000
    moves: [{to: 0, rate: 100, when: valve at SHUT}]
situations: {icing: {}}
supplies:
  bus: {kind: bus, fed by: [{from: battery}], fails: [lost]}
units:
  battery: {kind: battery}
surfaces:
  valve:
    points: [SHUT, OPEN]
    starts at: OPEN
    drives:
      fire:
        to: SHUT
        when: handle at PULLED
        needs: [bus]
        takes: 2 s
        why: [{regulation: fuel must be shut off, source: R 1}]
      open: {to: OPEN, when: handle at IN, needs: [bus], takes: 2 s}
    fails: [stuck]
"""


@pytest.mark.parametrize(
    ("question", "changes", "told"),
    [
        (
            "valve at OPEN",
            "",
            "valve at OPEN (normal), by “open”, because handle at IN and bus live.",
        ),
        (
            "valve at SHUT",
            "",
            "valve not at SHUT (normal), by “open”, because handle at IN and bus live.\n"
            "  What is missing: handle at PULLED.",
        ),
        (
            "valve at OPEN",
            "handle: PULLED",
            "valve not at OPEN (normal, with handle: PULLED), by “fire”, because handle at PULLED "
            "and bus live: it came to be so after 1 s.\n"
            "  What is missing: handle at IN.",
        ),
        (
            "valve not at OPEN",
            "handle: PULLED",
            "valve not at OPEN (normal, with handle: PULLED), by “fire”, because handle at PULLED "
            "and bus live: it came to be so after 1 s.",
        ),
    ],
)
def test_where_a_surface_is_is_explained_by_what_sends_it(
    question: str, changes: str, told: str
) -> None:
    """It was told as its own reason, and as what is missing."""
    text = str(tb.why(book_of(VALVE), question, changes=[changes] if changes else []))
    assert text.partition("\n  The chain")[0].partition("\n  regulation")[0] == told


@pytest.mark.parametrize(
    ("question", "changes", "told"),
    [
        ("handle at IN", [], "it was so in the starting state."),
        ("handle at IN", ["handle: PULLED"], "it was put so."),
        ("icing", ["icing: yes"], "it was put so."),
        ("speed above 100 kt", [], "it was so in the starting state."),
        ("bus failed", ["bus: lost"], "it was put so."),
    ],
)
def test_what_has_no_cause_is_told_by_its_history(
    question: str, changes: list[str], told: str
) -> None:
    answer = tb.why(book_of(VALVE), question, changes=changes)
    assert f"{answer.history}." == told
    assert not answer.because
    assert not answer.missing


def test_what_all_choices_lack_is_told_once() -> None:
    book = book_of("""
controls:
  switch: {positions: [OFF, AUTO, ON]}
  lever: {positions: [UP, DOWN]}
situations: {wet: {}, plugged in: {}}
units:
  pump: {runs when: plugged in and (switch at ON or wet or (lever at DOWN and wet))}
  fan: {runs when: plugged in or wet}
""")
    assert "missing: plugged in; and one of: switch at ON, wet." in str(
        tb.why(book, "pump running")
    )
    assert "missing: plugged in or wet." in str(tb.why(book, "fan running"))


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ("pump running", "pump not running (normal), because"),
        ("pump not running", "pump not running (normal), because"),
        ("lever not at UP", "lever at UP (normal): it"),
        ("pump running and lever at UP", "not (pump running and lever at UP) (normal), because"),
    ],
)
def test_what_is_not_so_is_told_as_what_is(question: str, told: str) -> None:
    """A question in the negative was denied a second time: `not pump not running`."""
    assert str(tb.why(book_of(BOOK), question)).startswith(told)


def test_a_reading_is_where_it_is_because_of_what_moved_it_and_what_sent_that() -> None:
    """It stopped at its own past: it came to be so after 12 s."""
    answer = tb.why(book_of(VALVE), "pressure below 2000 psi", changes=["handle: PULLED"])
    assert answer.history == "it came to be so after 12 s"
    assert [(link.text, link.by, link.seconds, link.end) for link in answer.chain] == [
        ("valve at SHUT", "fire", 2, ""),
        ("handle at PULLED", "", 0, "moved"),
        ("bus live", "fed by battery", None, "starting state"),
    ]


AUTOMATIC = """
controls: {switch: {positions: [OFF, AUTO], normally: AUTO}}
situations: {windmilling: {normally: yes}}
units:
  engine: {fails: [stops]}
  engine pump: {runs when: engine running or windmilling}
  electric pump:
    runs when any of:
      by hand: never
      stand-by:
        when: switch at AUTO and engine not running
        why: [{computed: no lag, source: C 1}]
supplies:
  circuit:
    levels: [lost, reduced, normal]
    fed by:
      - {from: engine pump, when: engine running}
      - electric pump
      - {from: engine pump, delivers: reduced}
"""


def test_the_cause_of_a_supply_is_its_feeder_and_not_what_could_feed_it_as_well() -> None:
    answer = tb.why(book_of(AUTOMATIC), "circuit live", changes=["engine: stops"])
    assert (
        str(answer)
        == """\
circuit live (normal, with engine: stops), fed by electric pump, because electric pump running.
  The chain behind it:
    electric pump running, by “stand-by”, at once
      computed: no lag (C 1)
      engine not running, at once
        engine stops, at once
  As in the starting state: switch at AUTO."""
    )


def test_a_memory_that_ended_its_own_cause_is_told_by_what_was_so_then() -> None:
    """Within the event the cause was there; at its end it is gone."""
    book = book_of("""
controls: {button: {positions: [OUT, IN]}}
units: {pump: {runs when: guard clear and button at IN}}
latches: {guard: {set when: pump running, cleared when: never}}
""")
    answer = tb.why(book, "guard set", changes=["button: IN"])
    assert [link.text for link in answer.chain] == [
        "pump running", "button at IN", "guard clear"
    ]  # fmt: skip
    assert "because pump running: it was set at once" in str(answer)


LATCHING = """
controls: {switch: {positions: [OFF, ON], normally: ON}}
units:
  generator: {}
  battery: {}
  contactor: {kind: contactor, needs: [bus], runs when: switch at ON}
supplies:
  bus: {kind: bus, fed by: [generator through contactor, battery]}
"""


def test_no_reason_goes_round_in_a_circle() -> None:
    """The generator feeds the bus, but only because the battery keeps its contactor closed."""
    answer = tb.why(book_of(LATCHING), "contactor closed")
    links = {link.text: link for link in answer.chain}
    assert links["bus live"].by == "fed by battery"


def test_what_is_lost_in_a_circle_is_explained_by_what_lies_outside() -> None:
    book = book_of("""
units:
  left generator: {kind: generator, fails: [stops]}
  right generator: {kind: generator, fails: [stops]}
supplies:
  left bus: {kind: bus, fed by: [left generator, right bus]}
  right bus: {kind: bus, fed by: [right generator, left bus]}
""")
    stopped = ["left generator: stops", "right generator: stops"]
    ends = [x.text for x in tb.why(book, "left bus live", changes=stopped).chain if x.end]
    assert ends == ["left generator stops", "right generator stops"]


def test_what_stays_where_it_was_is_told_by_what_keeps_it_from_moving() -> None:
    """It was told as so in the starting state, and nothing of the bus that was lost."""
    answer = tb.why(book_of(VALVE), "valve at SHUT", changes=["bus: lost", "handle: PULLED"])
    assert str(answer).startswith(
        "valve not at SHUT (normal, with bus: lost, handle: PULLED), because bus lost: "
        "it was so in the starting state."
    )
    assert [link.text for link in answer.chain] == ["bus lost", "bus itself fails"]


ONE_OF_TWO = """
controls: {switch: {positions: [OFF, ON], normally: ON}}
units:
  left generator: {fails: [stops]}
  right generator: {}
  tie: {kind: contactor, runs when: left bus otherwise lost}
  radio: {needs: [right bus], runs when: switch at ON}
  fan: {needs: [left bus]}
supplies:
  left bus: {fed by: [left generator, right bus through tie]}
  right bus: {fed by: [right generator]}
indications:
  FAULT: {needs: [right bus], shown when: left generator not running}
"""


def test_what_stood_all_the_time_is_not_followed_where_something_came_to_be_so() -> None:
    answer = tb.why(book_of(ONE_OF_TWO), "FAULT shown", changes=["left generator: stops"])
    assert [(link.text, link.end) for link in answer.chain] == [
        ("left generator not running", ""),
        ("left generator stops", "failed"),
        ("right bus live", "starting state"),
    ]


def test_what_newly_acts_behind_what_stood_is_followed_where_nothing_is_nearer() -> None:
    """The fan never stopped, and yet its bus is fed from the other side now."""
    answer = tb.why(book_of(ONE_OF_TWO), "fan running", changes=["left generator: stops"])
    assert [(link.depth, link.text, link.by) for link in answer.chain] == [
        (0, "left bus live", "fed by right bus"),
        (1, "tie closed", ""),
        (2, "left generator not running", ""),
        (3, "left generator stops", ""),
        (1, "right bus live", "fed by right generator"),
    ]


LEG = """
controls:
  gear lever: {positions: [UP, DOWN], normally: DOWN}
surfaces:
  door:
    points: [SHUT, OPEN]
    starts at: SHUT
    drives:
      open: {to: OPEN, when: not leg at lever, takes: 2 s}
      close: {to: SHUT, when: leg at lever, takes: 2 s}
  leg:
    points: [UP, DOWN]
    starts at: DOWN
    drives: {jack: {to: gear lever, needs: [door at OPEN], takes: 4 s}}
means:
  leg at lever:
    when: (leg at UP and gear lever at UP) or (leg at DOWN and gear lever at DOWN)
"""


def test_of_what_is_not_so_the_smallest_thing_to_do_is_told_and_not_what_comes_by_itself() -> None:
    """It said that the door was missing, which opens as soon as the lever is moved."""
    answer = tb.why(book_of(LEG), "leg at DOWN", changes=["gear lever: UP"])
    assert [[item.text for item in one] for one in answer.remedies] == [["gear lever at DOWN"]]
    assert "It would be so with gear lever at DOWN." in str(answer)
    assert "missing" not in str(answer)


def test_what_has_failed_may_work_again() -> None:
    answer = tb.why(book_of(VALVE), "valve at SHUT", changes=["bus: lost", "handle: PULLED"])
    assert "It would be so with bus working again." in str(answer)


def test_where_one_move_is_not_enough_what_clears_the_memory_is_told() -> None:
    """The galleys come back only by switching them off and on."""
    book = book_of("""
controls: {galley switch: {positions: [OFF, ON], normally: ON}}
situations: {overload: {}}
supplies:
  galley bus: {fed by: [generator], shed when: galley switch at OFF or shed set}
units: {generator: {}}
latches: {shed: {set when: overload, cleared when: galley switch at OFF}}
""")
    overloaded = tb.why(book, "galley bus live", changes=["overload: yes"])
    assert not overloaded.remedies
    assert "  What is missing: shed clear.\n  shed is cleared when galley switch at OFF.\n" in str(
        overloaded
    )


def test_a_reading_that_is_not_there_is_told_by_where_it_is() -> None:
    answer = tb.why(book_of(VALVE), "pressure at least 2000 psi", changes=["handle: PULLED"])
    assert str(answer).startswith("pressure below 2000 psi (normal, with handle: PULLED), because")
