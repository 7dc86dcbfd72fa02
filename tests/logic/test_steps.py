"""What a procedure does, on books small enough to work out by hand."""

from __future__ import annotations

import pytest

from tellback.book.model import Book
from tellback.logic.answers.steps import NotSecured, Steps, Tried, UnknownProcedure, steps
from tellback.logic.shown import as_json
from tests.small_books import DEFAULT, book_of

CHAPTER = """\
controls:
  pump switch: {positions: [OFF, ON], normally: ON}
  spare switch: {positions: [OFF, ON]}
  gear lever: {positions: [UP, DOWN], normally: DOWN, cannot go to UP when: spare pump running}
  trim switch: {positions: [DOWN, OFF, UP], normally: OFF, springs: {DOWN: OFF, UP: OFF}}
  magnet: {positions: [OFF, ON], drops to OFF when: spare pump running}
units:
  main pump: {runs when: pump switch at ON, fails: [stops]}
  spare pump: {runs when: spare switch at ON}
supplies:
  circuit: {kind: circuit, fed by: [main pump, spare pump]}
surfaces:
  gear: {points: [UP, DOWN], starts at: DOWN, drives: {jack: {to: gear lever, needs: [circuit],
    takes: 8 s}}}
  stabiliser: {points: [LOW, MID, HIGH], starts at: MID, drives: {
    up: {to: HIGH, when: trim switch at UP, takes: 20 s},
    down: {to: LOW, when: trim switch at DOWN, takes: 20 s}}}
indications:
  LOW: {shown when: circuit lost}
"""
TYPE = DEFAULT + "  flight: {gear lever: UP}\n"


def book_with(lines: str, extra: str = "", called_for: str = "LOW shown") -> Book:
    """A book with one procedure `p`, of these steps."""
    text = (
        f"procedures:\n  p:\n    kind: non-normal checklist\n    called for when: {called_for}\n"
        f"    source: p.1\n{extra}    steps:\n"
    )
    steps_ = "".join(f"      {line}\n" for line in lines.strip("\n").splitlines())
    return book_of(CHAPTER, TYPE, procedures=text + steps_)


def done(lines: str, extra: str = "", start: str = "normal", *changes: str) -> Steps:
    """What that procedure does."""
    return steps(book_with(lines, extra), "P", start=start, changes=changes)


def outcomes(answer: Steps) -> list[tuple[str, str]]:
    return [(step.number, step.outcome) for step in answer.steps]


def test_each_step_settles_before_the_next() -> None:
    answer = done("- do: gear lever at UP\n- check: gear at UP\n- do: pump switch at OFF")
    assert outcomes(answer) == [("1", ""), ("2", "so"), ("3", "")]
    assert [step.seconds for step in answer.steps] == [0, 8, 8]
    assert answer.seconds == 8


def test_a_wait_lets_just_so_much_time_pass() -> None:
    answer = done("- do: gear lever at UP\n- wait: 5 s\n- do: pump switch at OFF")
    assert [step.seconds for step in answer.steps] == [0, 0, 5]
    brought = {d.thing: d.after for d in answer.brought}
    assert brought["gear"] == "in transit between UP and DOWN"


def test_a_wait_for_a_condition_ends_when_it_comes_about() -> None:
    answer = done("- do: gear lever at UP\n- wait: gear moving\n- wait: gear at UP\n- say: up")
    assert outcomes(answer)[1:3] == [("2", "so"), ("3", "so")]
    assert [step.seconds for step in answer.steps] == [0, 0, 0, 8]


def test_a_wait_for_what_never_comes_says_so() -> None:
    answer = done("- do: gear lever at UP\n- wait: circuit lost")
    assert outcomes(answer)[1] == ("2", "never so")


def test_what_springs_back_is_held_until_all_has_settled() -> None:
    answer = done("- do: trim switch at UP")
    assert {d.thing: d.after for d in answer.brought} == {"stabiliser": "HIGH"}
    assert answer.seconds == 10


def test_what_springs_back_is_held_as_long_as_the_wait_says() -> None:
    answer = done("- do: trim switch at UP\n- wait: 6 s\n- check: trim switch at OFF")
    assert outcomes(answer)[2] == ("3", "so")
    assert {d.thing: d.after for d in answer.brought} == {
        "stabiliser": "in transit between MID and HIGH"
    }


