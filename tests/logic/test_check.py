"""Every check of a book by its logic: a small book in which it finds something, and one without.

Each case is a few lines of YAML; the finding is written under the book that has it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from tellback.book.model import StartingState
from tellback.book.reader import read
from tellback.diagnostics import Diagnostic, render
from tellback.logic.check import STATE_CHECKS, TEXT_CHECKS, check
from tellback.logic.checks import ground
from tellback.logic.guided import GuidedRuns
from tellback.logic.items import View
from tellback.logic.multitude import Multitude
from tests.small_books import DEFAULT, book_of, write_book


@dataclass(frozen=True)
class Case:
    """A check, a book that it faults, what it says there, and the book put right.

    `said` are parts of the message, in order.
    """

    check: str
    code: str
    bad: str
    said: tuple[str, ...]
    good: str
    kind: str = "finding"
    type_bad: str = DEFAULT
    type_good: str = DEFAULT
    claims_bad: str = ""
    claims_good: str = ""
    procedures_bad: str = ""
    procedures_good: str = ""


PUMP = """
controls:
  pump switch: {positions: [OFF, ON]}
"""

STANDBY = """
controls:
  pump switch: {positions: [OFF, AUTO, ON], normally: AUTO}
  test button: {positions: [OUT, IN], cannot go to IN when: left pump running}
units:
  main pump: {fails: [stops]}
  left pump: {runs when any of: {selected: pump switch at ON,
    stand-by: pump switch at AUTO and main pump not running}}
indications: {PUMP LOW: {shown when: main pump not running}}
"""


def procedure(steps: str, secures: str = "left pump running", when: str = "PUMP LOW shown") -> str:
    """A list for the pump: its steps, what it secures and when it is called for."""
    return (
        "procedures:\n  PUMP LOW:\n    kind: non-normal checklist\n    source: p.1\n"
        f"    called for when: {when}\n    secures: {secures}\n    steps: [{steps}]\n"
    )


BLINKING = STANDBY.replace(
    "  main pump:",
    "  blinker: {runs when: pump switch at ON and not (blinker running for 2 s)}\n  main pump:",
)

LAMP = """
controls: {lamp switch: {positions: [OFF, ON]}}
units: {lamp: {runs when: lamp switch at ON and cell charge above 5 %}}
readings:
  cell charge:
    unit: "%"
    range: 0 to 100
    starts at: 100
"""

CASES = (
    Case(
        "undecided_value", "undecided", kind="error",
        bad=PUMP + """
units:
  left pump: {runs when: pump switch at ON and left circuit lost}
supplies:
  left circuit: {kind: circuit, fed by: [left pump]}
""",
        said=(
            "whether left pump running has no answer",
            "(normal: pump switch at ON)",
            "depends on itself through left pump and left circuit",
        ),
        good=PUMP + """
units:
  left pump: {runs when: pump switch at ON and left circuit otherwise lost}
supplies:
  left circuit: {kind: circuit, fed by: [left pump]}
""",
    ),
    Case(
        "undecided_value", "undecided", kind="error",
        bad=PUMP + """
units:
  left pump: {runs when: right pump not running}
  right pump: {runs when: left pump not running, needs: [pump switch at ON]}
""",
        said=(
            "whether left pump running has two answers",
            "left pump running and not right pump running",
            "right pump running and not left pump running",
            "(normal: pump switch at ON)",
        ),
        good=PUMP + """
units:
  left pump: {runs when: pump switch at ON}
  right pump: {runs when: left pump not running, needs: [pump switch at ON]}
""",
    ),
    Case(
        "feeders_in_a_circle", "feeders-in-a-circle", kind="error",
        bad=PUMP + """
units:
  generator: {runs when: pump switch at ON}
supplies:
  bus 1: {fed by: [bus 2, generator]}
  bus 2: {fed by: [bus 1]}
""",
        said=("bus 1 is fed by bus 2 and bus 2 is fed by bus 1", "(normal: pump switch at ON)"),
        good=PUMP + """
units:
  generator: {runs when: pump switch at ON}
