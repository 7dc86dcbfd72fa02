"""What a revision makes one read again, and how it is ticked off."""

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

import tellback as tb
from tellback.book.english import claim_text
from tellback.book.rereading import (
    KEPT_FILE,
    NOT_NEEDED,
    TO_DO,
    WRITTEN,
    BadTick,
    Passage,
    Tick,
    dismissed,
    keep,
    kept,
    rereading,
    ticked,
    with_passages,
)
from tests.small_books import book_of, write_book

BOOK = """
controls:
  lever: {positions: [UP, DOWN], source: 24-20 p.1}
units:
  <side> pump:
    for each: side in [left, right]
    runs when:
      when: lever at DOWN
      source: 24-20 p.2
      why:
        - {computed: it would run dry, source: 24-20 p.21}
  valve:
    kind: valve
    runs when: {when: lever at UP, source: 124-20 p.2}
"""
TICK = Tick("A. Reader", "2026-03-01")


def passages(*names: str) -> tuple[Passage, ...]:
    return with_passages((), names)


@pytest.mark.parametrize(
    ("passage", "found"),
    [
        ("24-20 p.2", ["<side> pump"]),
        ("24-20 p.21", ["<side> pump"]),
        ("24-20", ["lever", "<side> pump", "<side> pump"]),
        ("24-2", []),
        ("24-20 p.3", []),
    ],
)
def test_a_passage_is_cited_by_whole_numbers_and_once_for_all_members(
    passage: str, found: list[str]
) -> None:
    list_ = rereading(book_of(BOOK), passages(passage))
    assert [citing.what for citing in list_.citing[passage]] == found


def test_a_passage_is_written_when_all_that_cites_it_was_read() -> None:
    book = book_of(BOOK)
    first = rereading(book, passages("24-20", "24-20 p.3"))
    after_lever = rereading(book, ticked(first, "lever", TICK))
    after_pump = rereading(book, ticked(after_lever, "<side> pump", TICK))
    lists = (first, after_lever, after_pump)
    assert [list_.state(list_.passages[0]) for list_ in lists] == [TO_DO, TO_DO, WRITTEN]
    assert after_pump.state(after_pump.passages[1]) == TO_DO
    end = rereading(book, dismissed(after_pump, "24-20 p.3", TICK))
    assert end.state(end.passages[1]) == NOT_NEEDED


def test_what_is_not_on_the_list_cannot_be_ticked() -> None:
    found = rereading(book_of(BOOK), passages("24-20 p.2"))
    with pytest.raises(BadTick, match="nothing called `lever`"):
        ticked(found, "lever", TICK)
    with pytest.raises(BadTick, match="`29` is not among"):
        dismissed(found, "29", TICK)


def test_the_list_comes_back_as_it_was_kept(tmp_path: Path) -> None:
    found = rereading(book_of(BOOK), passages("24-20", "29"))
    after = ticked(found, "lever", TICK)
    assert ticked(rereading(book_of(BOOK), after), "lever", TICK) == after
    keep(tmp_path, after)
    keep(tmp_path, dismissed(rereading(book_of(BOOK), after), "29", TICK))
    first, second = kept(tmp_path)
    assert (first.read, second.dismissed) == ({"lever": TICK}, TICK)
    assert [path.name for path in tmp_path.iterdir()] == [KEPT_FILE]


