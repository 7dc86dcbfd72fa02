"""The shortest combinations: of what they consist, in which order, and how they are told."""

from dataclasses import replace

import pytest

import tellback as tb
from tests.small_books import book_of

LATCH = """
controls:
  lever: {positions: [UP, DOWN]}
  button: {positions: [NORMAL, PRESSED]}
latches:
  memory:
    set when: {when: lever at DOWN, source: p.1}
    cleared when any of:
      button: {when: button at PRESSED, source: p.2}
      lever: {when: lever at UP, source: p.3}
"""


def ways(question: str) -> list[tuple[str, str]]:
    answer = tb.shortest(book_of(LATCH), question)
    return [(way.items[0].text, way.stated[0].source) for way in answer.combinations]


def test_the_ways_of_clear_are_what_clears_it() -> None:
    assert sorted(ways("memory clear")) == [("button at PRESSED", "p.2"), ("lever at UP", "p.3")]
    assert ways("not memory set") == ways("memory clear")


def test_the_text_says_that_it_is_cleared() -> None:
    opening = str(tb.shortest(book_of(LATCH), "memory clear")).splitlines()[0]
    assert opening == "memory clear — it is cleared by any of 2 combinations:"


def test_the_ways_of_a_sound_aeroplane_come_first() -> None:
    pump = """
controls:
  switch: {positions: [OFF, ON]}
  lever: {positions: [UP, DOWN]}
units:
  pump: {runs when: switch at ON and lever at DOWN, fails: [keeps running]}
"""
    first, last = tb.shortest(book_of(pump), "pump running").combinations
    assert (first.failure, last.failure) == (False, True)


def test_statements_of_one_source_are_told_with_it_once() -> None:
    both = """
controls:
  switch: {positions: [OFF, AUTO, ON]}
situations:
  on ground: {normally: no}
units:
  pump:
    runs when any of:
      hand: {when: switch at ON, source: p.1}
      air: {when: switch at AUTO and not on ground, source: p.1}
"""
    answer = str(tb.shortest(book_of(both), "pump running"))
    assert "switch not at OFF and not on ground  [hand or air, p.1]" in answer


def test_needs_that_are_all_there_is_are_not_told_as_something_more() -> None:
    pump = """
controls:
  switch: {positions: [OFF, ON]}
  lever: {positions: [UP, DOWN]}
units:
  motor: {runs when: switch at ON}
  pump: {needs: [motor running or lever at DOWN]}
"""
    assert str(tb.shortest(book_of(pump), "pump running")).splitlines()[:2] == [
        "pump running: whenever its needs are met.",
        "  It needs: motor running or lever at DOWN.",
    ]


def test_a_failure_that_does_without_the_needs_is_the_only_way_told_besides_them() -> None:
    """It said `and 1 more`, counting the needs as a way that it had not told."""
    valve = """
controls: {handle: {positions: [IN, PULLED]}}
units: {valve: {kind: valve, needs: [handle at IN], fails: [stuck open]}}
"""
    assert str(tb.shortest(book_of(valve), "valve open")).splitlines() == [
        "valve open: whenever its needs are met, or else:",
        "  1. valve sticks open  [by failure; whatever its needs]",
        "  It needs: handle at IN.",
    ]


def test_what_inhibits_an_indication_is_told_once() -> None:
    light = """
controls:
  switch: {positions: [OFF, ON]}
  lever: {positions: [UP, DOWN]}
  test button: {positions: [NORMAL, PRESSED]}
indications:
  LOW:
    shown when any of: {low: switch at OFF, test: test button at PRESSED}
    inhibited when: switch at OFF and lever at DOWN
    fails: [shown]
"""
    answer = tb.shortest(book_of(light), "LOW shown")
    told = [[item.text for item in way.items] for way in answer.combinations]
    assert told == [["switch at OFF"], ["test button at PRESSED"], ["LOW shows falsely"]]
    assert "  Inhibited by switch at OFF and lever at DOWN." in str(answer).splitlines()


def test_items_and_ways_are_told_in_the_order_of_the_book() -> None:
    book = book_of("""
controls:
  lever: {positions: [UP, DOWN]}
  switch: {positions: [OFF, ON]}
situations: {wet: {}, cold: {}}
units:
  motor: {fails: [stops]}
  pump:
    runs when any of:
      hand: switch at ON and cold
      stop: motor not running and wet and cold
      air: wet and lever at DOWN
""")
    told = [
        [item.text for item in way.items] for way in tb.shortest(book, "pump running").combinations
    ]
    assert told == [
        ["lever at DOWN", "wet"],
        ["switch at ON", "cold"],
        ["motor stops", "wet", "cold"],
    ]
    because = [item.text for item in tb.why(book, "pump running").because]
    assert because == ["lever at UP", "not cold"]