supplies:
  bus 1: {fed by: [generator, bus 2]}
  bus 2: {fed by: [bus 1]}
""",
    ),
    Case(
        "never_at_rest", "never-at-rest", kind="error",
        bad=PUMP + """
latches:
  memory: {set when: pump switch at ON and memory clear, cleared when: memory set}
""",
        said=("`memory` cannot come to rest after pump switch at ON (normal, as it stands)",
              "memory set, then memory clear, and so on without end"),
        good=PUMP + """
latches:
  memory: {set when: pump switch at ON, cleared when: pump switch at OFF}
""",
    ),
    Case(
        "never_at_rest", "never-at-rest", kind="error",
        bad=PUMP + """
latches:
  one: {set when: pump switch at ON and other clear, cleared when: other set}
  other: {set when: one set, cleared when: one clear}
""",
        said=("`one` and `other` cannot come to rest after pump switch at ON",
              "and so on without end"),
        good=PUMP + """
latches:
  one: {set when: pump switch at ON and other clear, cleared when: pump switch at OFF}
  other: {set when: one set, cleared when: pump switch at OFF}
""",
    ),
    Case(
        "never_settled", "never-settled",
        bad=LAMP + "    moves: [{to: 0, rate: 1, when: lamp running}, {to: 100, rate: 1}]\n",
        said=("`cell charge` never settles after lamp switch at ON (normal): it changes to and "
              "fro for ever",),
        good=LAMP + "    moves: [{to: 0, rate: 1, when: lamp running}]\n",
    ),
    Case(
        "starting_state_impossible", "starting-state", kind="error",
        bad=PUMP + "impossible: [pump switch at ON]\n",
        said=("`pumping` is one that the book states impossible: pump switch at ON",),
        good=PUMP,
        type_bad=DEFAULT + "  pumping: {pump switch: ON}\n",
        type_good=DEFAULT + "  pumping: {pump switch: ON}\n",
    ),
    Case(
        "starting_state_unsettled", "starting-state", kind="error",
        bad=PUMP + """
latches:
  memory: {set when: pump switch at ON and memory clear, cleared when: memory set}
""",
        said=("`pumping` never settles: at once, changes repeat without end in memory",),
        good=PUMP + """
latches:
  memory: {set when: pump switch at ON, cleared when: pump switch at OFF}
""",
        type_bad=DEFAULT + "  pumping: {pump switch: ON}\n",
        type_good=DEFAULT + "  pumping: {pump switch: ON}\n",
    ),
    Case(
        "unit_never_running", "never-running",
        bad=PUMP + """
units:
  left pump:
    needs: [pump switch at OFF]
    runs when: pump switch at ON
    fails: [keeps running]
""",
        said=("`left pump` can never run: no possible state brings it about",),
        good=PUMP + "units: {left pump: {runs when: pump switch at ON}}",
    ),
    Case(
        "unit_never_running", "never-running",
        bad=PUMP + """
latches:
  memory: {set when: pump switch at ON, cleared when: pump switch at OFF}
units: {left pump: {runs when: pump switch at OFF and memory set}}
""",
        said=("`left pump` can never run",),
        good="""
controls:
  pump switch: {positions: [OFF, ON]}
  light switch: {positions: [OFF, ON]}
latches:
  memory: {set when: pump switch at ON, cleared when: light switch at ON}
units: {left pump: {runs when: pump switch at OFF and memory set}}
""",
    ),
    Case(
        "impossible_that_comes_about", "impossible-comes-about",
        bad=PUMP + """
impossible: [pump switch at ON for 9 s]
""",
        said=("`pump switch at ON for 9 s` is stated impossible, but comes about by itself",),
        good=PUMP + """
situations: {on ground: {normally: yes}}
impossible: [pump switch at ON and on ground]
""",
    ),
    Case(
        "indication_never_shown", "never-shown",
        bad=PUMP + """
indications:
  PUMP ON: {shown when: pump switch at ON, inhibited when: pump switch at ON, fails: [shown]}
""",
        said=("`PUMP ON` can never show",),
        good=PUMP + """
