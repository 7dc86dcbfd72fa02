"""Every refusal is a message on the error stream and status 2, or JSON of one shape."""

import importlib
import pkgutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

import tellback
from tellback.book.begin import TEMPLATE
from tellback.draw import export, lettering
from tellback.logic.limits import TooLong
from tellback.processes import Gone
from tellback.refusals import Refusal
from tests.cli.commands import run
from tests.small_books import write_book

BOOK = """\
chapter: 32
title: Gear
controls:
  gear lever:
    positions: [UP, DOWN]
    normally: DOWN
    cannot go to UP when: on ground
  switch: {positions: [OFF, ON]}
situations:
  on ground: {normally: yes}
latches:
  flutter: {set when: switch at ON and flutter clear, cleared when: flutter set}
units:
  pump: {kind: pump, runs when: gear lever at UP, fails: [stops]}
readings:
  airspeed: {unit: kt, range: 0 to 400}
  oil temperature: {unit: C, range: 0 to 100}
impossible:
  - on ground and airspeed above 250 kt
"""
SCENARIO = """\
scenarios:
  gear stuck: {from: normal, steps: [set: {on ground: no}]}
"""
SHAPE = ["kind", "message", "mend", "text", "column", "width", "diagnostics"]


class Refused(NamedTuple):
    """A command that is refused: the kind, and what the message must have in it."""

    kind: str
    words: list[str]
    said: list[str]


