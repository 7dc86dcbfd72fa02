"""Effects: what comes through a memory that a move sets off is not told as coming by the move."""

import tellback as tb
from tests.small_books import book_of

SWITCH = "controls: {switch: {positions: [OFF, ON]}}\n"


def elsewhere(book: str) -> list[tuple[str, list[str]]]:
    answer = tb.effects(book_of(book), "switch: ON")
    return [(e.text, [item.text for item in e.when]) for e in answer.elsewhere]


def test_a_latch_set_before_what_comes_on_clears_it_is_set_off() -> None:
    """At once the latch sets; that the switch comes to ON clears it; then it sets again."""
    book = (
        SWITCH
        + """
latches: {memory: {set when: switch at ON, cleared when: switch at ON comes on}}
means: {trouble: {when: switch at ON and not memory set}}
"""
    )
    assert elsewhere(book) == []


def test_a_drop_that_an_earlier_one_beats_is_not_set_off() -> None:
    book = """
controls:
  switch: {positions: [OFF, ON]}
  valve switch:
    positions: [SHUT, OPEN]
    drops to SHUT when: hot
    drops to OPEN when: switch at ON
situations: {hot: {}}
means: {filling: {when: switch at ON and valve switch at SHUT}}
"""
    assert elsewhere(book) == [("filling", ["hot"])]


SUPPLIED = """
controls:
  switch: {positions: [ON, OFF]}
  bus switch: {positions: [ON, OFF]}
situations: {engine turns: {normally: yes}}
units:
  generator: {kind: generator, runs when: engine turns and bus switch at ON}
  lamp: {kind: lamp, needs: bus live, runs when: switch at ON}
supplies:
  bus: {kind: bus, fed by: generator}
"""


def reasons(move: str) -> dict[str, list[str]]:
    answer = tb.effects(book_of(SUPPLIED), move)
    return {e.change.thing: [item.text for item in e.when or ()] for e in answer.effects}


def test_a_reason_stops_at_a_supply_that_the_move_leaves_alone() -> None:
    assert reasons("switch: OFF") == {"lamp": ["bus live"]}


def test_a_reason_goes_on_through_a_supply_that_the_move_changes() -> None:
    assert reasons("bus switch: OFF") == {
        "generator": ["engine turns"],
        "bus": ["engine turns"],
        "lamp": ["switch at ON", "engine turns"],
    }


def test_what_is_told_of_a_cause_is_not_told_again_further_on() -> None:
    """Through a reading, which has no reason of its own, as through anything else."""
    book = """
controls:
  switch: {positions: [ON, OFF]}
situations: {engine turns: {normally: yes}, lit: {normally: yes}}
units:
  generator: {kind: generator, runs when: engine turns and switch at ON}
readings:
  voltage:
    unit: V
    range: 0 to 200
    follows: [{reads: 115, when: generator running}, {reads: 0}]
indications:
  LOW VOLTS: {kind: light, shown when: voltage below 100 V and lit}
"""
    text = str(tb.effects(book_of(book), "switch: OFF"))
    assert "LOW VOLTS shown (through voltage) — here also because lit" in text


MANY = [f"fact {letter}" for letter in "abcdefghij"]
"""More than are looked through for a shortest condition."""


def lighting(*conditions: str) -> str:
    """A book of lamps that the switch lights, each under its condition."""
    facts = "".join(f"  {fact}: {{}}\n" for fact in MANY)
    lamps = "".join(
        f"  LAMP {n}:\n    kind: light\n    shown when: switch at ON and {condition}\n"
        for n, condition in enumerate(conditions, 1)
    )
    return f"{SWITCH}situations:\n{facts}indications:\n{lamps}"


def test_a_case_on_which_many_things_bear_is_come_to_by_moving_them() -> None:
    assert elsewhere(lighting(" and ".join(MANY))) == [("LAMP 1 shown", MANY)]


def test_a_case_of_many_things_says_nothing_idle() -> None:
    book = lighting(f"fact a and (not fact b or all of ({', '.join(MANY[2:])}))")
    assert elsewhere(book) == [("LAMP 1 shown", ["fact a", "not fact b"])]


def test_what_all_cases_need_is_said_once() -> None:
    book = lighting(" and ".join(MANY[:9]), " and ".join([*MANY[:8], "fact j"]))
    answer = str(tb.effects(book_of(book), "switch: ON"))
    together = "fact a, fact b, fact c, fact d, fact e, fact f, fact g and fact h"
    assert f"all listed need {together}:" in answer
    assert "    if fact i: LAMP 1 shown\n    if fact j: LAMP 2 shown" in answer


SPOILERS = """
controls: {lever: {positions: [DOWN, ARMED, UP]}}
situations: {pressure: {}, landed: {}}
units: {hand: {runs when: lever at UP}}
surfaces:
  spoilers:
    points: [IN, OUT]
    drives: {up: {to: OUT, when: hand running and pressure}, down: {to: IN}}
latches: {armed: {set when: lever at ARMED and landed, cleared when: not landed}}
"""


def test_what_moves_only_elsewhere_is_named() -> None:
    """No surface and no latch changes here; an answer that ended there would tell of nothing."""
    bears = {
        position: tb.effects(book_of(SPOILERS), f"lever: {position}").bears_on
        for position in ("UP", "ARMED")
    }
    assert bears == {"UP": ("spoilers",), "ARMED": ("armed",)}
    text = str(tb.effects(book_of(SPOILERS), "lever: ARMED"))
    assert "nothing changes here.\n  In other states it may bear on armed." in text
    here = tb.effects(book_of(SPOILERS), "lever: UP", changes=["pressure: yes"])
    assert here.bears_on == ()


def test_what_looks_at_the_move_only_through_a_supply_or_a_light_is_not_named() -> None:
    book = (
        SWITCH
        + """
situations: {x: {}}
units: {source: {runs when: switch at ON}}
supplies: {bus: {fed by: [source]}}
indications: {LAMP: {kind: light, shown when: switch at ON and x}}
latches:
  by bus: {set when: bus live and x, cleared when: not x}
  by lamp: {set when: LAMP shown, cleared when: not x}
  by unit: {set when: source running and x, cleared when: not x}
"""
    )
    assert tb.effects(book_of(book), "switch: ON").bears_on == ("by unit",)


def test_things_of_one_state_are_told_together_in_a_case_too() -> None:
    book = """
controls: {switch: {positions: [OFF, ON]}, lever: {positions: [UP, DOWN]}}
units:
  pump: {runs when: switch at ON and lever at DOWN}
  fan: {runs when: switch at ON and lever at DOWN}
indications:
  LAMP: {shown when: switch at ON and lever at DOWN}
"""
    told = str(tb.effects(book_of(book), "switch: ON")).splitlines()[-1]
    assert told == "    if lever at DOWN: pump and fan running; LAMP shown"