def test_what_was_not_decided_is_said_of_one_way_as_of_one() -> None:
    found = tb.shortest(book_of(LATCH), "memory clear")
    one = replace(found, combinations=found.combinations[:1], count=1, exact=False, met=False)
    assert str(one).splitlines()[-1] == (
        "  It is enough. Not decided: whether it can come about, and whether less would do."
    )
    assert str(replace(one, count=2)).splitlines()[-1] == (
        "  Each is enough. Not decided: whether each can come about, and whether less would do."
    )
    assert str(replace(one, met=True)).splitlines()[-1] == (
        "  It is enough and can come about. Not decided: whether less would do."
    )


def test_a_way_that_a_starting_state_has_is_known_to_come_about() -> None:
    assert tb.shortest(book_of(LATCH), "memory clear").met


def test_few_ways_are_told_that_suffice_only_through_what_must_then_be_so() -> None:
    way = tb.shortest(book_of(LATCH), "memory clear").combinations[0]
    many = replace(
        tb.shortest(book_of(LATCH), "memory clear"),
        combinations=(way, *(replace(way, inferred=True) for _ in range(8))),
        count=9,
    )
    assert str(many).count("button at PRESSED") + str(many).count("lever at UP") == 6
    assert "     and 3 more (all: --json; fewer: --given)" in str(many).splitlines()


SPEED = """
readings: {speed: {unit: kt, range: 0 to 400, normally: 100}}
means: {fast: {when: speed above 200 kt}}
"""


def test_the_very_end_of_a_range_can_be_asked_for() -> None:
    book = book_of(SPEED)
    for question in ("speed at most 0 kt", "speed at least 400 kt"):
        assert [way.items[0].text for way in tb.shortest(book, question).combinations] == [question]
        assert "as it stands" not in str(tb.can(book, question))


def test_a_way_through_either_of_two_sensors_names_what_is_stated_of_both() -> None:
    """They are told alike, as only which of the two has not failed tells them apart."""
    wires = """
situations:
  leak: {normally: no}
units:
  first wire: {runs when: leak, fails: [stops]}
  second wire: {runs when: leak, fails: [stops]}
latches:
  leak latch:
    set when any of:
      first: {when: first wire running, source: p.1}
      second: {when: second wire running, source: p.2}
    cleared when: not leak
"""
    (way,) = tb.shortest(book_of(wires), "leak latch set").combinations
    assert way.together
    assert [(s.name, s.source) for s in way.stated] == [("first", "p.1"), ("second", "p.2")]


SIDES = 'for each: "s in [left, right]"'
CARTS = f"""
controls: {{<s> switch: {{{SIDES}, positions: [OFF, ON]}}}}
situations: {{cold: {{}}, spare: {{}}}}
units:
  <s> cart: {{{SIDES}, runs when: <s> switch at ON}}
  spare cart: {{runs when: spare}}
supplies:
  left line: {{fed by: left cart}}
  right line: {{fed by: right cart}}
means:
  <s> warmed: {{{SIDES}, when: <s> line live and <s> cart running and cold}}
  warmed: {{when: left warmed or right warmed}}
"""


def test_two_wordings_of_the_same_possible_states_are_told_as_one() -> None:
    """The line is live just where the switch is at ON: to name either says as much."""
    answer = tb.shortest(book_of(CARTS), "left warmed")
    assert str(answer).splitlines() == [
        "left warmed by any of 2 combinations:",
        "  1. left switch at ON and cold  [stated]",
        "     In 1 it comes to the same to say left line live instead of left switch at ON.",
    ]
    switched, live = answer.combinations
    assert (switched.same_as, live.same_as) == ((), switched.items)


def test_what_is_the_same_for_like_members_is_told_once() -> None:
    alike = CARTS.replace("left line: ", "<s> line: ").replace(
        "fed by: left", f"{SIDES}, fed by: <s>"
    )
    book = book_of(alike.replace("  right line: {fed by: right cart}\n", ""))
    assert str(tb.shortest(book, "warmed")).splitlines()[1:] == [
        "  1. left switch at ON and cold (likewise with right switch at ON)  [stated]",
        "     In 1 it comes to the same to say left line live instead of left switch at ON.",
    ]


def test_another_wording_of_all_of_a_way_is_told_whole() -> None:
    answer = tb.shortest(book_of(CARTS.replace(" and cold", "")), "left warmed")
    assert str(answer).splitlines()[-1] == "     1 comes to the same as left line live."


