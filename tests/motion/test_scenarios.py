"""Scenarios in time: when what happens comes, what is made of it, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

import tellback as tb
from tellback.book.model import Book
from tellback.book.sentences import sentences
from tellback.diagnostics import Diagnostic
from tellback.logic.settings import BadSetting
from tellback.motion.run import UnknownScenario
from tellback.motion.times import BadTime, clock
from tellback.motion.what_if import NoSuchStep, NothingOtherwise
from tests.small_books import book_of, write_book

CHAPTER = """\
controls:
  lever: {positions: [UP, DOWN]}
  start switch: {positions: [OFF, START], springs: {START: OFF}}
  bell button: {positions: [NORMAL, PRESSED], springs: {PRESSED: NORMAL}}
  valve switch: {positions: [SHUT, OPEN], cannot go to OPEN when: pressure above 50 psi}
readings:
  height: {unit: ft, range: 0 to 2000, normally: 0}
  pressure: {unit: psi, range: 0 to 100, normally: 0}
  flow: {unit: psi, range: 0 to 100, follows: [{reads: 5}]}
  charge: {unit: "%", range: 0 to 100, starts at: 50, moves: [{to: 60, rate: 1}]}
situations:
  on ground: {normally: yes}
units:
  pump: {fails: [stops]}
  starter: {runs when: start switch at START}
  fan: {runs when: height above 400 ft for 3 s}
surfaces:
  gear:
    points: [UP, DOWN]
    starts at: DOWN
    drives:
      up: {to: UP, when: lever at UP and not on ground, needs: [pump running], takes: 10 s}
indications:
  LOW: {shown when: pump not running}
impossible:
  - on ground and height above 20 ft
"""
PROCEDURES = """\
title: Lists
procedures:
  low list:
    kind: memory items
    called for when: pump not running
    steps:
      - do: lever at DOWN
      - wait: 4 s
      - check: LOW shown
"""
CLIMB = """\
  climb:
    source: S-1
    from: normal
    with: {lever: DOWN}
    steps:
      - set: {on ground: no, height: to 1000 ft in 100 s}
      - when: height above 50 ft
        do: lever at UP
      - later: 4 s
        set: {pump: stops}
      - later: 20 s
        set: {pump: works again}
      - at: 60 s
        do: start switch at START
        held: 2 s
      - ask: What runs now?
"""

BELL = """\
      - at: 70 s
        do: bell button at PRESSED
"""


def book_with(folder: Path, scenarios: str) -> tuple[Book | None, tuple[Diagnostic, ...]]:
    from tellback.book.reader import read

    write_book(folder, CHAPTER, procedures=PROCEDURES)
    (folder / "scenarios").mkdir()
    text = f"title: Trials\nsource: CM\nscenarios:\n{scenarios}"
    (folder / "scenarios" / "test.yaml").write_text(text, encoding="utf-8")
    return read(folder)


def sound(folder: Path, scenarios: str = CLIMB) -> Book:
    book, found = book_with(folder, scenarios)
    assert book is not None, found
    return book


def intervals(book: Book, question: str) -> list[tuple[float | None, float | None]]:
    return [(i.begins, i.ends) for i in tb.still(book, "climb", question).intervals]


def test_a_reading_on_its_way_crosses_numbers_at_their_exact_times(tmp_path: Path) -> None:
    book = sound(tmp_path)
    # 10 ft a second: above 400 ft from 40 s on, for 3 s at 43 s.
    assert intervals(book, "height above 400 ft") == [(40.0, None)]
    assert intervals(book, "fan running") == [(43.0, None)]


def test_a_surface_stops_without_its_need_and_goes_on_with_it(tmp_path: Path) -> None:
    # 10 s under way from 5 s on, but for the 20 s from 9 s to 29 s without the pump.
    book = sound(tmp_path)
    assert intervals(book, "gear at UP") == [(35.0, None)]
    assert intervals(book, "gear at DOWN") == [(None, 30.0)]


TURNED = """\
controls:
  lever: {positions: [UP, DOWN]}
  hurry: {positions: [NO, YES]}
surfaces:
  gear:
    points: [UP, DOWN]
    drives:
      usual: {to: lever, when: hurry at NO, takes: 10 s}
      quick: {to: lever, takes: 2 s}
