"""What somebody who writes a first book gets wrong: one error each, with what mends it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tellback.book.reader import read
from tests.small_books import write_book

CHAPTER = """\
chapter: 35
title: Oxygen
controls:
  supply button: {positions: [OFF, ON]}
  <pilot> mask: {for each: "pilot in [captain, co-pilot]", positions: [STOWED, WORN]}
situations:
  essential feeding: {normally: yes}
readings:
  cabin altitude: {unit: ft, range: 0 to 40000, normally: 7000}
  seats: {unit: none, range: 0 to 90}
units:
  source: {runs when: essential feeding, fails: [stops]}
  <pilot> regulator:
    for each: pilot in [captain, co-pilot]
    runs when: <pilot> mask at WORN
supplies:
  essential bus: {kind: bus, fed by: [source]}
surfaces:
  supply valve:
    points: [CLOSED, OPEN]
    drives:
      motor: {to: OPEN, when: supply button at ON, takes: 2 s}
indications:
  CABIN ALT: {shown when: cabin altitude above 10000 ft for 5 s and seats above 5}
"""
LIST = """\
title: Lists
procedures:
  mask list:
    kind: flow
    done from: normal
    steps:
      - do: captain mask at WORN
"""
STORY = """\
title: Stories
scenarios:
  decompression:
    from: normal
    steps:
      - set: {cabin altitude: to 25000 ft in 60 s}