readings: {pressure: {unit: psi, range: 0 to 100}}
indications:
  PUMP ON: {shown when: pump switch at ON}
  pressure gauge: {kind: gauge, shows: pressure}
""",
    ),
    Case(
        "latch_never_set", "never-set",
        bad=PUMP + """
latches:
  memory: {set when: pump switch at ON, cleared when: pump switch at ON}
""",
        said=("`memory` can never be set",),
        good=PUMP + """
latches:
  memory: {set when: pump switch at ON, cleared when: pump switch at ON, set wins: yes}
""",
    ),
    Case(
        "way_never_met", "way-never-met",
        bad=PUMP + """
situations: {on ground: {normally: yes}}
units:
  left pump:
    needs: [on ground]
    runs when any of:
      by hand: pump switch at ON
      in the air: not on ground
""",
        said=("`left pump`: the way `in the air` can never be met while the needs of it are",),
        good=PUMP + """
situations: {on ground: {normally: yes}}
units:
  left pump:
    runs when any of:
      by hand: pump switch at ON
      in the air: not on ground
""",
    ),
    Case(
        "way_never_met", "way-never-met",
        bad=PUMP + """
latches:
  memory:
    set when any of:
      by hand: pump switch at ON
      never: pump switch at ON and pump switch at OFF
    cleared when: pump switch at OFF
""",
        said=("`memory`: the way `never` can never be met",),
        # met for an instant only: the latch clears what sets it
        good=PUMP + """
units: {left pump: {runs when: pump switch at ON and memory clear}}
latches:
  memory:
    set when any of: {by itself: left pump running}
    cleared when: pump switch at OFF
""",
    ),
    Case(
        "way_covered_by_another", "way-covered",
        bad=PUMP + """
situations: {on ground: {normally: yes}}
means:
  wanted:
    when any of:
      on the ground: pump switch at ON and on ground
      by hand: pump switch at ON
""",
        said=("`wanted`: wherever the way `on the ground` is met, so is `by hand`",),
        good=PUMP + """
situations: {on ground: {normally: yes}}
means:
  wanted:
    when any of: {on the ground: on ground, by hand: pump switch at ON}
""",
    ),
    Case(
        "row_never_reached", "row-never-reached",
        bad="""
readings:
  speed: {unit: kt, range: 0 to 400}
  limit:
    unit: kt
    range: 0 to 400
    follows:
      - {reads: 100, when: speed above 100 kt}
      - {reads: 200, when: speed above 200 kt}
      - {reads: 50}
""",
        said=("`limit`: row 2 never counts: wherever it applies, an earlier row does too",),
        good="""
readings:
  speed: {unit: kt, range: 0 to 400}
  limit:
    unit: kt
    range: 0 to 400
    follows:
      - {reads: 200, when: speed above 200 kt}
      - {reads: 100, when: speed above 100 kt}
      - {reads: 50}
""",
    ),
    Case(
        "drive_never_acting", "drive-never-acts",
        bad=PUMP + """
surfaces:
  flaps:
    points: [UP, DOWN]
    drives:
      normal drive: {to: UP, takes: 10 s}
      spare drive: {to: DOWN, when: pump switch at ON, takes: 10 s}
""",
        said=("`flaps`: the drive `spare drive` can never act",),
        good=PUMP + """
surfaces:
  flaps:
    points: [UP, DOWN]
    drives:
      spare drive: {to: DOWN, when: pump switch at ON, takes: 10 s}
      normal drive: {to: UP, takes: 10 s}
""",
    ),
    Case(
        "feed_never_delivering", "feed-never-delivers",
        bad=PUMP + """
units: {generator: {}, contactor: {kind: contactor, runs when: pump switch at ON}}
supplies:
  bus 1:
    fed by:
      - generator
      - {from: generator, through: [contactor], when: pump switch at OFF}
""",
        said=("`bus 1`: the feed from generator can never deliver",),
        good=PUMP + """
units: {generator: {}, contactor: {kind: contactor, runs when: pump switch at ON}}
supplies:
  bus 1: {fed by: [generator through contactor]}