"""


@pytest.mark.parametrize(
    ("steps", "spans"),
    [
        # 2 s on the way down, 2 s back up: at the end as at the beginning.
        (["2 s|lever at UP"], [(None, None)]),
        # 3 s down and 2 s back up: 1 s is left of the way from UP when it turns anew.
        (["3 s|lever at UP", "5 s|lever at DOWN"], [(None, 9.0)]),
        # Back up for longer than it had gone down: it stays at UP, and the way is whole again.
        (["3 s|lever at UP", "8 s|lever at DOWN"], [(None, 13.0)]),
        # Turned 2 s behind the middle: these 2 s back, and 5 s on to UP.
        (["7 s|lever at UP"], [(None, 5.0), (14.0, None)]),
        # 4 s of the first 5 s, and what is left of them five times as fast.
        (["4 s|hurry at YES"], [(None, 4.2)]),
    ],
)
def test_a_surface_turned_on_its_way_goes_back_the_way_it_came(
    tmp_path: Path, steps: list[str], spans: list[tuple[float | None, float | None]]
) -> None:
    moves = "".join(
        f"      - {{at: {time}, do: {move}}}\n" for time, move in (s.split("|") for s in steps)
    )
    write_book(tmp_path, TURNED)
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "test.yaml").write_text(
        "title: T\nscenarios:\n  climb:\n    from: normal\n    steps:\n"
        f"      - do: lever at DOWN\n{moves}",
        encoding="utf-8",
    )
    assert intervals(tb.read(tmp_path), "gear at UP") == spans


def test_a_control_held_returns(tmp_path: Path) -> None:
    assert intervals(sound(tmp_path), "starter running") == [(60.0, 62.0)]


def test_that_a_control_returns_is_told_if_something_changes_with_it(tmp_path: Path) -> None:
    told = str(tb.run(sound(tmp_path, CLIMB + BELL), "climb"))
    assert "1 min 2 s  start switch returns to OFF\n                    starter not running" in told
    assert "bell button returns" not in told


def test_what_began_it_is_not_told_again_as_what_it_came_through(tmp_path: Path) -> None:
    book = sound(tmp_path)
    (starter,) = tb.still(book, "climb", "starter running").intervals
    assert starter.begun == "step 5, start switch at START"
    assert starter.ended == "start switch returns to OFF"
    (high,) = tb.still(book, "climb", "gear not at DOWN").intervals
    assert high.begun == "gear in transit between UP and DOWN"


def test_what_is_otherwise_before_anything_comes_is_told(tmp_path: Path) -> None:
    told = str(tb.what_if(sound(tmp_path), "climb", changes=["pump: stops"])).splitlines()
    assert [line.strip() for line in told[2:5]] == [
        "0 s  + from the beginning",
        "+    pump not running",
        "+    LOW shown",
    ]


def test_an_end_at_the_same_time_is_told_once(tmp_path: Path) -> None:
    book = sound(tmp_path)
    told = str(tb.what_if(book, "climb", changes=["start switch: START"], at="70 s"))
    ends = [line for line in told.splitlines() if "It ends at" in line]
    assert ends == ["    It ends at 1 min 40 s."]


def test_what_began_and_ended_it_is_told(tmp_path: Path) -> None:
    (found,) = tb.still(sound(tmp_path), "climb", "LOW shown").intervals
    assert (found.begins, found.ends) == (9.0, 29.0)
    assert found.begun == "step 3, pump stops (through pump not running)"
    assert found.ended == "step 4, pump works again"


def test_the_time_line_tells_steps_and_what_changes(tmp_path: Path) -> None:
    text = str(tb.run(sound(tmp_path), "climb"))
    assert "5 s  2. lever at UP" in text
    assert "pump not running" in text
    assert "ask: What runs now?" in text
    assert text == str(tb.run(sound_again(tmp_path), "climb"))


def sound_again(folder: Path) -> Book:
    return tb.read(folder)


def test_what_is_expected_is_judged_by_the_run(tmp_path: Path) -> None:
    expects = (
        "    expects: [fan running from 43 s on, never fan running, LOW shown from 9 s to 30 s, "
        "starter running at 61 s, always not on ground, fan running at 2 h]\n"
    )
    book = sound(tmp_path, CLIMB + expects)
    verdicts = [v.met for v in tb.run(book, "climb").verdicts]
    assert verdicts == [True, False, False, True, True, False]
    told = str(tb.run(book, "climb")).splitlines()
    assert "  As expected: fan running from 43 s on" in told
    assert "  NOT as expected: never fan running (so from 43 s on)" in told
    assert sum(line.startswith("  NOT as expected: ") for line in told) == 3
    messages = [d.message for d in tb.check(book) if d.code == "scenario"]
    assert messages == [
        "`climb` does not bring “never fan running”: so from 43 s on",
        "`climb` does not bring “LOW shown from 9 s to 30 s”: so from 9 s to 29 s",
        "`climb` does not bring “fan running at 2 h”: it ends at 1 min 40 s",
    ]


def test_what_never_comes_and_what_is_barred_is_found(tmp_path: Path) -> None:
    book = sound(
        tmp_path,
        "  climb:\n    from: normal\n    steps:\n"
        "      - set: {pressure: 60 psi}\n"
        "      - do: valve switch at OPEN\n"
        "      - when: pump not running\n        say: never\n",
    )
    messages = [d.message for d in tb.check(book) if d.code == "scenario"]
    assert any("a lock forbids it" in message for message in messages)
    assert any("waits for pump not running, and that never comes" in m for m in messages)


def test_a_run_ends_where_it_comes_to_what_cannot_be(tmp_path: Path) -> None:
    book = sound(
        tmp_path,
        "  climb:\n    from: normal\n    steps:\n"
        "      - set: {height: to 100 ft in 100 s}\n"
        "      - at: 40 s\n        do: lever at UP\n"
        "      - when: pump not running\n        say: never\n"
        "    expects: [always pump running, never LOW shown, lever at DOWN at 10 s]\n",
    )
    told = str(tb.run(book, "climb"))
    assert "height passes 20 ft: this can never be, says the book" in told
    assert "  It ends at 20 s.\n  It is broken off: the book states “on ground and height" in told
    assert "lever at UP" not in told
    assert "As expected" not in told
    assert "Never came" not in told
    messages = [d.message for d in tb.check(book) if d.code == "scenario"]
    assert len(messages) == 4
    assert sum("this can never be" in message for message in messages) == 1
    assert sum("it is broken off at 20 s" in message for message in messages) == 3
    within = str(tb.signs_within(book, "climb", ["pump: stops"], at="10 s"))
    assert "broken off" in within
    assert "broken off" in str(tb.what_if(book, "climb", changes=["pump: stops"], at="10 s"))
    assert "broken off" in str(tb.still(book, "climb", "LOW shown"))


def test_a_procedure_is_carried_out_step_by_step(tmp_path: Path) -> None:
    book = sound(
        tmp_path,
        "  climb:\n    from: normal\n    steps:\n"
        "      - set: {pump: stops}\n"
        "      - carry out: low list\n        pace: 2 s\n",
    )
    lines = [(line.seconds, line.number, line.outcome) for line in tb.run(book, "climb").lines]
    assert lines[1:] == [(0.0, "2", ""), (2.0, "2.1", ""), (6.0, "2.2", ""), (8.0, "2.3", "so")]


def test_what_if_shows_only_what_is_otherwise_as_such(tmp_path: Path) -> None:
    book = sound(tmp_path)
    found = tb.what_if(book, "climb", changes=["pump: stops"], at="50 s")
    assert {beside.where for beside in found.lines} == {"both", "otherwise"}
    without = tb.what_if(book, "climb", without=[3])
    assert any(b.where == "as written" and b.line.text == "pump stops" for b in without.lines)
    with pytest.raises(NothingOtherwise):
        tb.what_if(book, "climb")
    with pytest.raises(NoSuchStep):
        tb.what_if(book, "climb", without=[9])


def test_an_unknown_scenario_is_refused_with_a_near_name(tmp_path: Path) -> None:
    with pytest.raises(UnknownScenario) as refusal:
        tb.run(sound(tmp_path), "clim")
    assert refusal.value.mend == "Did you mean climb?"


@pytest.mark.parametrize(
    ("step", "message"),
    [
        ("- {do: lever at SIDEWAYS}", "SIDEWAYS"),
        ("- {at: soon, do: lever at UP}", "`soon` is not a time"),
        ("- {do: lever at UP, say: both}", "a step does one thing"),
        ("- {set: {lever: UP}}", "`lever` is moved by hand"),
        ("- {set: {height: 9000 ft}}", "9000 ft is outside the range of `height`"),
        ("- {set: {gear: UP}}", "`gear` follows from other things"),
        ("- {set: {pump: explodes}}", "`explodes` is no failure of pump"),
        ("- {carry out: no list}", "there is no procedure `no list`"),
        ("- {at: 3 s, later: 2 s, say: x}", "the step has `at` and, besides, `when` or `later`"),
    ],
)
def test_a_step_that_cannot_be_is_an_error(tmp_path: Path, step: str, message: str) -> None:
    book, found = book_with(tmp_path, f"  climb:\n    from: normal\n    steps:\n      {step}\n")
    assert book is None
    assert any(message in diagnostic.message for diagnostic in found), found


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ("    steps: [say: x]\n    expects: [pump running from 4 to 5]\n", "`4` is not a time"),
        ("    steps: [say: x]\n    expects: [pump running from 4 to 5 s]\n", "`4` is not a time"),
        ("    with: {pump: explodes}\n    steps: [say: x]\n", "`pump` is a unit"),
        (
            "    steps:\n      - set: {height: to 100 ft in 0 s}\n",
            "the time must be more than zero",
        ),
        ("    steps:\n      - set: {flow: 3 psi}\n", "`flow` follows from other things"),
        ("    steps:\n      - set: {charge: 3 %}\n", "`charge` follows from other things"),
    ],
)
def test_what_cannot_be_read_is_an_error_and_no_crash(
    tmp_path: Path, lines: str, message: str
) -> None:
    book, found = book_with(tmp_path, f"  climb:\n    from: normal\n{lines}")
    assert book is None
    assert any(message in diagnostic.message for diagnostic in found), found


def test_what_is_otherwise_from_the_beginning_reads_as_in_a_book(tmp_path: Path) -> None:
    book = sound(tmp_path)
    found = tb.what_if(book, "climb", changes=["Height: 10 ft", "pump: stops"])
    assert any(b.where == "otherwise" and b.line.changes for b in found.lines) or found.waiting[1]
    on_its_way = tb.what_if(book, "climb", changes=["pressure: to 60 psi in 6 s"])
    assert on_its_way.ends[1] == on_its_way.ends[0]
    with pytest.raises(BadSetting):
        tb.what_if(book, "climb", changes=["height: high"])


def test_from_0_s_is_from_the_beginning(tmp_path: Path) -> None:
    book = sound(tmp_path, CLIMB + "    expects: [gear at DOWN from 0 s to 30 s]\n")
    (verdict,) = tb.run(book, "climb").verdicts
    assert verdict.met, verdict


def test_a_position_can_stand_before_the_time_at_which_it_is_so(tmp_path: Path) -> None:
    text = CHAPTER.replace("[UP, DOWN]\n    starts at: DOWN", "[0, 15]\n    starts at: 15")
    text = text.replace("to: UP,", "to: 0,")
    from tellback.book.reader import read

    write_book(tmp_path, text, procedures=PROCEDURES)
    (tmp_path / "scenarios").mkdir()
    scenario = CLIMB + "    expects: [gear at 15 at 2 s]\n"
    lines = f"title: Trials\nsource: CM\nscenarios:\n{scenario}"
    (tmp_path / "scenarios" / "test.yaml").write_text(lines, encoding="utf-8")
    book, found = read(tmp_path)
    assert book is not None, found
    (verdict,) = tb.run(book, "climb").verdicts
    assert verdict.met, verdict


def test_a_scenario_can_begin_with_a_failure(tmp_path: Path) -> None:
    book = sound(tmp_path, CLIMB.replace("{lever: DOWN}", "{lever: DOWN, pump: Stops}"))
    assert intervals(book, "LOW shown") == [(None, 29.0)]


def test_what_is_added_has_no_number_and_what_is_left_out_is_told(tmp_path: Path) -> None:
    book = sound(tmp_path)
    added = tb.what_if(book, "climb", changes=["pump: stops"], at="1 min")
    assert [b.line.number for b in added.lines if b.line.text == "pump stops"] == ["3", ""]
    assert "left out: lever at UP" in str(tb.what_if(book, "climb", without=[2]))
    assert "left out: pump" in str(tb.what_if(book, "climb", without=[3]))


def test_a_time_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadTime, match="`soon` is not a time"):
        tb.what_if(sound(tmp_path), "climb", changes=["pump: stops"], at="soon")


def test_of_what_goes_to_and_fro_at_one_time_its_end_is_told(tmp_path: Path) -> None:
    """Two surfaces arrive together; between them, for no time at all, the light is on."""
    chapter = """\