def test_a_lock_is_told_with_what_it_bars_and_no_time_passes() -> None:
    answer = done("- do: spare switch at ON\n- do: gear lever at UP")
    assert outcomes(answer) == [("1", ""), ("2", "barred")]
    assert answer.steps[1].barred == "gear lever cannot go to UP"
    assert "2. gear lever at UP: a lock forbids it (gear lever cannot go to UP)" in str(answer)


def test_a_control_that_drops_back_does_not_stay() -> None:
    answer = done("- do: spare switch at ON\n- do: magnet at ON")
    assert outcomes(answer)[1] == ("2", "does not stay")


def test_an_if_goes_on_with_the_branch_that_holds() -> None:
    lines = """
- if: LOW shown
  then:
    - do: spare switch at ON
  otherwise:
    - do: pump switch at OFF
    - if: LOW shown
      then:
        - say: as expected
"""
    assert [n for n, _ in outcomes(done(lines))] == ["1", "1.2", "1.3", "1.3.1"]
    assert [n for n, _ in outcomes(done(lines, "", "normal", "main pump: stops"))] == ["1", "1.1"]


def test_what_the_changes_took_and_the_procedure_gives_back_is_restored() -> None:
    answer = done("- do: spare switch at ON", "", "normal", "main pump: stops")
    assert answer.called_for
    assert {d.thing: d.after for d in answer.restored} == {"circuit": "live", "LOW": "not shown"}
    assert {d.thing: d.after for d in answer.brought} == {"spare pump": "running"}
    assert "Again as it was: circuit live; LOW not shown." in str(answer)


def test_it_says_when_it_is_not_called_for() -> None:
    answer = done("- do: spare switch at ON")
    assert not answer.called_for
    assert "It is not called for here." in str(answer)


def test_what_is_secured_is_told_before_and_after() -> None:
    answer = done("- do: spare switch at ON", "    secures: [circuit live, gear at UP]\n")
    assert [(s.text, s.before, s.after) for s in answer.secured] == [
        ("circuit live", True, True),
        ("gear at UP", False, False),
    ]


def test_it_is_told_from_which_step_on_something_is_secured() -> None:
    lines = "- do: pump switch at OFF\n- say: now\n- do: spare switch at ON\n- do: gear lever at UP"
    answer = done(lines, "    secures: [circuit live, pump switch at OFF]\n")
    assert [s.since for s in answer.secured] == ["3", "1"]
    assert "  Secured: circuit live (from step 3 on; it was so before)." in str(answer).splitlines()


def test_a_step_left_out_is_told_with_what_is_then_not_secured() -> None:
    answer = done(
        "- do: spare switch at ON\n- do: pump switch at OFF", "    secures: circuit live\n"
    )
    first, second = answer.left_out
    assert first.lost == ("circuit live",)
    assert {d.thing: d.after for d in first.differences} == {
        "spare pump": "not running",
        "circuit": "lost",
        "LOW": "shown",
    }
    assert {(d.thing, d.after) for d in second.differences} == {
        ("main pump", "running"),
        ("circuit", "main pump"),
    }


def test_two_neighbours_swapped_are_told_where_it_matters() -> None:
    answer = done("- do: gear lever at UP\n- do: spare switch at ON\n- do: pump switch at OFF")
    (only,) = (swap for swap in answer.swapped if swap.matters)
    assert len(answer.swapped) == 2
    assert only.numbers == ("1", "2")
    assert only.barred == ("1",)
    assert {d.thing for d in only.differences} == {"gear lever", "gear"}


def test_steps_parted_by_a_check_are_not_swapped() -> None:
    answer = done("- do: gear lever at UP\n- check: gear at UP\n- do: spare switch at ON")
    assert answer.swapped == ()


def test_idle_is_what_changes_nothing_and_is_missed_nowhere() -> None:
    lines = "- do: pump switch at ON\n- do: magnet at ON\n- do: spare switch at ON"
    assert [step.idle for step in done(lines).steps] == [True, True, False]


def test_a_step_that_puts_a_control_where_it_is_secured_to_be_is_not_idle() -> None:
    answer = done("- do: magnet at ON", "    secures: magnet at ON\n")
    assert [step.idle for step in answer.steps] == [False]