NOT_DISMISSED = '"dismissed": null}]'


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "[{}]",
        "3",
        "[3]",
        '{"name": "24"}',
        '[{"name": "24", "read": {"x": 1}}]',
        f'[{{"name": 24, "read": {{}}, {NOT_DISMISSED}',
        f'[{{"name": "24", "read": [], {NOT_DISMISSED}',
        f'[{{"name": "24", "read": {{"x": {{"by": 3, "on": "d"}}}}, {NOT_DISMISSED}',
        f'[{{"name": "24", "read": {{}}, "revision": 4, {NOT_DISMISSED}',
        '[{"name": "24", "read": {}, "dismissed": {"by": "A"}}]',
        "[" * 100_000,
        "9" * 5000,
    ],
    ids=lambda text: text[:60],
)
def test_a_spoilt_list_is_refused_and_left_alone(tmp_path: Path, text: str) -> None:
    (tmp_path / KEPT_FILE).write_text(text)
    with pytest.raises(BadTick, match="cannot be read"):
        kept(tmp_path)
    assert (tmp_path / KEPT_FILE).read_text() == text


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes in this file system")
@pytest.mark.parametrize("put", [os.mkfifo, os.mkdir])
def test_what_is_no_list_is_refused(tmp_path: Path, put: Callable[[Path], None]) -> None:
    put(tmp_path / KEPT_FILE)
    with pytest.raises(BadTick, match="it is not a file"):
        kept(tmp_path)


def test_the_json_form_has_the_passages() -> None:
    data = tb.as_json(rereading(book_of(BOOK), passages("24-20 p.2")))
    assert json.loads(json.dumps(data))["passages"][0]["name"] == "24-20 p.2"


PROCEDURES = """\
title: Lists
source: QRH 29
procedures:
  pump list:
    kind: flow
    source: 29-1
    done from: normal
    steps:
      - do: lever at DOWN
      - check: left pump running
        source: 29-7
  valve list:
    kind: flow
    source: 29-2
    done from: normal
    steps:
      - check: valve closed
"""
SCENARIOS = """\
title: Stories
scenarios:
  pump: {source: T-1, from: normal, steps: [carry out: pump list]}
  valve: {from: normal, steps: [say: nothing], expects: [never valve open]}
"""


def test_lists_and_scenarios_are_read_again_with_what_they_speak_of(tmp_path: Path) -> None:
    write_book(tmp_path, BOOK, procedures=PROCEDURES)
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "stories.yaml").write_text(SCENARIOS, encoding="utf-8")
    found = rereading(tb.read(tmp_path), passages("24-20 p.2", "124-20 p.2", "29-7", "T-1"))
    told = {
        name: [(c.what, c.text) for c in citing if ":" in c.what]
        for name, citing in found.citing.items()
    }
    assert told == {
        "24-20 p.2": [
            ("procedure: pump list", "speaks of <side> pump"),
            ("scenario: pump", "speaks of procedure: pump list"),
        ],
        "124-20 p.2": [
            ("procedure: valve list", "speaks of valve"),
            ("scenario: valve", "speaks of valve"),
        ],
        "29-7": [
            ("procedure: pump list", "check: left pump running"),
            ("scenario: pump", "speaks of procedure: pump list"),
        ],
        "T-1": [("scenario: pump", "")],
    }


CLAIMS = """\
- claim: if lever at DOWN then left pump running
  source: C-1
- claim: always valve open or lever at DOWN
  given: no failures
- claim: never right pump running
  given: [valve closed, no failures]
  source: 24-20 p.2
"""


def test_claims_are_read_again_with_what_they_speak_of() -> None:
    book = book_of(BOOK, claims=CLAIMS)
    found = rereading(book, passages("24-20 p.2", "124-20 p.2"))
    told = {
        name: [(c.what, c.text, c.source) for c in citing if c.what.startswith("claim")]
        for name, citing in found.citing.items()
    }
    first, second, third = (f"claim: {claim_text(claim)}" for claim in book.claims)
    assert third == "claim: never right pump running (given no failures, valve closed)"
    assert told == {
        "24-20 p.2": [
            (third, "", "24-20 p.2"),
            (first, "speaks of <side> pump", "C-1"),
        ],
        "124-20 p.2": [
            (second, "speaks of valve", ""),
            (third, "speaks of valve", "24-20 p.2"),
        ],
    }