controls:
  lever: {positions: [UP, DOWN]}
surfaces:
  left door:
    points: [OPEN, SHUT]
    drives: {shut: {to: SHUT, when: lever at DOWN, takes: 2 s}}
  right door:
    points: [OPEN, SHUT]
    drives: {shut: {to: SHUT, when: lever at DOWN, takes: 2 s}}
indications:
  DOORS DIFFER: {shown when: left door at SHUT and right door not at SHUT}
"""
    write_book(tmp_path, chapter)
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "test.yaml").write_text(
        "title: T\nscenarios:\n  shut: {from: normal, steps: [do: lever at DOWN]}\n",
        encoding="utf-8",
    )
    text = str(tb.run(tb.read(tmp_path), "shut"))
    assert "left door and right door at SHUT" in text
    assert "DOORS DIFFER" not in text


def test_a_scenario_is_told_in_sentences(tmp_path: Path) -> None:
    scenario = CLIMB.replace(
        "      - ask:",
        "      - set: {pressure: to 9 psi at 2 psi a second, on ground: no, height: 900 ft}\n"
        "      - when: height above 950 ft\n        later: 2 s\n        carry out: low list\n"
        "      - {say: Well done., note: A pause.}\n"
        "      - expect: LOW not shown\n"
        "      - ask:",
    )
    book = sound(tmp_path, scenario + "    expects: always fan available\n    ends: 3 min\n")
    (told,) = (text for text in sentences(book) if text.startswith("Climb:"))
    for part in (
        "Climb: from normal, with lever DOWN [CM, S-1].",
        "Step 1: on ground is no and the height goes to 1000 ft in 100 s.",
        "Step 2: as soon as the height is above 50 ft, the lever to UP.",
        "Step 3: 4 s later, the pump fails (stops).",
        "Step 4: 20 s later, the pump works again.",
        "Step 5: at 60 s, the start switch to START, held for 2 s.",
        "Step 6: the pressure goes to 9 psi at 2 psi a second, on ground is no and height is "
        "900 ft.",
        "Step 7: 2 s after the height is above 950 ft, low list is carried out, a step every 3 s.",
        "Step 8: Well done. Note: A pause.",
        "Step 9: expect that LOW is not shown.",
        "Step 10: ask: What runs now? Expected: always fan available. It ends at 3 min.",
    ):
        assert part in told


def test_what_never_settles_is_told_with_its_round(tmp_path: Path) -> None:
    """A pump that cools itself off: on for 4 s, off for 6 s, and so on."""
    write_book(
        tmp_path,
        "controls:\n  switch: {positions: [OFF, ON]}\n"
        "latches:\n"
        "  hot: {set when: pump running for 4 s, cleared when: pump not running for 6 s}\n"
        "units:\n  pump: {runs when: switch at ON and hot clear}\n",
    )
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "test.yaml").write_text(
        "title: T\nscenarios:\n  on: {from: normal, steps: [do: switch at ON]}\n"
        "  briefly: {from: normal, steps: [do: switch at ON], ends: 15 s}\n",
        encoding="utf-8",
    )
    book = tb.read(tmp_path)
    told = str(tb.run(book, "on"))
    assert "It is broken off: the same comes again every 10 s, without end: " in told
    (found,) = (d for d in tb.check(book) if d.code == "scenario")
    assert "the same comes again every 10 s" in found.message
    spans = tb.still(book, "briefly", "pump running").intervals
    assert [(span.begins, span.ends) for span in spans] == [(None, 4.0), (10.0, 14.0)]


def test_what_springs_back_is_held_through_the_waits_after_it(tmp_path: Path) -> None:
    """As docs/meaning.md has it of procedures."""
    from tellback.book.reader import read

    lists = (
        "title: Lists\nprocedures:\n  start list:\n    kind: flow\n    done from: normal\n"
        "    steps:\n"
        "      - do: start switch at START\n      - wait: 4 s\n      - wait: starter running\n"
        "      - say: Done.\n"
    )
    write_book(tmp_path, CHAPTER, procedures=lists)
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "test.yaml").write_text(
        "title: T\nscenarios:\n  climb: {from: normal, steps: [carry out: start list]}\n",
        encoding="utf-8",
    )
    book, found = read(tmp_path)
    assert book is not None, found
    assert intervals(book, "starter running") == [(3.0, 7.0)]


LATE = """\
controls:
  lever: {positions: [A, B, C, D]}