""",
    ),
    Case(
        "drops_that_contradict", "drops-contradict",
        bad="""
situations: {hot: {}, cold: {}}
controls:
  lever:
    positions: [UP, MID, DOWN]
    drops to UP when: hot
    drops to DOWN when: cold
""",
        said=("`lever` drops to UP and to DOWN at the same time", "hot", "the first one counts"),
        good="""
situations: {hot: {}, cold: {}}
controls:
  lever:
    positions: [UP, MID, DOWN]
    drops to UP when: hot
    drops to DOWN when: cold and not hot
""",
    ),
    Case(
        "position_without_effect", "position-without-effect",
        bad="""
controls: {pump switch: {positions: [OFF, AUTO, ON]}}
units: {left pump: {runs when: pump switch at ON}}
""",
        said=("`pump switch`: moving it between OFF and AUTO does nothing in any possible state",),
        good="""
controls: {pump switch: {positions: [OFF, AUTO, ON]}}
situations: {on ground: {normally: yes}}
units:
  left pump: {runs when: pump switch at ON or (pump switch at AUTO and not on ground)}
""",
    ),
    Case(
        "statement_without_source", "no-source",
        bad=PUMP + """
units: {left pump: {runs when: pump switch at ON}}
impossible: [pump switch at ON and left pump not running]
""",
        said=("`left pump`: no source is given for `runs when`",),
        good=PUMP + """
units:
  left pump: {runs when: pump switch at ON, source: p.1}
  right pump: {needs: [pump switch at ON], runs when: {when: pump switch at ON, source: p.2}}
impossible: [{when: pump switch at ON and left pump not running, source: p.3}]
""",
    ),
    Case(
        "thing_mentioned_nowhere", "mentioned-nowhere",
        bad="situations: {on ground: {}}\nindications: {GROUND: {shown when: not ready}}\n"
            "means: {ready: {when: always}}",
        said=("`on ground` is declared, but nothing in the book speaks of it",),
        good="situations: {on ground: {}}\nindications: {GROUND: {shown when: not on ground}}",
    ),
    Case(
        "claim_not_proved", "false-claim",
        bad=PUMP + "units: {left pump: {runs when: pump switch at ON, fails: [stops]}}",
        said=("the claim is false", "from normal", "pump switch"),
        good=PUMP + "units: {left pump: {runs when: pump switch at ON, fails: [stops]}}",
        claims_bad="- {claim: left pump running only if pump switch at OFF}",
        claims_good="- {claim: left pump running only if pump switch at ON}",
    ),
    Case(
        "step_without_effect", "step-without-effect", bad=STANDBY, good=STANDBY,
        procedures_bad=procedure("{say: x}, {do: pump switch at ON}"),
        said=("`PUMP LOW`: step 2 does nothing in any run tried",),
        procedures_good=procedure("{do: pump switch at ON}", "pump switch at ON"),
    ),
    Case(
        "step_that_cannot_be_made", "step-barred", bad=STANDBY, good=STANDBY,
        procedures_bad=procedure("{do: test button at IN}"),
        said=(
            "`PUMP LOW`: step 1 cannot be made from normal, after main pump stops: "
            "test button cannot go to IN",
        ),
        procedures_good=procedure("{do: pump switch at OFF}, {do: test button at IN}"),
    ),
    Case(
        "step_never_so", "step-never-so", bad=STANDBY, good=STANDBY,
        procedures_bad=procedure("{check: PUMP LOW not shown}"),
        said=("what step 1 looks for does not come about in any run tried, such as from normal, "
              "after main pump stops",),
        procedures_good=procedure("{check: PUMP LOW shown}"),
    ),
    Case(
        "procedure_that_does_not_secure", "not-secured", bad=STANDBY, good=STANDBY,
        procedures_bad=procedure("{do: pump switch at OFF}"),
        said=("`PUMP LOW` does not bring about `left pump running` from normal, after main pump "
              "stops",),
        procedures_good=procedure("{do: pump switch at ON}"),
    ),
    Case(
        "procedure_without_end", "procedure-without-end", bad=BLINKING, good=BLINKING,
        procedures_bad=procedure("{do: pump switch at ON}"),
        said=("`PUMP LOW` does not come to an end from normal, after main pump stops",),
        procedures_good=procedure("{do: pump switch at OFF}", "pump switch at OFF"),
    ),
    Case(
        "procedure_to_the_impossible", "procedure-impossible",
        bad=STANDBY + "impossible: [pump switch at ON and main pump failed]",
        good=STANDBY + "impossible: [pump switch at ON and main pump running]",
        procedures_bad=procedure("{do: pump switch at ON}"),
        said=("`PUMP LOW`, from normal, after main pump stops: step 1 comes to what can never be",),
        procedures_good=procedure("{do: pump switch at ON}"),
    ),
    Case(
        "procedure_never_called_for", "never-called-for", bad=STANDBY, good=STANDBY,
        procedures_bad=procedure("{say: x}", when="PUMP LOW shown and main pump running"),
        said=("`PUMP LOW` is called for in none of the states that were tried",),
        procedures_good=procedure("{say: x}", when="PUMP LOW shown and pump switch at OFF"),
    ),
)  # fmt: skip

IDS = [f"{case.check}-{i}" for i, case in enumerate(CASES)]


def of(found: tuple[Diagnostic, ...], code: str) -> list[Diagnostic]:
    return [d for d in found if d.code == code]


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_it_is_found(case: Case) -> None:
    found = of(
        check(book_of(case.bad, case.type_bad, case.claims_bad, case.procedures_bad)), case.code
    )
    assert found
    at = 0
    for part in case.said:
        assert part in found[0].message[at:], found[0].message
        at = found[0].message.index(part, at) + len(part)
    assert found[0].kind == case.kind
    assert found[0].mend


@pytest.mark.parametrize("case", CASES, ids=IDS)
def test_it_is_not_found_where_it_is_not(case: Case) -> None:
    found = check(book_of(case.good, case.type_good, case.claims_good, case.procedures_good))
    assert of(found, case.code) == []
    assert of(found, "not-decided") == []


def test_every_check_has_its_case() -> None:
    apart = {"starting_state_with_unknown_setting", "ways_that_disagree"}  # tested below
    names = {one.__name__ for one in (*TEXT_CHECKS, *STATE_CHECKS)}
    assert names - apart == {case.check for case in CASES}


# -- what the table cannot say ----------------------------------------------------------------

IDLE = (
    PUMP
    + """