REFUSED = [
    Refused(
        "misunderstood",
        ["ways", "BOOK", "pumb running"],
        ["there is nothing called `pumb`", "    pumb running\n    ^^^^", "Did you mean `pump`?"],
    ),
    Refused(
        "misunderstood", ["claim", "BOOK", "pump running"], ["not a claim", "`never C`", "`if left"]
    ),
    Refused(
        "misunderstood",
        ["can", "BOOK", "pump running", "--given", "at most few failures"],
        ["not a number of failures", "`at most 1 failure`"],
    ),
    Refused(
        "misunderstood",
        ["can", "BOOK", "pump running", "--given", "at most 99999999999 failures"],
        ["not a number of failures from 0 to 999"],
    ),
    Refused(
        "misunderstood",
        ["can", "BOOK", "pump running", "--given", "at most ² failures"],
        ["`²` is not a number of failures"],
    ),
    Refused(
        "misunderstood",
        ["can", "BOOK", "pump running", "--given", "1 failure"],
        ["not a limit of failures", "`at most 1 failure`"],
    ),
    Refused(
        "bad-setting",
        ["why", "BOOK", "pump running", "--from", "cruise"],
        ["no starting state is called “cruise”", "There are: normal."],
    ),
    Refused(
        "bad-setting",
        ["stops", "BOOK", "pump running", "--with", "gear leaver: UP"],
        ["nothing in the book is called “gear leaver”", "gear lever"],
    ),
    Refused(
        "bad-setting",
        ["effects", "BOOK", "gear lever: MIDDLE"],
        ["gear lever cannot be “MIDDLE”", "It can be: UP, DOWN"],
    ),
    Refused(
        "bad-setting",
        ["effects", "BOOK", "gear lever"],
        ["Write it as `thing: state`", "gear lever: UP"],
    ),
    Refused(
        "bad-setting",
        ["signs", "BOOK", "gear lever: UP"],
        ["“gear lever: UP” is not a failure", "Ask `effects`", "left pump: stops"],
    ),
    Refused(
        "bad-setting",
        ["signs", "BOOK", "airspeed: 270 kt"],
        ["“airspeed: 270 kt” is not a failure", "Ask `effects`"],
    ),
    Refused(
        "bad-setting",
        ["effects", "BOOK", "oil temperature: 70 C"],
        ["“oil temperature: 70 C” does nothing", "No statement of the book looks at its value"],
    ),
    Refused(
        "bad-setting",
        ["why", "BOOK", "pump running", "--with", "pump: ON"],
        ["pump cannot be set to “ON”: it follows from other things", "write `pump: stops`"],
    ),
    Refused("bad-tick", ["revise", "BOOK", "--changed", " "], ["a changed passage has no name"]),
    *(
        Refused("bad-tick", ["revise", "BOOK", *words], ["too long, or has unseen characters"])
        for words in (
            ["--changed", "2" * 101],
            ["--changed", "24\x1b[31m"],
            ["--changed", "24", "--not-needed", "24", "--by", "\udc80"],
        )
    ),
    Refused(
        "bad-setting",
        ["why", "BOOK", "pump running", "--with", "airspeed: 500"],
        ["airspeed cannot be 500", "0 to 400 kt"],
    ),
    Refused(
        "barred",
        ["effects", "BOOK", "gear lever: UP"],
        ["gear lever cannot go to UP in this state", "`cannot go to UP when`"],
    ),
    Refused(
        "enters-impossible",
        ["why", "BOOK", "pump running", "--with", "airspeed: 300 kt"],
        ["normal, with airspeed: 300 kt, comes to what can never be: at once: the book states"],
    ),
    Refused("unsettled", ["effects", "BOOK", "switch: ON"], ["does not come to rest", "flutter"]),
    Refused(
        "unknown-aeroplane",
        ["losses", "BOOK", "pump running", "--aeroplane", "T9"],
        ["there is no aeroplane `T9`", "T1"],
    ),
    Refused("nothing-to-compare", ["compare", "BOOK"], ["T1 with itself", "another revision"]),
    Refused(
        "no-place-for-table",
        ["compare", "BOOK", "BOOK", "-o", "BOOK/type.yaml"],
        ["type.yaml` does not say what to write", ".csv"],
    ),
    Refused(
        "no-place-for-table",
        ["compare", "BOOK", "BOOK", "-o", "BOOK/handouts/table.csv"],
        ["there is no folder", "handouts to write table.csv into", "Make it"],
    ),
    Refused(
        "bad-setting",
        ["signs", "BOOK", "pump stops"],
        ["“pump stops” wants a colon", "Write `pump: stops`."],
    ),
    Refused(
        "bad-setting",
        ["effects", "BOOK", "pump: stops"],
        ["is a failure, no move", "Ask `signs`"],
    ),
    Refused(
        "misunderstood",
        ["can", "BOOK", "never pump running"],
        ["`pump` does not fit here", "Only a claim begins with `never`"],
    ),
    Refused(
        "unknown-procedure",
        ["steps", "BOOK", "before take-off"],
        ["there is no procedure “before take-off” in this book", "folder `procedures`"],
    ),
    Refused(
        "unknown-scenario",
        ["run", "BOOK", "gear sticks"],
        ["there is no scenario “gear sticks” in this book", "Did you mean gear stuck?"],
    ),
    Refused(
        "no-such-step",
        ["what-if", "BOOK", "gear stuck", "--without", "7"],
        ["gear stuck has no step 7", "Its steps are 1 to 1."],
    ),
    Refused(
        "nothing-otherwise",
        ["what-if", "BOOK", "gear stuck"],
        ["nothing is otherwise", "a step to leave out"],
    ),
    Refused(
        "bad-time",
        ["what-if", "BOOK", "gear stuck", "--with", "pump: stops", "--at", "soon"],
        ["`soon` is not a time", "`38 s` or `2 min`"],
    ),
    Refused(
        "bad-setting",
        ["signs", "BOOK", "pump: stops", "--at", "3 s"],
        ["a time is given, but no scenario"],
    ),
    Refused(
        "bad-setting",
        ["signs", "BOOK", "pump: stops", "--scenario", "gear stuck", "--from", "normal"],
        ["a scenario has its own beginning", "`what-if`"],
    ),
    Refused(
        "bad-time",
        ["signs", "BOOK", "pump: stops", "--scenario", "gear stuck", "--at", "9 h"],
        ["gear stuck ends at", "before its end"],
    ),
    Refused(
        "no-supply",
        ["feeds", "BOOK", "pump"],
        ["pump is a unit, and only a supply is fed", "Ask `why` of it."],
    ),
    Refused(
        "no-supply",
        ["feeds", "BOOK", "left buss"],
        ["there is no supply “left buss” in this book", "It has none at all."],
    ),
    Refused(
        "nothing-to-draw",
        ["draw", "BOOK", "geer", "-o", "x.svg"],
        ["no chapter and no thing “geer”", "Did you mean Gear?"],
    ),
    Refused(
        "no-such-picture",
        ["draw", "BOOK", "32", "-o", "x.gif"],
        ["`x.gif` does not say what to write", ".svg, .png, .pdf"],
    ),
    Refused(
        "book-errors", ["fits", "NOWHERE", "x shown"], ["there is no such folder", "nowhere:1:1"]
    ),
    Refused(
        "book-errors",
        ["ways", "BROKEN", "x"],
        ["chapters/24-test.yaml:4:", "`oen`", "chapters/24-test.yaml:5:", "`two`"],
    ),
    Refused("book-errors", ["format", "BROKEN"], ["`oen`"]),
    Refused("bad-command", ["ways", "BOOK"], ["missing argument", "tellback ways --help"]),
    Refused("bad-command", ["ways", "BOOK", "pump", "running"], ["in quotes"]),
    Refused("bad-command", ["fly", "BOOK"], ["no such command 'fly'"]),
    Refused(
        "bad-command",
        ["losses", "BOOK", "pump running", "--order", "0"],
        ["must be from 1 to 999"],
    ),
    *(
        Refused(
            "bad-command",
            [question, "BOOK", "pump running", "--order", "999999999999"],
            ["must be from 1 to 999"],
        )
        for question in ("losses", "stops", "fits")
    ),
    Refused("bad-tick", ["revise", "BOOK", "--read", "pump"], ["who read it", "--by"]),
    Refused("folder-in-use", ["new", "BOOK"], ["in use already", "a new folder"]),
    Refused("bad-file", ["new", "BOOK/type.yaml/below"], ["type.yaml/below", "Name another place"]),
    Refused(
        "bad-file",
        ["draw", "BOOK", "32", "-o", "BOOK/none/x.svg"],
        ["none/x.svg: no such file", "Make the folder first"],
    ),
    Refused(
        "bad-file",
        ["draw", "BOOK", "32", "-o", "BOOK/taken.svg"],
        ["book0/taken.svg: is a directory", "name a file"],
    ),
    Refused(
        "bad-command",
        ["losses", "BOOK", "pump running", "--order", "two"],
        ["'two' is not a whole number"],
    ),
]
JSON_TOO = [
    refused for refused in REFUSED if refused.words[0] not in {"new", "format", "fly", "draw"}
]


