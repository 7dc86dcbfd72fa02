"""Procedures as read: steps with their branches, sources, members, and what one aeroplane has."""

from __future__ import annotations

from pathlib import Path

import pytest

from tellback.book.conditions import ALWAYS, All, State
from tellback.book.effectivity import aeroplanes, for_aeroplane
from tellback.book.gaps import gaps
from tellback.book.laid_out import Within, laid_out
from tellback.book.model import Book, Procedure
from tellback.book.procedures import all_steps, moves_of
from tellback.book.schema import json_schema
from tellback.book.sentences import sentences
from tellback.book.tidy import tidied, write
from tellback.diagnostics import render
from tests import small_books
from tests.small_books import book_of, read_text, write_book

FLEET = small_books.FLEET + "  at the gate: {left switch: OFF}\n"
CHAPTER = """\
controls:
  <side> switch: {for each: "side in [left, right]", positions: [OFF, ON], normally: ON}
  spare switch: {positions: [OFF, ON], applies to: T2}
  test button: {positions: [OUT, IN], springs: {IN: OUT}}
units:
  <side> pump: {for each: "side in [left, right]", runs when: <side> switch at ON}
  spare pump: {runs when: spare switch at ON, applies to: T2}
indications:
  <SIDE> LOW: {for each: "SIDE in [LEFT, RIGHT]", shown when: <SIDE> pump not running}
"""
PROCEDURES = """\
title: Pumps
source: QRH rev 1
procedures:
  <side> low:
    for each: side in [left, right]
    kind: memory items
    source: p.1
    called for when any of:
      light: <side> LOW shown
      pump: {when: <side> pump not running, source: p.9}
    done from: [normal, at the gate]
    secures: [<side> pump running, "any of (left pump running, right pump running)"]
    note: Either side.
    steps:
      - do: <side> switch at ON
      - wait: 5 s
      - if: <side> LOW shown
        source: p.2
        then:
          - do: left switch at OFF and right switch at OFF
            why: [{manufacturer: it may be the wiring, source: data 1}]
        otherwise:
          - check: <side> pump running
            note: Look twice.
      - say: Land.
  spare:
    kind: flow
    done from: normal
    applies to: T2
    steps:
      - do: spare switch at ON
  all:
    kind: flow
    done from: normal
    steps:
      - do: spare switch at ON
        applies to: T2
      - {wait: left pump running, from memory: yes, source: p.7}
"""


@pytest.fixture(scope="module")
def book() -> Book:
    return book_of(CHAPTER, FLEET, procedures=PROCEDURES)


def named(book: Book, name: str) -> Procedure:
    return next(p for p in book.procedures if p.name == name)


def test_members_are_written_out(book: Book) -> None:
    assert [p.name for p in book.procedures] == ["left low", "right low", "spare", "all"]
    assert named(book, "right low").called_for[0].condition == State("RIGHT LOW", "shown")


def test_steps_come_in_order_with_their_branches(book: Book) -> None:
    steps = named(book, "right low").steps
    assert [step.kind for step in steps] == ["do", "wait", "if", "say"]
    assert [step.kind for step in all_steps(steps)] == ["do", "wait", "if", "do", "check", "say"]
    assert steps[1].seconds == 5
    assert steps[3].statement.condition == ALWAYS
    assert steps[0].statement.place.line == 15


def test_a_step_may_move_several_controls_at_once(book: Book) -> None:
    step = named(book, "left low").steps[2].then[0]
    assert isinstance(step.statement.condition, All)
    assert moves_of(step.statement.condition) == (("left switch", "OFF"), ("right switch", "OFF"))


def test_a_step_without_a_source_has_that_of_what_it_stands_in(book: Book) -> None:
    steps = all_steps(named(book, "left low").steps)
    pages = ["p.1", "p.1", "p.2", "p.2", "p.2", "p.1"]
    assert [step.statement.source for step in steps] == [f"QRH rev 1, {page}" for page in pages]


def test_memory_items_are_all_from_memory_and_other_steps_if_marked(book: Book) -> None:
    assert all(step.from_memory for step in all_steps(named(book, "left low").steps))
    assert [step.from_memory for step in named(book, "all").steps] == [False, True]


def test_what_one_aeroplane_has(book: Book) -> None:
    one = for_aeroplane(book, "T1")
    assert [p.name for p in one.procedures] == ["left low", "right low", "all"]
    assert [step.kind for step in named(one, "all").steps] == ["wait"]
    assert [len(named(for_aeroplane(book, "T2"), "all").steps)] == [2]


def test_a_step_about_what_an_aeroplane_has_not_is_a_gap(book: Book) -> None:
    assert gaps(book) == ()
    other = book_of(CHAPTER, FLEET, procedures=PROCEDURES.replace("        applies to: T2\n", ""))
    (gap,) = gaps(other)
    assert gap.message == "`all` speaks of `spare switch`, which is not there on T1"
    assert [s.kind for s in named(for_aeroplane(other, "T1"), "all").steps] == ["wait"]