units: {left pump: {needs: [pump switch at OFF], runs when: pump switch at ON}}
"""
)
FLEET = """\
type: Test type
manual: Test manual
revision: 1
variants:
  T1: {serials: 1-10}
  T2: {serials: 11-20}
  T3: {serials: 21-30}
"""
ON_T2 = """
controls: {pump switch: {positions: [OFF, ON]}}
units:
  left pump:
    source: p.1
    runs when:
      - {when: pump switch at ON, applies to: not T2}
      - {when: pump switch at ON and pump switch at OFF, applies to: T2}
"""


def test_a_starting_state_that_sets_what_follows_is_an_error() -> None:
    book = book_of(IDLE)
    wrong = replace(book.starts[0], settings=(("left pump", "running"),))
    found = of(check(replace(book, starts=(wrong,))), "starting-state")
    assert [d.kind for d in found] == ["error"]
    assert found[0].message == (
        "the starting state `normal` cannot be: "
        "left pump cannot be set to “running”: it follows from other things"
    )
    assert found[0].mend.startswith("Set what it follows from.")


def test_a_bad_starting_state_does_not_hide_the_rest() -> None:
    book = book_of(IDLE)
    wrong = StartingState("wrong", (("left pump", "running"),), book.starts[0].place)
    found = {d.code for d in check(replace(book, starts=(*book.starts, wrong)))}
    assert {"starting-state", "never-running"} <= found


def test_without_any_good_starting_state_no_state_is_spoken_of() -> None:
    book = book_of(IDLE)
    wrong = StartingState("wrong", (("left pump", "running"),), book.starts[0].place)
    found = {d.code for d in check(replace(book, starts=(wrong,)))}
    assert found == {"starting-state", "no-source", "mentioned-nowhere"}


def test_what_holds_on_one_aeroplane_names_it() -> None:
    found = of(check(book_of(ON_T2, FLEET)), "never-running")
    assert [d.message for d in found] == [
        "`left pump` can never run: no possible state brings it about (on T2)"
    ]


def test_what_holds_on_all_aeroplanes_is_told_once() -> None:
    found = of(check(book_of(IDLE, FLEET)), "never-running")
    assert [d.message for d in found] == [
        "`left pump` can never run: no possible state brings it about"
    ]


def test_one_aeroplane_may_be_asked_for() -> None:
    book = book_of(ON_T2, FLEET)
    assert of(check(book, "T1"), "never-running") == []
    assert len(of(check(book, "T2"), "never-running")) == 1


def test_gaps_in_effectivity_are_part_of_it() -> None:
    only = ON_T2.replace("applies to: not T2", "applies to: T1")
    found = of(check(book_of(only, FLEET)), "no-alternative")
    assert [d.message.endswith("on T3") for d in found] == [True]


def test_a_finding_shows_its_line_with_the_text_marked(tmp_path: Path) -> None:
    book, _ = read(write_book(tmp_path, IDLE))
    assert book is not None
    found = of(check(book), "never-running")[0]
    assert render(found).splitlines()[1:3] == [
        "    units: {left pump: {needs: [pump switch at OFF], runs when: pump switch at ON}}",
        "            ^^^^^^^^^",
    ]


def test_what_was_not_decided_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    book = book_of(
        PUMP
        + """