def test_an_arming_step_that_a_later_one_needs_is_not_idle() -> None:
    answer = done(
        "- do: spare switch at ON\n- do: pump switch at OFF", "", "normal", "gear lever: UP"
    )
    assert [step.idle for step in answer.steps] == [False, False]


def test_what_shows_only_in_the_wait_after_a_step_and_is_undone_later_is_not_idle() -> None:
    answer = done("- do: gear lever at UP\n- wait: 10 s\n- do: gear lever at DOWN")
    assert [step.idle for step in answer.steps] == [False, False, False]


def test_without_a_start_it_begins_where_it_is_called_for() -> None:
    answer = done("- do: spare switch at ON", "    done from: flight\n", "")
    assert answer.start == "flight, after main pump stops"
    assert answer.called_for
    assert {d.thing for d in answer.restored} == {"circuit", "LOW"}


def test_a_flow_begins_in_the_first_state_that_it_is_done_from() -> None:
    flow = "{kind: flow, done from: flight, steps: [{check: LOW shown}]}"
    answer = steps(book_of(CHAPTER, TYPE, procedures=f"procedures: {{p: {flow}}}\n"), "p")
    assert answer.start == "flight"
    assert outcomes(answer) == [("1", "not so")]
    assert answer.tried is None


SECURES = "    secures: [circuit live, spare switch at ON]\n"


def test_it_is_run_from_every_state_to_which_a_single_cause_leads_and_that_calls_for_it() -> None:
    answer = done("- do: spare switch at ON", SECURES)
    assert answer.tried == Tried(("normal", "flight"), 2, 2, 1, False, (), ())
    assert str(answer).splitlines()[-1] == (
        "  Run from all 2 states that call for it after at most one failure, fact or reading "
        "from outside, from normal or flight: all is secured."
    )


def test_what_is_not_secured_is_told_with_every_state() -> None:
    lines = "- if: gear at DOWN\n  then:\n    - do: spare switch at ON"
    answer = done(lines, SECURES)
    assert answer.tried is not None
    assert answer.tried.not_secured == (
        NotSecured("circuit live", ("flight, after main pump stops",)),
        NotSecured("spare switch at ON", ("flight, after main pump stops",)),
    )
    assert (
        str(answer)
        .splitlines()[-1]
        .endswith(
            ": circuit live is not secured from flight, after main pump stops; "
            "spare switch at ON is not secured from flight, after main pump stops."
        )
    )


def test_that_only_several_changes_call_for_it_is_told_as_no_proof() -> None:
    extra = f"    done from: normal\n{SECURES}"
    book = book_with("- do: spare switch at ON", extra, "circuit lost and gear lever at UP")
    answer = steps(book, "p")
    assert answer.tried == Tried(("normal",), 1, 1, 2, False, (), ())
    assert str(answer).splitlines()[-1] == (
        "  No single failure, fact or reading from outside calls for it. Run from 1 state after "
        "several at once, from normal: all is secured. Other states may call for it, too."
    )


def test_it_begins_after_the_control_alone_that_calls_for_it() -> None:
    """Not after a failure as well, which has nothing to do with it; and that is no proof."""
    book = book_with(
        "- do: spare switch at ON", f"    done from: normal\n{SECURES}", "pump switch at OFF"
    )
    answer = steps(book, "p")
    assert answer.start == "normal, after pump switch at OFF"
    assert answer.tried is not None
    assert (answer.tried.together, answer.tried.by_hand) == (2, True)
    assert "after a control moved or several at once, from normal" in str(answer)


def test_it_is_told_if_only_what_is_shown_falsely_calls_for_it() -> None:
    chapter = CHAPTER.replace(", fails: [stops]", "").replace(
        "LOW: {shown when: circuit lost}", "LOW: {shown when: circuit lost, fails: [shown]}"
    )
    text = (
        "procedures: {p: {kind: non-normal checklist, called for when: LOW shown, "
        "secures: circuit live, done from: normal, steps: [{say: x}]}}\n"
    )
    answer = steps(book_of(chapter, TYPE, procedures=text), "p")
    assert answer.tried is not None
    assert answer.tried.falsely
    assert "In each of them something is shown or read falsely." in str(answer)


