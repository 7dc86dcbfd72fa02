"""Effects: what comes through a memory that a move sets off is not told as coming by the move."""

import tellback as tb
from tests.small_books import book_of

SWITCH = "controls: {switch: {positions: [OFF, ON]}}\n"


def elsewhere(book: str) -> list[tuple[str, list[str]]]:
    answer = tb.effects(book_of(book), "switch: ON", elsewhere=True)
    return [(e.text, [item.text for item in e.when]) for e in answer.elsewhere or ()]


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
    assert "LOW VOLTS shown (through voltage) — also given lit" in text


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
    answer = str(tb.effects(book_of(book), "switch: ON", elsewhere=True))
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
    named = {
        position: tb.effects(book_of(SPOILERS), f"lever: {position}").may_change
        for position in ("UP", "ARMED")
    }
    assert named == {"UP": ("spoilers",), "ARMED": ("armed",)}
    text = str(tb.effects(book_of(SPOILERS), "lever: ARMED"))
    assert text.splitlines()[1:] == [
        "  nothing changes here.",
        "  Elsewhere it may change armed; `--elsewhere` tells when.",
    ]
    here = tb.effects(book_of(SPOILERS), "lever: UP", changes=["pressure: yes"])
    assert here.may_change == ()


def test_what_may_change_elsewhere_is_named_nearest_first() -> None:
    """What looks at another position alone is not named, nor what comes of a memory."""
    book = """
controls: {switch: {positions: [OFF, ARM, ON]}}
situations: {x: {}}
units: {source: {runs when: switch at ON}, other: {runs when: switch at ARM and x}}
supplies: {bus: {fed by: [source]}}
indications:
  LAMP: {kind: light, shown when: bus live and x}
  OFF LAMP: {kind: light, shown when: switch at OFF and x}
  LATER: {kind: light, shown when: memory set and x}
latches:
  memory: {set when: switch at ON and x, cleared when: not x}
"""
    answer = tb.effects(book_of(book), "switch: ON")
    assert [effect.change.thing for effect in answer.effects] == ["source", "bus"]
    assert answer.may_change == ("memory", "OFF LAMP", "LAMP")
    assert answer.elsewhere is None
    cases = tb.effects(book_of(book), "switch: ON", elsewhere=True)
    assert "it was not worked out when" in str(cases)
    assert "Elsewhere it may also change memory;" in str(cases)


def test_many_are_counted() -> None:
    lamps = "".join(f"  LAMP {n}: {{shown when: switch at ON and x}}\n" for n in range(9))
    book = f"{SWITCH}situations: {{x: {{}}}}\nindications:\n{lamps}"
    text = str(tb.effects(book_of(book), "switch: ON"))
    assert "LAMP 4, LAMP 5 and 3 more; `--elsewhere` tells when." in text


FAILING = """
controls: {switch: {positions: [OFF, ON]}}
units:
  pump: {fails: [stops, keeps running], runs when: switch at ON}
  fan: {runs when: switch at ON}
"""


def test_always_says_that_it_is_meant_without_failures() -> None:
    text = str(tb.effects(book_of(FAILING), "switch: ON"))
    assert "pump and fan running — always, if nothing has failed" in text


def test_of_what_has_failed_here_no_reason_is_told() -> None:
    """It is worked out for states without failures, and so would not be one."""
    answer = tb.effects(book_of(FAILING), "switch: ON", changes=["pump: keeps running"])
    assert [(e.change.thing, e.always) for e in answer.effects] == [("fan", True)]
    book = FAILING + "  motor: {runs when: switch at ON and pump running}\n"
    answer = tb.effects(book_of(book), "switch: ON", changes=["pump: keeps running"])
    reasons = {e.change.thing: (e.always, e.when) for e in answer.effects}
    assert reasons == {"fan": (True, ()), "motor": (False, None)}


SELECTOR = """
controls:
  selector:
    positions: [OFF, LOW, HIGH]
    drops to OFF when any of:
      unpowered: {when: not powered or (selector at HIGH and hot), source: p.9}
      pedals: {when: selector at LOW and pressed}
  button:
    positions: [OUT, IN]
    springs: {IN: OUT}
    cannot go to OUT when: jammed
  start switch:
    positions: [OFF, START]
    drops to OFF when: start switch at START for 30 s
  handle:
    positions: [IN, TURNED]
    springs: {TURNED: IN}
situations: {powered: {}, hot: {}, pressed: {}, jammed: {}}
units:
  starter: {runs when: start switch at START}
  pump: {runs when: button at IN}
"""


def told(move: str, *changes: str) -> list[str]:
    return str(tb.effects(book_of(SELECTOR), move, changes=changes)).splitlines()[1:]


def test_a_control_that_drops_at_once_says_so_and_why() -> None:
    """Nothing changes, as it is back at once: that was all that was told."""
    answer = tb.effects(book_of(SELECTOR), "selector: LOW")
    assert answer.effects == ()
    assert [(d.seconds, d.position, d.because) for d in answer.drops] == [(0, "OFF", "not powered")]
    assert told("selector: LOW") == [
        "  at once: selector drops to OFF by itself, because not powered  [p.9]"
    ]


def test_of_several_reasons_that_which_is_met_is_told() -> None:
    (line,) = told("selector: HIGH", "powered: yes", "hot: yes")
    assert "because selector at HIGH and hot" in line


def test_a_control_that_stays_for_now_says_what_would_drop_it() -> None:
    """Not what can never be with it where it is."""
    assert told("selector: LOW", "powered: yes") == [
        "  nothing changes here.",
        "  It stays until not powered, or until pressed; then it drops to OFF.",
    ]


def test_a_control_that_drops_later_says_so_in_its_place() -> None:
    assert told("start switch: START") == [
        "  at once: starter running — always, if nothing has failed",
        "  after 30 s: start switch drops to OFF by itself, because start switch at START for 30 s",
        "  after 30 s: starter not running",
    ]


def test_a_control_that_springs_is_held_and_let_go() -> None:
    assert told("button: IN") == [
        "  at once: pump running — always, if nothing has failed",
        "  It is held until all has settled. Let go then, it springs to OUT:",
        "    at once: pump not running",
    ]
    assert told("button: IN", "jammed: yes")[-1] == (
        "  It is held until all has settled. Let go then, a lock keeps it from OUT."
    )
    assert told("handle: TURNED") == [
        "  nothing changes here.",
        "  It is held until all has settled. Let go then, it springs to IN; nothing more changes.",
    ]


def test_things_of_one_state_are_told_together_in_a_case_too() -> None:
    book = """
controls: {switch: {positions: [OFF, ON]}, lever: {positions: [UP, DOWN]}}
units:
  pump: {runs when: switch at ON and lever at DOWN}
  fan: {runs when: switch at ON and lever at DOWN}
indications:
  LAMP: {shown when: switch at ON and lever at DOWN}
"""
    told = str(tb.effects(book_of(book), "switch: ON", elsewhere=True)).splitlines()[-1]
    assert told == "    if lever at DOWN: pump and fan running; LAMP shown"