def test_serial_numbers_of_a_step_make_an_aeroplane_of_their_own() -> None:
    text = PROCEDURES.replace("        applies to: T2\n", "        applies to: serials 15-20\n")
    assert "T2 serial 15" in aeroplanes(book_of(CHAPTER, FLEET, procedures=text))


def test_tidying_keeps_what_it_says_and_puts_keys_in_order(tmp_path: Path) -> None:
    odd = PROCEDURES.replace(
        "      - do: <side> switch at ON\n",
        "      # first the switch\n      -   source: p.4\n          do: <side> switch at ON\n",
    )
    folder = write_book(tmp_path, CHAPTER, FLEET, procedures=odd)
    write(folder, tidied(folder))
    tidy = (folder / "procedures" / "test.yaml").read_text(encoding="utf-8")
    assert (
        "      # first the switch\n      - do: <side> switch at ON\n        source: p.4\n" in tidy
    )
    assert laid_out(tidy, Within("procedure file")) == tidy


def test_sentences_tell_every_step(book: Book) -> None:
    told = sentences(book)
    assert told[told.index("PROCEDURES") + 1] == (
        "Left low: memory items [QRH rev 1, p.1]. Called for when LEFT LOW is shown or when the "
        "left pump is not running. It secures that the left pump is running, and that the left "
        "pump is running or the right pump is running. Done from normal and at the gate. Step 1: "
        "the left switch to ON. Step 2: wait 5 s. Step 3: if LEFT LOW is shown [QRH rev 1, p.2]. "
        "Step 3.1: the left switch to OFF and the right switch to OFF [QRH rev 1, p.2]. Why "
        "(manufacturer): it may be the wiring [data 1]. Otherwise step 3.2: check that the left "
        "pump is running [QRH rev 1, p.2]. Note: Look twice. Step 4: Land. Note: Either side."
    )


def test_the_schema_has_the_shape_of_a_step() -> None:
    step = json_schema()["$defs"]["step"]
    assert step["properties"]["then"]["items"]["anyOf"][0] == {"$ref": "#/$defs/step"}
    assert step["additionalProperties"] is False


def test_a_book_without_the_folder_has_no_procedures() -> None:
    assert book_of(CHAPTER, FLEET).procedures == ()


def test_all_faults_of_a_file_come_in_one_go() -> None:
    bad = PROCEDURES.replace("switch at ON\n      - wait", "swtch at ON\n      - wiat")
    _, found = read_text(CHAPTER, FLEET, procedures=bad)
    assert len({d.message for d in found}) == 2, [render(d) for d in found]


FORMER = """\
procedures:
  new list: {kind: flow, done from: normal, was: old list, steps: [do: test button at IN]}
  OTHER: {kind: flow, done from: normal, REST steps: [say: Wait.]}
"""


def former(name: str, rest: str = "") -> list[tuple[str, int, int]]:
    """The errors of two lists, of which the first was the other or both were a third."""
    text = FORMER.replace("OTHER", name).replace("REST", rest)
    _, found = read_text(CHAPTER, FLEET, procedures=text)
    return [(d.message, d.place.line, d.place.column) for d in found if d.code == "former-name"]


def test_a_former_name_is_kept_and_wants_no_list_of_that_name() -> None:
    book = book_of(CHAPTER, FLEET, procedures=FORMER.replace("OTHER", "b").replace("REST", ""))
    assert [procedure.was for procedure in book.procedures] == ["old list", ""]
    message = "`old list` is still there, so `new list` cannot have been it"
    assert former("old list") == [(message, 2, 50)]
    assert former("old list", "applies to: T2,") == [(message, 2, 50)]


def test_a_former_name_belongs_to_one_list() -> None:
    assert former("b", "was: Old  List,") == [("`new list` was `Old  List` too", 3, 43)]
    assert former("b", "was: b,") == [("`b` is its name now", 3, 43)]


def test_lists_of_different_aeroplanes_may_have_been_the_same() -> None:
    one = FORMER.replace("was: old list,", "was: old list, applies to: T1,")
    for name, rest in (("old list", "applies to: T2,"), ("b", "was: old list, applies to: T2,")):
        text = one.replace("OTHER", name).replace("REST", rest)
        _, found = read_text(CHAPTER, FLEET, procedures=text)
        assert [d for d in found if d.code == "former-name"] == []


def test_the_schema_and_the_layout_know_a_former_name() -> None:
    assert "was" in json_schema()["$defs"]["procedure"]["properties"]
    text = FORMER.replace("OTHER", "b").replace("REST", "")
    assert "was: old list" in laid_out(text, Within("procedure file"))