"""
CLAIMS = "- {claim: if CABIN ALT shown then source running, given: no failures}\n"


def errors(folder: Path) -> list[tuple[str, str]]:
    _, found = read(folder)
    return [(d.message, d.mend) for d in found if d.kind == "error"]


def whole(tmp_path: Path, old: str = "", new: str = "") -> Path:
    """The book with one thing written otherwise."""
    texts = [text.replace(old, new) if old else text for text in (CHAPTER, CLAIMS, LIST, STORY)]
    assert not old or sum(old in text for text in (CHAPTER, CLAIMS, LIST, STORY)) == 1
    chapter, claims, procedures, scenarios = texts
    return write_book(tmp_path, chapter, claims=claims, procedures=procedures, scenarios=scenarios)


def test_the_book_is_sound(tmp_path: Path) -> None:
    assert errors(whole(tmp_path)) == []


SLIPS = [
    (
        "{unit: ft, range: 0 to 40000, normally",
        "{range: 0 to 40000 ft, normally",
        "`cabin altitude` has no `unit`",
        "Add `unit: ...`: its unit of measurement.",
    ),
    (
        "unit: ft,",
        "unit: foots,",
        "`foots` is not a unit known here",
        "Write a unit such as psi, bar, ft, kt, kg, lb, C, V, A, %, rpm, or `none`.",
    ),
    (
        "seats above 5",
        "seats above 5 kg",
        "`seats` is a plain number; this one has a unit",
        "Leave the unit out here, or change the `unit` of the reading.",
    ),
    (
        "range: 0 to 90",
        "range: 0 to 90 kg",
        "this is a plain number, without a unit",
        "Leave the unit out, or change the `unit` of the reading.",
    ),
    (
        "0 to 40000, normally",
        "40000 to 0, normally",
        "the range has no width",
        "Write the smaller number first.",
    ),
    (
        "0 to 40000, normally",
        f"0 to {'9' * 44}, normally",
        "the number is too long",
        "Write it with 40 characters at most.",
    ),
    (
        "for 5 s",
        "for -5 s",
        "the time must be more than zero",
        "Write `5 s`, or leave it out.",
    ),
    ("takes: 2 s", "takes: 0 s", "the time must be more than zero", "Leave it out."),
    (
        "runs when: <pilot>",
        "run when: <pilot>",
        "`<pilot> regulator` has no key `run when`",
        "Did you mean `runs when`?",
    ),
    (
        "do: captain mask at WORN",
        "do: captain mask to WORN",
        "`to` does not fit `captain mask`, which is a control",
        "Write `captain mask at WORN`.",
    ),
    (
        "{to: OPEN, when: supply button at ON, ",
        "{to: supply button, ",
        "`supply valve` has no point OFF, ON as `supply button` has",
        "Give it such points, or write a drive for each position: `to: CLOSED` with "
        "`when: supply button at OFF`.",
    ),
    (
        "fed by: [source]",
        "fed by: [essential feeding]",
        "`essential feeding` is a situation; a unit or supply is expected here",
        "Name a unit or supply. A unit that `runs when: essential feeding` will do.",
    ),
    (
        "given: no failures",
        "given: none",
        "`none` does not say of what there is none",
        "Write `no failures`, or leave `given` out.",
    ),
    (
        "to 25000 ft in 60 s",
        "25000 ft in 60 s",
        "`25000 ft in 60 s` is no number",
        "Write `to 25000 ft in 60 s`.",
    ),
    (
        "chapter: 35",
        "chapter: thirty-five",
        "`thirty-five` is not the number of a chapter",
        "Write it in digits, as `28`.",
    ),
]


@pytest.mark.parametrize(("old", "new", "message", "mend"), SLIPS, ids=[s[1] for s in SLIPS])
def test_a_slip_is_one_error_with_its_mend(
    tmp_path: Path, old: str, new: str, message: str, mend: str
) -> None:
    assert errors(whole(tmp_path, old, new)) == [(message, mend)]


def test_an_empty_file_says_what_it_must_have(tmp_path: Path) -> None:
    folder = whole(tmp_path)
    (folder / "chapters" / "36-air.yaml").write_text("", encoding="utf-8")
    assert errors(folder) == [
        (
            "the file chapters/36-air.yaml is empty",
            "Write `chapter` and `title` in it, and what else it is to state.",
        )
    ]


def test_without_its_first_file_no_start_is_asked_for(tmp_path: Path) -> None:
    """There was an error at each scenario and list: `Write one of .`."""
    folder = whole(tmp_path)
    (folder / "type.yaml").unlink()
    assert errors(folder) == [
        (
            "the file cannot be read: it is not there",
            "Put the file in its place; or this is not the folder of a type book.",
        )
    ]


@pytest.mark.parametrize("file", ["type.yaml", "chapters/24-test.yaml"])
def test_a_file_of_the_book_is_not_its_folder(tmp_path: Path, file: str) -> None:
    folder = whole(tmp_path)
    assert errors(folder / file) == [
        (
            "this is a file, not a folder",
            f"Give the folder of the whole book, perhaps {folder}.",
        )
    ]


@pytest.mark.parametrize("places", ["positions: [OFF, ON]", "points: [CLOSED, OPEN]"])
def test_what_has_no_positions_is_told_once(tmp_path: Path, places: str) -> None:
    """What speaks of its positions is no fault besides; one of them was a traceback."""
    key = places.partition(":")[0]
    more = (
        "  handle: {positions: [IN, OUT], cannot go to IN when: supply button not ON}\n"
        "means: {m: {when: supply valve shut or supply button running}}\n"
    )
    text = CHAPTER.replace(places, "normally: OFF" if key == "positions" else "kind: valve")
    folder = write_book(tmp_path, text.replace("situations:\n", more + "situations:\n"))
    found = [message for message, _ in errors(folder)]
    assert f"has no `{key}`" in " ".join(found)
    assert not [mend for _, mend in errors(folder) if "one of ." in mend]
    assert not [message for message in found if message.endswith("it has ")]


def test_a_key_of_another_section_names_that_section(tmp_path: Path) -> None:
    folder = whole(tmp_path, "supplies:\n", "  # supplies:\n")
    assert errors(folder)[0] == (
        "`essential bus` has no key `fed by`",
        "`fed by` is a key of what stands under `supplies`: is it meant to stand there?",
    )