@pytest.fixture(scope="module")
def places(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What BOOK, BROKEN and NOWHERE stand for."""
    book, broken = tmp_path_factory.mktemp("book"), tmp_path_factory.mktemp("broken")
    write_book(book, BOOK)
    (book / "scenarios").mkdir()
    (book / "scenarios" / "gear.yaml").write_text(SCENARIO, encoding="utf-8")
    write_book(
        broken, "units:\n  one: {runs when: oen running}\n  three: {runs when: two running}\n"
    )
    (book / "taken.svg").mkdir()
    return {"BOOK": str(book), "BROKEN": str(broken), "NOWHERE": str(book / "nowhere")}


def _filled(words: list[str], places: dict[str, str]) -> Iterator[str]:
    for word in words:
        name, slash, rest = word.partition("/")
        yield f"{places[name]}{slash}{rest}" if name in places else word


def _id(refused: Refused) -> str:
    return " ".join(refused.words)


@pytest.mark.parametrize("refused", REFUSED, ids=_id)
def test_as_text(refused: Refused, places: dict[str, str]) -> None:
    ran = run(*_filled(refused.words, places))
    assert (ran.status, ran.out) == (2, "")
    assert [part for part in refused.said if part not in ran.err] == []


@pytest.mark.parametrize("refused", JSON_TOO, ids=_id)
def test_as_json(refused: Refused, places: dict[str, str]) -> None:
    ran = run(*_filled(refused.words, places), "--json")
    assert (ran.status, ran.err) == (2, "")
    assert list(ran.json) == ["error"]
    assert list(ran.json["error"]) == SHAPE
    assert ran.json["error"]["kind"] == refused.kind


@pytest.mark.parametrize("text", [f"{'(' * 1500}pump running", f"{' ' * 9000}pumb running"])
def test_of_a_long_text_the_part_around_the_place_is_shown(
    text: str, places: dict[str, str]
) -> None:
    _, shown, mark, _ = run("ways", places["BOOK"], text).err.split("\n", 3)
    assert len(shown) < 120
    assert len(shown) >= mark.index("^")


def test_a_text_of_several_lines_is_shown_as_one(places: dict[str, str]) -> None:
    said = run("ways", places["BOOK"], "pump\nrunning\nand\tpumb running").err
    assert "    pump running and pumb running\n                     ^^^^\n" in said


def test_json_has_every_error_of_the_book(places: dict[str, str]) -> None:
    error = run("ways", places["BROKEN"], "x", "--json").json["error"]
    assert error["message"] == "the book has 2 errors"
    assert [(d["line"], d["code"]) for d in error["diagnostics"]] == [
        (4, "unknown-name"),
        (5, "unknown-name"),
    ]


def test_too_long(monkeypatch: pytest.MonkeyPatch) -> None:
    def too_long(*_: object, **__: object) -> None:
        raise TooLong("finding the ways takes more than 0 s of processor time")

    monkeypatch.setattr("tellback.logic.answers.ways.ways_of", too_long)
    ran = run("ways", TEMPLATE, "left bus live")
    assert (ran.status, ran.out) == (2, "")
    assert "more than 0 s of processor time\n  Ask for less" in ran.err


def test_no_example(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for place in ("EXAMPLE", "_PROJECT", "_PACKAGED"):
        monkeypatch.setattr(f"tellback.cli.session.{place}", tmp_path / "away")
    ran = run("demo")
    assert (ran.status, ran.out) == (2, "")
    assert "is not here\n  Give the folder of the example book" in ran.err


@pytest.mark.parametrize("package", ["fontTools.ttLib", "vl_convert"])
def test_nothing_to_draw_with(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, package: str
) -> None:
    monkeypatch.setitem(sys.modules, package, None)
    for keeping in (lettering._widths, export._converter):
        keeping.cache_clear()
    lettering.width.cache_clear()
    ran = run("draw", TEMPLATE, "24", "-o", tmp_path / "x.png")
    assert (ran.status, ran.out) == (2, "")
    assert "drawing needs packages that are not installed here" in ran.err
    assert "  Install Tellback with what it draws with: python -m pip install" in ran.err


def test_not_tidied(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tellback.book.tidy.laid_out", lambda text, _: text.replace("#", "# -"))
    ran = run("format", TEMPLATE)
    assert (ran.status, ran.out) == (2, "")
    assert "nothing was written" in ran.err


def test_a_key_press_stops_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("tellback.logic.answers.ways.ways_of", interrupted)
    ran = run("ways", TEMPLATE, "left bus live")
    assert (ran.status, ran.out, ran.err) == (130, "", "")


@pytest.mark.parametrize("as_json", [False, True])
def test_a_check_cut_short(monkeypatch: pytest.MonkeyPatch, as_json: bool) -> None:
    def ended(*_: object) -> Iterator[None]:
        raise Gone
        yield

    monkeypatch.setattr("tellback.processes.spread", ended)
    monkeypatch.setattr("tellback.cli.keeping.MANY_THINGS", 0)
    ran = run("check", TEMPLATE, *["--json"] * as_json)
    assert ran.status == 2
    assert "was ended from outside" in (ran.json["error"]["message"] if as_json else ran.err)


def test_too_little_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    def too_much(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr("tellback.logic.answers.ways.ways_of", too_much)
    ran = run("ways", TEMPLATE, "left bus live")
    assert (ran.status, ran.out) == (2, "")
    assert "more memory than there is\n  Ask for less" in ran.err


def test_every_kind_of_refusal_is_tried_here() -> None:
    for module in pkgutil.walk_packages(tellback.__path__, "tellback."):
        importlib.import_module(module.name)
    tried = {refused.kind for refused in REFUSED} | {"too-long", "no-example", "not-tidied"}
    tried |= {"cut-short", "own-fault", "busy"}  # the latter two in test_endings and test_files
    tried |= {"too-large"}  # in tests/logic
    tried |= {"nothing-to-undo"}  # in tests/motion: no command goes back
    tried |= {"not-laid-out", "not-installed"}  # in tests/draw
    tried |= {"out-of-reach"}  # what too long and too large have in common
    assert {kind.kind for kind in _all(Refusal)} == tried


def _all(kind: type[Refusal]) -> Iterator[type[Refusal]]:
    for below in kind.__subclasses__():
        yield below
        yield from _all(below)