latches: {memory: {set when: pump switch at ON, cleared when: pump switch at OFF}}
units: {left pump: {runs when: memory set}}
"""
    )
    assert of(check(book), "not-decided") == []
    monkeypatch.setattr(ground, "PATIENCE", 0.0)
    monkeypatch.setattr(GuidedRuns, "quickly_to", lambda self, node: None)
    monkeypatch.setattr(Multitude, "meets", lambda self, formula: False)
    monkeypatch.setattr(Multitude, "soon_meets", lambda self, space, node: False)
    found = of(check(book), "not-decided")
    assert found[-1].message.startswith("whether `left pump` can run: not decided.")


def test_a_run_waits_for_what_the_book_says_takes_time() -> None:
    book = book_of("""
controls: {gear lever: {positions: [UP, DOWN], normally: DOWN}}
situations: {frozen: {}}
surfaces:
  gear:
    points: [UP, DOWN]
    starts at: DOWN
    drives:
      normal drive: {to: gear lever, when: not frozen, takes: 10 s}
latches:
  stopped on the way: {set when: gear between UP and DOWN and frozen for 5 s and gear not at UP
    and gear not at DOWN, cleared when: gear at DOWN}
indications:
  GEAR STUCK: {shown when: stopped on the way set and gear lever at DOWN}
""")
    found = {d.code for d in check(book)}
    assert not found & {"not-decided", "never-shown", "never-set"}


def test_memories_that_chase_one_another_by_edges_are_found() -> None:
    found = of(check(book_of(PUMP + """
latches:
  memory:
    set when: pump switch at ON comes on or memory set goes out
    cleared when: memory set comes on
""")), "never-at-rest")  # fmt: skip
    assert "`memory` cannot come to rest after pump switch at ON" in found[0].message


def test_each_named_way_to_fall_is_a_drive_of_its_own() -> None:
    found = check(
        book_of("""
situations: {hot: {}, cold: {}}
surfaces:
  door:
    points: [UP, DOWN]
    falls to DOWN when any of: {heat: hot, both: hot and cold}