situations:
  one: {normally: no}
  two: {normally: no}
  three: {normally: no}
  four: {normally: no}
units:
  pump: {fails: [stops]}
indications:
  ODD: {shown when: one and two and three and four and pump not running}
"""
LATE_LIST = """\
title: Lists
procedures:
  odd list:
    kind: non-normal checklist
    called for when: ODD shown
    secures: lever at B
    steps:
      - do: lever at B
"""
FROM = "done from: normal"
LATE_SCENARIO = """\
title: T
scenarios:
  odd:
    from: normal
    steps:
      - set: {one: yes, two: yes, three: yes, four: yes, pump: stops}
      - carry out: odd list
"""


def test_a_list_that_a_scenario_calls_for_is_called_for(tmp_path: Path) -> None:
    """The check tries few things at a time; here it takes five."""
    write_book(tmp_path, LATE, procedures=LATE_LIST)
    codes = [found.code for found in tb.check(tb.read(tmp_path))]
    assert "never-called-for" in codes
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "odd.yaml").write_text(LATE_SCENARIO, encoding="utf-8")
    codes = [found.code for found in tb.check(tb.read(tmp_path))]
    assert "never-called-for" not in codes


@pytest.mark.parametrize("step", ["check", "wait"])
def test_what_a_step_looks_for_comes_about_if_it_does_in_a_scenario(
    tmp_path: Path, step: str
) -> None:
    plain = LATE_LIST.replace("non-normal", "normal").replace("called for when: ODD shown", FROM)
    lists = plain.replace(
        "- do: lever at B",
        f"- if: ODD shown\n        then: [say: so]\n        otherwise: [{step}: pump running]\n"
        f"      - {step}: ODD shown\n      - do: lever at B",
    )
    write_book(tmp_path, LATE, procedures=lists)
    amiss = "`odd list`: what step 2 looks for does not come about in any run tried"
    assert any(one.message.startswith(amiss) for one in tb.check(tb.read(tmp_path)))
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "odd.yaml").write_text(LATE_SCENARIO, encoding="utf-8")
    assert "step-never-so" not in [one.code for one in tb.check(tb.read(tmp_path))]
    without = LATE_SCENARIO.replace("four: yes, ", "")
    (tmp_path / "scenarios" / "odd.yaml").write_text(without, encoding="utf-8")
    assert "step-never-so" in [one.code for one in tb.check(tb.read(tmp_path))]


@pytest.mark.parametrize("secured", ["lever at B", "pump running"])
def test_what_a_list_secures_is_tried_where_a_scenario_calls_for_it(
    tmp_path: Path, secured: str
) -> None:
    lists = LATE_LIST.replace("secures: lever at B", f"secures: {secured}")
    write_book(tmp_path, LATE, procedures=lists, scenarios=LATE_SCENARIO)
    told = [one.message for one in tb.check(tb.read(tmp_path)) if one.code == "scenario"]
    missed = f"`odd list` does not bring about `{secured}` from where `odd` begins it at 0 s"
    assert told == ([] if secured == "lever at B" else [missed])


def test_what_is_otherwise_at_the_start_has_its_unit(tmp_path: Path) -> None:
    book = sound(
        tmp_path,
        "  climb:\n    from: normal\n"
        "    with: {lever: DOWN, height: 15 ft, on ground: yes}\n"
        "    steps: [{at: 5 s, ask: What now?}]\n",
    )
    assert tb.run(book, "climb").start == "normal, with lever: DOWN, height: 15 ft, on ground: yes"


def test_a_plain_number_is_told_without_a_unit(tmp_path: Path) -> None:
    shaky = CHAPTER.replace("readings:\n", "readings:\n  shake: {unit: none, range: 0 to 10}\n")
    shaky = shaky.replace("shown when: pump not running", "shown when: shake above 4")
    write_book(tmp_path, shaky)
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "test.yaml").write_text(
        "title: Trials\nscenarios:\n  climb:\n    from: normal\n    with: {shake: 1}\n    steps:\n"
        "      - set: {shake: 2}\n"
        "      - set: {shake: to 6 in 4 s}\n"
    )
    run = tb.run(tb.read(tmp_path), "climb")
    assert run.start == "normal, with shake: 1"
    assert [line.text for line in run.lines] == ["shake 2", "shake to 6 in 4 s", "shake passes 4"]


GEAR_UP = """\
  climb:
    from: normal
    with: {on ground: no, lever: DOWN}
    steps:
      - do: lever at UP