def test_what_another_source_can_bring_too_is_not_the_same() -> None:
    spare = CARTS.replace("fed by: right cart", "fed by: [right cart, spare cart]")
    answer = tb.shortest(book_of(spare), "right warmed")
    assert [item.text for item in answer.combinations[0].items] == ["right switch at ON", "cold"]
    assert not any(way.same_as for way in answer.combinations)


SWITCHES = ("aft", "body", "centre", "door", "engine", "fan", "galley")
AT_ON = ", ".join(f"{name} switch at ON" for name in SWITCHES)
HELD = f"""
controls: {{{", ".join(f"{name} switch: {{positions: [OFF, ON]}}" for name in SWITCHES)}}}
situations: {{alone: {{}}}}
means:
  held:
    when any of:
      four: {{when: "at least 4 of ({AT_ON})", source: p.1}}
      one: {{when: alone, source: p.2}}
"""


def test_of_many_ways_the_statements_and_the_shortest_of_each_kind_are_told() -> None:
    answer = tb.shortest(book_of(HELD), "held")
    assert len(answer.combinations) == answer.count == 36
    lines = str(answer).splitlines()
    assert lines[:6] == [
        "held by any of 36 combinations:",
        "  As the book states it:",
        f"     at least 4 of ({AT_ON})  [four, p.1]",
        "     alone  [one, p.2]",
        "  The shortest of each kind:",
        "  1. alone  [one, p.2]",
    ]
    assert len([line for line in lines[6:] if line.endswith("switch at ON  [four, p.1]")]) == 7
    assert lines[-1] == "     and 28 more (all: --json; fewer: --given)"


@pytest.mark.parametrize(
    ("question", "told"),
    [
        ("mask at WORN", "where a control stands"),
        ("fire", "a fact from outside"),
        ("not fire", "a fact from outside"),
        ("altitude above 10,000 ft", "a reading from outside"),
        (
            "pressure below 600 psi",
            "a reading that moves in time; a scenario tells when it comes there",
        ),
    ],
)
def test_what_has_nothing_behind_it_is_not_told_as_its_own_way(question: str, told: str) -> None:
    """It stood there as if it followed: `1. mask at WORN  [follows]`."""
    answer = str(tb.shortest(book_of(BOTTLE), question))
    assert answer == f"{question}: answers go back no further than this, {told}."


BOTTLE = """
controls: {mask: {positions: [STOWED, WORN]}}
situations: {fire: {normally: no}}
readings:
  altitude: {unit: ft, range: 0 to 40000, normally: 7000}
  pressure:
    unit: psi
    range: 0 to 2000
    starts at: 1800
    moves: [{to: 0, rate: 0.1, when: mask at WORN}]
means: {high: {when: altitude above 10000 ft}, empty: {when: pressure below 600 psi}}
latches: {disc blown: {set when: fire, cleared when: never}}
"""


def test_what_is_never_cleared_has_no_way_to_it() -> None:
    """It was told as cleared in passing, by `never`."""
    answer = str(tb.shortest(book_of(BOTTLE), "disc blown clear"))
    assert answer == "disc blown clear — it is cleared: there is no way to this."


def test_a_source_that_stands_by_for_another_is_not_hidden_behind_it() -> None:
    """It was told as one way, `from main pump`: `not failed` was left out before they compared."""
    pumps = """
controls: {switch: {positions: [OFF, ARM, ON]}}
units:
  main pump: {runs when: switch at ON, fails: [stops]}
  standby pump: {runs when: switch at ARM or ON and circuit otherwise lost, fails: [stops]}
supplies: {circuit: {fed by: [main pump, standby pump]}}
"""
    answer = tb.shortest(book_of(pumps), "circuit live")
    assert [(str(way.items[0]), way.not_failed) for way in answer.combinations] == [
        ("switch not at OFF", (("standby pump",),)),
        ("switch at ON", (("main pump",),)),
    ]
    assert str(answer).splitlines()[-1] == (
        "  Taken as not failed: in 1 standby pump; in 2 main pump."
    )


def test_of_two_sources_for_one_condition_either_will_do() -> None:
    pumps = """
controls: {switch: {positions: [OFF, ON]}}
units:
  first pump: {runs when: switch at ON, fails: [stops]}
  second pump: {runs when: switch at ON, fails: [stops]}
supplies: {circuit: {fed by: [first pump, second pump]}}
"""
    answer = tb.shortest(book_of(pumps), "circuit live")
    assert answer.combinations[0].not_failed == (("first pump",), ("second pump",))
    assert str(answer).splitlines()[-1] == "  Taken as not failed: first pump or second pump."