def test_a_list_read_again_under_its_former_name_stays_read() -> None:
    book = book_of(BOOK, procedures=PROCEDURES)
    first = rereading(book, passages("29-2"))
    after = ticked(first, "procedure: valve list", TICK)
    now = PROCEDURES.replace("valve list:", "list of valves:\n    was: valve list")
    renamed = rereading(book_of(BOOK, procedures=now), after)
    assert renamed.state(renamed.passages[0]) == WRITTEN
    assert "[x] A. Reader, 2026-03-01, procedure: list of valves (was valve list)" in str(renamed)
    before = rereading(book_of(BOOK, procedures=now), passages("29-2"))
    (passage,) = ticked(before, "procedure: valve list", TICK)
    assert passage.read == {"procedure: list of valves": TICK}


@pytest.mark.parametrize(
    ("source", "passage", "named"),
    [
        ("24-20 p.2", "24", True),
        ("24-20 p.2", "24-20 P. 2", True),
        ("28-20 p.24", "24", False),
        ("28-20 p.2 rev 24", "24", False),
        ("24-20 p.2-4", "24-20 p.3", True),
        ("24-20 p.2-4", "24-20 p.5", False),
        ("24-20 p.2, p.6 and 7", "24-20 p.7", True),
        ("24-20 p.2, p.6 and 7", "24-20 p.6", True),
        ("24-20 p.2, 24-30 p.6", "24-30 p.6", True),
        ("24-20 p.2, 24-30 p.6", "24-20 p.24", False),
    ],
)
def test_a_source_names_a_passage_by_its_pages(source: str, passage: str, named: bool) -> None:
    book = book_of(f"controls: {{lever: {{positions: [UP, DOWN], source: '{source}'}}}}\n")
    found = rereading(book, passages(passage))
    assert [citing.what for citing in found.citing[passage]] == ["lever"] * named


def test_what_was_read_after_one_revision_is_to_be_read_after_the_next() -> None:
    book = book_of(BOOK)
    five = with_passages((), ["24-20 p.1"], "5")
    after = ticked(rereading(book, five), "lever", TICK)
    assert with_passages(after, ["24-20 p.1"], "5") == after
    both = rereading(book, with_passages(after, ["24-20 p.1"], "6"))
    assert both.states == (WRITTEN, TO_DO)
    later = Tick("B. Reader", "2027-03-01")
    end = rereading(book, ticked(both, "lever", later))
    assert [passage.read["lever"] for passage in end.passages] == [TICK, later]
    gone = rereading(book, dismissed(both, "24-20 p.1", later))
    assert gone.states == (WRITTEN, NOT_NEEDED)


def test_a_list_kept_without_revisions_can_still_be_read(tmp_path: Path) -> None:
    (tmp_path / KEPT_FILE).write_text('[{"name": "24", "read": {}, "dismissed": null}]')
    assert kept(tmp_path) == passages("24")


def test_a_member_is_ticked_by_its_own_name_too() -> None:
    found = rereading(book_of(BOOK), passages("24-20 p.2"))
    assert ticked(found, "left pump", TICK)[0].read == {"<side> pump": TICK}


STATED = """
units:
  pump:
    kind: pump
    runs when any of:
      both: {when: valve open and lamp not shown, source: 24-20 p.1}
      one: {when: valve open, source: 24-20 p.1}
  valve: {kind: valve}
supplies:
  line:
    fed by:
      - {from: pump, when: valve open, source: 24-20 p.1}
indications: {lamp: {shown when: pump running}}
"""


def test_each_thing_stands_once_with_its_statements_under_it() -> None:
    lines = str(rereading(book_of(STATED), passages("24-20 p.1"))).splitlines()
    assert [line.partition("  (")[0] for line in lines] == [
        "1 changed passage: 0 written, 0 not needed, 1 to do.",
        "24-20 p.1: to do, 0 of 2 read",
        "  [ ] pump",
        "        runs when, both: valve open and lamp not shown",
        "        runs when, one: valve open",
        "  [ ] line",
        "        fed by: pump when valve open",
    ]


def test_the_json_form_has_the_state_of_each_passage() -> None:
    data = tb.as_json(rereading(book_of(BOOK), passages("24-20 p.2", "29")))
    assert data["states"] == [TO_DO, TO_DO]