""")
    )
    told = [d.message for d in of(found, "drive-never-acts")]
    assert len(told) == 1
    assert "`falls to DOWN (both)`" in told[0]


def test_a_step_without_a_source_is_told() -> None:
    bare = procedure("{check: PUMP LOW shown}, {say: x, source: p.2}").replace("source: p.1", "")
    found = of(check(book_of(STANDBY, procedures=bare)), "no-source")
    told = "`PUMP LOW`: no source is given for the step `PUMP LOW shown`"
    assert [d.message for d in found if "step" in d.message] == [told]


def test_what_a_procedure_speaks_of_is_mentioned() -> None:
    lamp = STANDBY + "situations: {smoke: {}}\n"
    told = "`smoke` is declared, but nothing in the book speaks of it"
    assert told in [d.message for d in check(book_of(lamp))]
    seen = procedure("{check: not smoke}")
    assert told not in [d.message for d in check(book_of(lamp, procedures=seen))]


def test_a_fault_that_has_gone_again_may_call_for_a_procedure() -> None:
    latched = """
controls: {pump switch: {positions: [RESET, ON], normally: ON}}
situations: {hot: {}}
units: {left pump: {needs: [trip clear]}}
latches: {trip: {set when: hot, cleared when: pump switch at RESET and not hot}}
"""
    steps = "{do: pump switch at RESET}, {do: pump switch at ON}"
    reset = procedure(steps, when="left pump not running")
    found = of(check(book_of(latched, procedures=reset)), "step-without-effect")
    assert ["step 2" in d.message for d in found] == [True]


def test_a_list_of_ways_that_lacks_one_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = View.cubes
    book = book_of("""
controls:
  pump switch: {positions: [OFF, ON]}
  spare switch: {positions: [OFF, ON]}
units: {left pump: {runs when: pump switch at ON or spare switch at ON}}
""")
    assert of(check(book), "ways-disagree") == []
    monkeypatch.setattr(View, "cubes", lambda *given: list(whole(*given))[1:])
    assert [d.kind for d in of(check(book), "ways-disagree")] == ["error"]


def test_a_delay_of_a_reading_that_nothing_compares_is_no_stumbling_block() -> None:
    """It is not followed, but its rows are statements like any other."""
    found = check(
        book_of("""
controls: {sw: {positions: [A, B]}}
readings:
  rm: {unit: kg, range: 0 to 100, starts at: 70, moves: [{to: 20, rate: 10, when: sw at B for 1 s}]}
""")
    )
    assert not [one for one in found if one.kind == "error"]


@pytest.mark.parametrize(
    "chapter",
    [
        """
latches:
  flasher: {set when: pump switch at ON, cleared when: flasher set for 1 s or flasher set}
""",
        """
latches:
  flasher: {set when: (pump switch at ON or lamp running) for 4 s, cleared when: lamp running}
units:
  lamp: {kind: lamp, runs when: flasher set}
""",
        """
units:
  lamp: {kind: lamp, runs when: pump switch at ON and not (lamp running) for 2 s}
""",
    ],
)
def test_a_circle_through_a_delay_is_told_by_its_things(chapter: str) -> None:
    found = check(book_of(PUMP + chapter))
    told = [one for one in found if "come to rest" in one.message or "never settle" in one.message]
    assert any("`flasher`" in one.message or "lamp" in one.message for one in told)


def test_what_never_rests_after_several_moves_is_found() -> None:
    all_three = "s0 at B and s1 at B and s2 at B"
    found = check(
        book_of(f"""
controls: {{s0: {{positions: [A, B]}}, s1: {{positions: [A, B]}}, s2: {{positions: [A, B]}}}}
latches:
  m: {{set when: m clear and {all_three}, cleared when: m set and {all_three}}}
""")
    )
    (error,) = (one for one in found if one.code == "never-at-rest" and one.kind == "error")
    assert "`m` cannot come to rest after s2 at B (normal: s0 at B; s1 at B)" in error.message


def test_what_never_rests_may_begin_with_a_delay() -> None:
    found = check(
        book_of("""
controls: {sw: {positions: [A, B], normally: B}}
units:
  relay: {kind: relay, runs when: sw at B or mem set, shed when: (not relay running) for 1 s}
  pump: {kind: pump}
supplies: {bus: {fed by: [{from: pump, through: [relay running]}]}}
latches: {mem: {set when: always, cleared when: bus live}}
""")
    )
    (error,) = (one for one in found if one.code == "never-at-rest")
    assert "after sw at A" in error.message