def test_an_unknown_procedure_is_told_with_those_that_look_like_it() -> None:
    book = book_with("- say: x")
    with pytest.raises(UnknownProcedure) as unknown:
        steps(book, "q")
    assert unknown.value.mend == "There are: p."
    with pytest.raises(UnknownProcedure) as none:
        steps(book_of(CHAPTER), "p")
    assert none.value.mend == "Write it in a file of the folder `procedures`."


def test_it_is_plain_data_as_json() -> None:
    data = as_json(done("- do: spare switch at ON", "    secures: circuit live\n"))
    assert data["answer"] == "steps"
    assert data["steps"][0]["changes"][0]["thing"] == "spare pump"
    assert data["text"].startswith("p, non-normal checklist (normal):")


def test_things_of_one_state_are_told_together_and_what_the_crew_is_shown_last() -> None:
    answer = done("- do: pump switch at OFF\n- do: pump switch at ON and spare switch at ON")
    assert "at once: main pump not running; circuit lost; LOW shown" in str(answer)
    told = "main pump and spare pump running; circuit live, fed by main pump; LOW not shown"
    assert f"at once: {told}" in str(answer)


def test_the_gaps_that_a_surface_goes_through_are_not_told() -> None:
    answer = done("- do: gear lever at UP")
    assert [change.seconds for change in answer.steps[0].changes] == [4, 8]
    lines = str(answer).splitlines()
    assert "       after 8 s: gear at UP" in lines
    assert not any("after 4 s" in line for line in lines)


def test_of_what_goes_to_and_fro_in_one_instant_only_its_end_is_told() -> None:
    """Both arrive after 3 s, one after the other: between them the lamp is on."""
    chapter = """
controls: {lever: {positions: [SHUT, OPEN]}}
surfaces:
  one: {points: [SHUT, OPEN], drives: {all: {to: lever, takes: 3 s}}}
  other: {points: [SHUT, OPEN], drives: {all: {to: lever, takes: 3 s}}}
indications:
  LAMP: {shown when: one at OPEN and other not at OPEN}
"""
    text = "procedures: {p: {kind: flow, done from: normal, steps: [{do: lever at OPEN}]}}\n"
    answer = steps(book_of(chapter, procedures=text), "p")
    assert [c.text for c in answer.steps[0].changes if c.thing == "LAMP"] == [
        "LAMP shown",
        "LAMP not shown",
    ]
    assert "LAMP" not in str(answer)


def test_means_that_are_so_and_those_that_are_not_stand_apart() -> None:
    chapter = """
controls: {lever: {positions: [UP, DOWN]}}
means: {up: {when: lever at UP}, down: {when: lever at DOWN}}
"""
    text = "procedures: {p: {kind: flow, done from: normal, steps: [{do: lever at DOWN}]}}\n"
    answer = steps(book_of(chapter, procedures=text), "p")
    assert "at once: not up; down" in str(answer)


def test_the_note_and_the_reasons_of_a_step_are_told() -> None:
    reason = "  why: [{manufacturer: it runs hot, source: p.9}]"
    answer = done(f"- do: pump switch at OFF\n  note: Both hands.\n{reason}")
    assert "       Both hands.\n       manufacturer: it runs hot (p.9)\n" in str(answer)


def test_steps_that_make_no_difference_are_told_in_one_line() -> None:
    answer = done(
        "- do: spare switch at ON\n- do: spare switch at OFF\n- do: pump switch at OFF\n"
        "- do: pump switch at ON"
    )
    assert "    steps 1 and 3 each: all else ends alike" in str(answer).splitlines()


def test_a_procedure_of_another_aeroplane_is_refused_as_such() -> None:
    two = TYPE.replace("T1: {serials: 1-10}", "T1: {serials: 1-10}\n  T2: {serials: 11-20}")
    text = (
        "procedures:\n  p:\n    kind: flow\n    done from: normal\n    applies to: T2\n"
        "    steps:\n      - do: spare switch at ON\n"
    )
    with pytest.raises(UnknownProcedure) as refused:
        steps(book_of(CHAPTER, two, procedures=text), "p", aeroplane="T1")
    assert "T1 has no “p”" in str(refused.value)
