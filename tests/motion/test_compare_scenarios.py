"""Compare tells scenarios: new or gone, written otherwise, and where their runs part."""

from __future__ import annotations

import pytest

import tellback as tb
from tellback.book.model import Book
from tests.small_books import FLEET, book_of

CHAPTER = """
controls:
  switch: {positions: [OFF, ON], normally: ON}
readings:
  speed: {unit: kt, range: 0 to 300, normally: 0}
units:
  pump: {kind: pump, runs when: switch at ON and speed above 100 kt, fails: [stops]}
  fan: {kind: fan, runs when: pump not running for 5 s}
indications:
  PUMP OFF: {kind: light, shown when: pump not running}
"""
SCENARIOS = """
title: Stories
source: T
scenarios:
  speed up:
    source: p.1
    from: normal
    steps:
      - at: 5 s
        set: {speed: to 200 kt in 20 s}
      - when: speed at least 150 kt
        do: switch at OFF
      - ask: Why?
    expects:
      - PUMP OFF shown from 20 s on
  stay: {source: p.2, from: normal, steps: [{at: 3 s, do: switch at OFF}]}
"""


def changed(text: str, *replacements: tuple[str, str]) -> str:
    for old, new in replacements:
        assert old in text
        text = text.replace(old, new)
    return text


def of(chapter: str = CHAPTER, scenarios: str = SCENARIOS) -> Book:
    return book_of(chapter, scenarios=scenarios)


def told(a: Book, b: Book) -> dict[str, list[tuple[str, str, str]]]:
    """What is written otherwise of each scenario that differs."""
    return {
        scenario.scenario: [(c.what, c.before, c.after) for c in scenario.changes]
        for scenario in tb.compare(a, b).scenarios
    }


def test_scenarios_that_are_the_same_are_only_counted() -> None:
    comparison = tb.compare(of(), of(scenarios=SCENARIOS.replace("normal,", "normal ,")))
    assert (comparison.scenarios, comparison.alike) == ((), 2)
    assert "2 scenarios run alike, moment by moment." in str(comparison)


def test_a_scenario_that_one_alone_has_is_told() -> None:
    fewer = SCENARIOS[: SCENARIOS.index("  stay:")]
    a, b = of(), of(scenarios=fewer)
    assert told(a, b) == {"stay": [("removed", "from normal, 1 step", "")]}
    assert told(b, a) == {"stay": [("added", "", "from normal, 1 step")]}
    assert tb.compare(a, b).alike == 1


@pytest.mark.parametrize(
    ("old", "new", "change"),
    [
        ("at least 150 kt\n", "at least 160 kt\n",
         ("step changed",
          "2. as soon as the speed is at least 150 kt, the switch to OFF",
          "2. as soon as the speed is at least 160 kt, the switch to OFF")),
        ("to 200 kt in 20 s", "to 200 kt in 40 s",
         ("step changed", "1. at 5 s, the speed goes to 200 kt in 20 s",
          "1. at 5 s, the speed goes to 200 kt in 40 s")),
        ("      - ask: Why?\n", "", ("step removed", "3. ask: Why?", "")),
        ("      - ask: Why?\n", "      - ask: Why?\n      - say: So.\n",
         ("step added", "", "4. So")),
        ("    from: normal\n", "    from: normal\n    with: {speed: 50}\n",
         ("from", "normal", "normal, with speed: 50")),
        ("    from: normal\n", "    from: normal\n    ends: 60 s\n", ("ends", "", "60 s")),
    ],
)  # fmt: skip
def test_what_is_written_otherwise_is_told_and_nothing_else(
    old: str, new: str, change: tuple[str, str, str]
) -> None:
    assert told(of(), of(scenarios=changed(SCENARIOS, (old, new)))) == {"speed up": [change]}


def test_what_is_expected_otherwise_is_told() -> None:
    other = changed(SCENARIOS, ("from 20 s on", "from 21 s on"))
    assert told(of(), of(scenarios=other)) == {
        "speed up": [
            ("expects removed", "PUMP OFF shown from 20 s on", ""),
            ("expects added", "", "PUMP OFF shown from 21 s on"),
        ]
    }


def test_of_what_only_the_source_has_changed_stands_with_the_sources() -> None:
    comparison = tb.compare(of(), of(scenarios=changed(SCENARIOS, ("p.2", "p.9"))))
    assert (comparison.scenarios, comparison.alike) == ((), 2)
    assert [(c.item, c.before, c.after) for c in comparison.sources] == [
        ("stay", "T, p.2", "T, p.9")
    ]


def test_the_first_moment_at_which_the_runs_part_is_told() -> None:
    comparison = tb.compare(of(), of(changed(CHAPTER, ("above 100 kt", "above 120 kt"))))
    (scenario,) = comparison.scenarios
    parting = scenario.parting
    assert parting is not None
    assert scenario.scenario == "speed up"
    assert parting.seconds == 15
    assert parting.when == "from 15 s on, after step 1 (speed to 200 kt in 20 s)"
    assert parting.a_does == "pump running; fan not running; PUMP OFF not shown"
    assert parting.b_does == ""
    assert "T1 rev 1 in" in str(comparison)
    assert ": nothing of this" in str(comparison)