"""
STOPPED = """\
      - at: 7 s
        set: {pump: stops}
"""


@pytest.mark.parametrize(("steps", "told"), [(GEAR_UP, False), (GEAR_UP + STOPPED, True)])
def test_that_a_surface_is_on_its_way_is_told_only_where_it_stops(
    tmp_path: Path, steps: str, told: bool
) -> None:
    text = str(tb.run(sound(tmp_path, steps), "climb"))
    assert ("gear in transit between UP and DOWN" in text) == told


def test_that_a_surface_is_on_its_way_is_told_with_what_that_brings(tmp_path: Path) -> None:
    write_book(tmp_path, CHAPTER.replace("pump not running}", "gear not at DOWN}"))
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "test.yaml").write_text(f"title: Trials\nscenarios:\n{GEAR_UP}")
    (line,) = [line for line in tb.run(tb.read(tmp_path), "climb").lines if line.seconds == 5]
    assert {change.thing for change in line.changes} == {"gear", "LOW"}


FLIPS = """
controls:
  switch: {positions: [OFF, ON]}
latches:
  hot: {set when: pump running for 4 s, cleared when: pump not running for 6 s}
units:
  pump: {runs when: switch at ON and hot clear}
"""


@pytest.mark.parametrize(
    ("switch", "with_", "code", "message"),
    [
        ("ON", "", "starting-state", "the starting state `normal` never settles"),
        ("OFF", "with: {switch: ON}, ", "scenario", "`on` cannot begin: the aeroplane does not"),
    ],
)
def test_what_does_not_settle_from_the_start_is_a_finding(
    switch: str, with_: str, code: str, message: str
) -> None:
    book = book_of(
        FLIPS.replace("ON]}", f"ON], normally: {switch}}}"),
        scenarios="title: T\nscenarios:\n"
        f"  on: {{from: normal, {with_}steps: [do: switch at OFF]}}\n",
    )
    found = [d for d in tb.check(book) if d.code == code]
    assert len(found) == 1
    assert found[0].message.startswith(message)


DRAINED = """
controls: {switch: {positions: [OFF, ON]}}
latches: {burning: {set when: switch at ON, cleared when: never}}
units: {generator: {runs when: burning set and not (burning set for 13 min)}}
"""
BURNS = """\
title: Oxygen
scenarios:
  burns:
    from: normal
    steps:
      - at: 5 s
        do: switch at ON
"""


def test_a_long_delay_is_told_in_minutes(tmp_path: Path) -> None:
    """It stood there as the condition is kept inside: `for 780 s`."""
    book = tb.read(write_book(tmp_path, DRAINED, scenarios=BURNS))
    (span,) = tb.still(book, "burns", "generator running").intervals
    assert span.ended == "as burning set for 13 min"


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (41, "41 s"),
        (123.54, "2 min 3.5 s"),
        (7199.9, "119 min 59.9 s"),
        (9999999999, "2777777 h 46 min 39 s"),
    ],
)
def test_a_time_on_the_line_is_told_in_hours_minutes_and_seconds(seconds: float, told: str) -> None:
    assert clock(seconds) == told


def test_a_control_may_be_stuck_when_a_scenario_begins() -> None:
    """Its failure was left out, as it is none of the control's positions."""
    book = book_of(
        "controls: {switch: {positions: [OFF, ON], fails: [stuck]}}",
        scenarios="""
title: Stuck
scenarios:
  stuck:
    from: normal
    with: {switch: stuck}
    steps:
      - {at: 0 s, do: switch at ON}
""",
    )
    (line,) = tb.run(book, "stuck").lines
    assert line.outcome == "a lock forbids it"