def test_runs_part_when_the_shorter_of_two_delays_is_over() -> None:
    (scenario,) = tb.compare(of(), of(changed(CHAPTER, ("for 5 s", "for 6 s")))).scenarios
    assert scenario.parting is not None
    assert (scenario.parting.seconds, scenario.parting.a_does) == (25, "fan running")


def test_runs_that_differ_from_the_beginning_say_so() -> None:
    comparison = tb.compare(of(), of(changed(CHAPTER, ("ON and speed", "ON or speed"))))
    partings = [scenario.parting for scenario in comparison.scenarios]
    assert [p and (p.seconds, p.when, p.b_does) for p in partings] == [
        (None, "from the beginning", "pump running; fan not running; PUMP OFF not shown")
    ] * 2
    lines = str(comparison).splitlines()
    assert lines.count("    Runs otherwise from the beginning:") == 1, "told once for both"
    assert lines.index("  stay  [T, p.2]") == lines.index("  speed up  [T, p.1]") + 1


def test_what_one_alone_has_counts_only_where_nothing_that_both_have_differs() -> None:
    light = "  SLOW: {kind: light, shown when: speed below 50 kt}\n"
    (one,) = tb.compare(of(), of(CHAPTER + light)).scenarios
    assert one.parting is not None
    assert (one.parting.seconds, one.parting.b_does) == (10, "SLOW not shown")
    later = changed(CHAPTER + light, ("above 100 kt", "above 120 kt"))
    (both,) = tb.compare(of(), of(later)).scenarios
    assert both.parting is not None
    assert both.parting.seconds == 15


def test_a_renamed_control_and_list_part_no_run() -> None:
    lists = "procedures:\n  off list: {kind: flow, done from: normal, steps: [do: switch at OFF]}\n"
    story = "title: S\nscenarios:\n  s: {from: normal, steps: [{at: 1 s, carry out: off list}]}\n"
    new = CHAPTER.replace("switch: {", "knob: {was: switch, ").replace("switch at", "knob at")
    renamed = lists.replace("off list: {", "list for off: {was: off list, ").replace(
        "switch", "knob"
    )
    a = book_of(CHAPTER, procedures=lists, scenarios=story)
    b = book_of(new, procedures=renamed, scenarios=story.replace("off list", "list for off"))
    comparison = tb.compare(a, b)
    assert (comparison.scenarios, comparison.alike) == ((), 1)


def test_a_step_that_a_lock_forbids_on_one_alone_parts_the_runs() -> None:
    lock = "    cannot go to OFF when: speed above 140 kt\n"
    chapter = CHAPTER.replace(
        "  switch: {positions: [OFF, ON], normally: ON}\n",
        "  switch:\n    positions: [OFF, ON]\n    normally: ON\n" + lock,
    )
    (scenario,) = tb.compare(of(), of(chapter)).scenarios
    assert scenario.parting is not None
    assert scenario.parting.seconds == 20
    assert scenario.parting.b_does == "step 2: switch at OFF: a lock forbids it"


def test_a_scenario_that_cannot_begin_on_one_alone_is_told() -> None:
    flutter = (
        CHAPTER + "latches:\n  l: {set when: l clear and speed below 20 kt, cleared when: l set}\n"
    )
    begun = changed(SCENARIOS, ("    from: normal\n", "    from: normal\n    with: {speed: 10}\n"))
    starts = changed(FLEET, ("  normal: {}", "  normal: {speed: 90}"))
    a, b = (book_of(text, starts, scenarios=begun) for text in (CHAPTER, flutter))
    partings = {s.scenario: s.parting for s in tb.compare(a, b).scenarios}
    assert partings.keys() == {"speed up"}
    parting = partings["speed up"]
    assert parting is not None
    assert parting.a_does == "it begins"
    assert parting.b_does.startswith("it cannot begin, as the aeroplane does not come to rest")


def test_the_json_form_has_the_scenarios() -> None:
    data = tb.as_json(tb.compare(of(), of(changed(CHAPTER, ("above 100 kt", "above 120 kt")))))
    assert data["scenarios"][0]["parting"]["seconds"] == 15
    assert data["alike"] == 1


def test_every_part_of_the_work_is_followed() -> None:
    seen: dict[str, int] = {}

    def follow(parts, work):  # type: ignore[no-untyped-def]
        for part in parts:
            seen[work] = seen.get(work, 0) + 1
            yield part

    tb.compare(of(), of(), follow=follow)
    assert seen == {"Comparing": len(of().things), "Running scenarios": 2}


def test_a_step_written_otherwise_is_told_once() -> None:
    """Of the run only what comes of it is told, and nothing if nothing does."""
    asked = changed(SCENARIOS, ("ask: Why?", "ask: What runs?"))
    (one,) = tb.compare(of(), of(scenarios=asked)).scenarios
    assert [change.what for change in one.changes] == ["step changed"]
    assert one.parting is None
    moved = changed(SCENARIOS, ("at: 3 s, do: switch at OFF", "at: 3 s, set: {speed: 150 kt}"))
    (other,) = tb.compare(of(), of(scenarios=moved)).scenarios
    assert other.parting is not None
    assert "step" not in other.parting.b_does
    assert "pump running" in other.parting.b_does
