"""What a schematic tells is what the book says of that moment, in colours that all can read."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

import tellback as tb
from tellback.book.conditions import State
from tellback.book.model import Book, Surface, Unit
from tellback.draw import elk
from tellback.draw.boxes import STATE, state_lines
from tellback.draw.export import NoSuchPicture, written
from tellback.draw.lettering import broken, width
from tellback.draw.look import DARK, LIGHT, Look
from tellback.draw.schematic import NothingToDraw
from tellback.draw.symbols import symbol
from tellback.draw.wiring import FEEDS, MOVES, NEEDS, Meant, wiring
from tellback.logic.picture import picture_of
from tellback.processes import Gone
from tests.cli.commands import run
from tests.draw.geometry import SVG
from tests.small_books import book_of, write_book

S94 = Path(__file__).parents[2] / "books" / "s94"

CHAPTER = """\
controls:
  tie switch: {positions: [OFF, ON], normally: ON}
  shed switch: {positions: [KEEP, SHED]}
situations:
  called: {normally: no}
means:
  tying: {when: tie switch at ON}
units:
  engine: {kind: engine, fails: [stops]}
  generator: {kind: generator, needs: [engine running], fails: [stops]}
  tie: {kind: contactor, runs when: tying, fails: [stops, keeps running]}
  lamp: {kind: light, needs: [far bus], runs when: called}
supplies:
  near bus:
    kind: bus
    fed by: [generator, far bus through tie]
  far bus:
    kind: bus
    fails: [lost]
    fed by: [near bus through tie]
    shed when: shed switch at SHED
surfaces:
  flap:
    points: [UP, DOWN]
    drives: {any: {to: DOWN, when: called, needs: [far bus], takes: 4 s}}
indications:
  LIT: {kind: light, shown when: far bus live}
"""
SCENARIO = """\
title: T
scenarios:
  call:
    from: normal
    steps:
      - at: 5 s
        set: {called: yes}
"""


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder = tmp_path_factory.mktemp("small")
    write_book(folder, f"chapter: 24\ntitle: Power\n{CHAPTER}")
    (folder / "scenarios").mkdir()
    (folder / "scenarios" / "call.yaml").write_text(SCENARIO, encoding="utf-8")
    return tb.read(folder)


def marks(svg: str) -> dict[str, str]:
    found = ElementTree.fromstring(svg).iter(f"{SVG}g")
    return {g.get("data-thing", ""): g.get("data-mark", "") for g in found if g.get("data-mark")}


def carrying(svg: str) -> set[tuple[str, str]]:
    """The wires that are drawn as carrying something: thick and unbroken."""
    return {
        (line.get("data-from", ""), line.get("data-to", ""))
        for line in ElementTree.fromstring(svg).iter(f"{SVG}polyline")
        if not line.get("stroke-dasharray")
    }


def blade_is_closed(svg: str) -> bool:
    return "M17 2 V10 M17 24 V32 M17 24 V10" in svg


# -- what is connected ------------------------------------------------------------------------


def test_wires_are_what_the_book_says(book: Book) -> None:
    found = wiring(picture_of(book, "").book, [thing.name for thing in book.things])
    assert {(w.source, w.target, w.kind) for w in found.wires} == {
        ("engine", "generator", NEEDS),
        ("generator", "near bus", FEEDS),
        ("far bus", "tie", FEEDS),
        ("tie", "near bus", FEEDS),
        ("tie switch", "tie", MOVES),
        ("far bus", "lamp", NEEDS),
        ("far bus", "flap", NEEDS),
    }
    tie = next(w for w in found.wires if (w.source, w.target) == ("far bus", "tie"))
    assert (Meant("near bus", State("far bus", "live")),) in tie.live


def test_a_supply_tells_the_chapters_of_its_other_consumers(book: Book) -> None:
    found = wiring(picture_of(book, "").book, ["far bus"])
    assert found.outlets == {"far bus": ("24",)}
    assert found.nodes == ("far bus",)


# -- how it stands ----------------------------------------------------------------------------


def test_what_is_live_is_drawn_so(book: Book) -> None:
    (sheet,) = tb.schematic(book, "24").sheets
    assert marks(sheet) == {
        "engine": "on",
        "generator": "on",
        "tie": "on",
        "near bus": "on",
        "far bus": "on",
        "lamp": "ready",
        "flap": "still",
        "tie switch": "still",
    }
    assert ("generator", "near bus") in carrying(sheet)
    assert ("far bus", "tie") in carrying(sheet)


def test_what_is_lost_is_drawn_so(book: Book) -> None:
    (sheet,) = tb.schematic(book, "Power", changes=["engine: stops"]).sheets
    shown = marks(sheet)
    assert (shown["engine"], shown["generator"], shown["near bus"]) == ("failed", "off", "off")
    assert shown["lamp"] == "off"
    assert carrying(sheet) == set()


def test_a_bus_that_is_shed_is_fed_by_nothing(book: Book) -> None:
    (sheet,) = tb.schematic(book, "24", changes=["shed switch: SHED"]).sheets
    assert marks(sheet)["far bus"] == "off"
    assert ("far bus", "lamp") not in carrying(sheet)


def test_a_source_that_waits_for_the_others_is_drawn_as_feeding_when_it_does(
    tmp_path: Path,
) -> None:
    """Its own condition speaks of the sources before it, as nobody else's does."""
    text = """\
chapter: 24
title: Power
units:
  first: {kind: generator, fails: [stops]}
  second: {kind: generator}
supplies:
  bus:
    kind: bus
    fed by: [first, {from: second, when: bus otherwise lost}]
"""
    write_book(tmp_path, text)
    book = tb.read(tmp_path)
    (sheet,) = tb.schematic(book, "24").sheets
    assert carrying(sheet) == {("first", "bus")}
    (sheet,) = tb.schematic(book, "24", changes=["first: stops"]).sheets
    assert carrying(sheet) == {("second", "bus")}


def rows(svg: str) -> dict[str, list[str]]:
    """The rows of the panel: the name and state of each."""
    groups = ElementTree.fromstring(svg).iter(f"{SVG}g")
    return {
        group.get("data-thing", ""): [text.text or "" for text in group.iter(f"{SVG}text")]
        for group in groups
        if group.get("data-kind") == "row"
    }


def test_the_panel_stands_beside_what_it_belongs_to(book: Book) -> None:
    (sheet,) = tb.schematic(book, "24", changes=["shed switch: SHED"]).sheets
    assert rows(sheet) == {
        "tie switch": ["tie switch", "ON"],
        "shed switch": ["shed switch", "SHED"],
        "LIT": ["LIT", "not shown"],
    }


def test_every_sheet_tells_what_it_shows_and_that_it_is_for_training(book: Book) -> None:
    drawing = tb.schematic(book, "24", changes=["shed switch: SHED"])
    for svg in drawing.sheets:
        words = [text.text for text in ElementTree.fromstring(svg).iter(f"{SVG}text")]
        assert {"24 Power", "T1: normal, with shed switch: SHED", tb.CAUTION} <= set(words)
        assert f"{book.type_name}, {book.manual} rev {book.revision}" in words


def test_a_moment_of_a_scenario_is_drawn(book: Book) -> None:
    (moving,) = tb.schematic(book, "24", scenario="call", at="7 s").sheets
    assert marks(moving)["flap"] == "moving"
    assert marks(moving)["lamp"] == "on"
    (before,) = tb.schematic(book, "24", scenario="call", at="4 s").sheets
    assert marks(before)["flap"] == "still"
    (ended,) = tb.schematic(book, "24", scenario="call").sheets
    assert marks(ended)["flap"] == "still"
    assert "call, at 9 s" in ended


def test_the_same_is_drawn_each_time(book: Book) -> None:
    assert tb.schematic(book, "24") == tb.schematic(book, "24")


def test_what_is_not_there_is_refused_with_a_near_name(book: Book) -> None:
    with pytest.raises(NothingToDraw) as refusal:
        tb.schematic(book, "near buss")
    assert refusal.value.mend == "Did you mean near bus?"


def test_a_closed_contactor_is_live_only_if_something_live_comes_to_it(book: Book) -> None:
    """It stays closed though its buses are lost: no line at it feeds, and its border is thin."""
    (live,) = tb.schematic(book, "24").sheets
    (lost,) = tb.schematic(book, "24", changes=["engine: stops"]).sheets
    (one,) = tb.schematic(book, "24", changes=["far bus: lost"]).sheets
    assert [marks(svg)["tie"] for svg in (live, lost, one)] == ["on", "ready", "on"]
    assert all(map(blade_is_closed, (live, lost, one)))
    assert carrying(lost) == set()


def test_the_symbol_of_what_has_failed_shows_how_it_is_stuck(book: Book) -> None:
    for mode, closed in (("keeps running", True), ("stops", False)):
        (svg,) = tb.schematic(book, "24", changes=[f"tie: {mode}"]).sheets
        assert marks(svg)["tie"] == "failed"
        assert blade_is_closed(svg) == closed


# -- colours: WCAG 2.2, 1.4.3 (lettering 4.5 to 1) and 1.4.11 (what is drawn 3 to 1) -----------


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """The contrast ratio as WCAG 2.2 defines it."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_that_of_the_standard() -> None:
    """Black on white is 21 to 1; #767676 is the known lightest grey that passes on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
def test_everything_stands_out_from_its_ground(look: Look) -> None:
    assert contrast(look.quiet, look.paper) >= 4.5
    for mark in look.marks.values():
        assert contrast(look.ink, mark.ground) >= 4.5
        assert contrast(mark.border, look.paper) >= 3
        assert contrast(mark.border, mark.ground) >= 3
        for tick in (look.carries, look.marks["failed"].border):
            assert contrast(tick, mark.ground) >= 3
    for line in (look.carries, look.empty):
        assert contrast(line, look.paper) >= 3


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
def test_no_two_marks_differ_by_colour_alone(look: Look) -> None:
    """But those of what moves and what stays by itself, or is available, which have their words."""
    strokes = {name: (mark.stroke, mark.dashes) for name, mark in look.marks.items()}
    assert strokes.pop("still") == strokes["ready"]
    assert len(set(strokes.values())) == len(strokes)


# -- lettering, symbols, layout ---------------------------------------------------------------


def test_names_are_broken_evenly_and_lose_no_word() -> None:
    lines = broken("left standby feed pump switch of the day", 128, bold=True)
    assert " ".join(lines) == "left standby feed pump switch of the day"
    assert max(width(line, bold=True) for line in lines) <= 128
    assert broken("unbreakableunbreakableunbreakable", 40) == ("unbreakableunbreakableunbreakable",)


@pytest.mark.parametrize(
    "form", ["pump", "inverter", "fire detector loop", "pipe", "light", "lamp", "", "odd"]
)
def test_every_form_has_a_symbol(form: str) -> None:
    for on in (False, True):
        drawn = symbol(form, on, "#111111", "#ffffff")
        assert "{" not in drawn
        assert len(ElementTree.fromstring(f"<g>{drawn}</g>"))


def test_every_kind_of_unit_and_surface_of_the_s94_has_a_symbol_of_its_own() -> None:
    things = [thing for thing in tb.read(S94).things if isinstance(thing, Unit | Surface)]
    plain = symbol("", on=True, ink="#111111", paper="#ffffff")
    without = {t.form for t in things if symbol(t.form, True, "#111111", "#ffffff") == plain}
    assert len(things) > 150
    assert without == set()


def test_a_long_state_is_lettered_in_several_lines() -> None:
    assert state_lines("failed: keeps running", "unit") == ("failed: keeps running",)
    lines = state_lines("between TAKE-OFF BAND and FULL DOWN", "surface")
    assert " ".join(lines) == "between TAKE-OFF BAND and FULL DOWN"
    assert len(lines) > 1
    assert max(map(width, lines)) <= STATE


GRAPH = {
    "id": "all",
    "layoutOptions": {},
    "children": [{"id": name, "width": 9, "height": 9} for name in "ab"],
    "edges": [{"id": "e0", "sources": ["a"], "targets": ["b"]}],
}
SPOILED = [
    lambda kept: "{half",
    lambda kept: "[]",
    lambda kept: '{"children": []}',
    lambda kept: '{"children": 3, "edges": {}, "width": "", "height": null}',
    lambda kept: kept.replace('"b"', '"c"'),
    lambda kept: kept.replace('"startPoint"', '"start"'),
    lambda kept: kept.replace('"x": ', '"x": 1e999, "z": '),
    lambda kept: kept.replace('"e0"', '"e1"'),
    lambda kept: "[" * 100_000,
    lambda kept: "\ud800".encode("utf-8", "surrogatepass"),
]


@pytest.fixture
def kept_layout(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The file in which the layout of the graph is kept."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    elk.laid_out(GRAPH)
    (kept,) = (tmp_path / "tellback" / "layouts").iterdir()
    return kept


def test_a_layout_is_kept(kept_layout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(elk, "_asked", lambda text: None)
    assert list(elk.laid_out(GRAPH).nodes) == ["a", "b"]


@pytest.mark.parametrize("spoil", SPOILED)
def test_a_spoiled_layout_is_made_anew(
    kept_layout: Path, spoil: Callable[[str], str | bytes]
) -> None:
    first, text = elk.laid_out(GRAPH), kept_layout.read_text()
    spoiled = spoil(text)
    kept_layout.write_bytes(spoiled if isinstance(spoiled, bytes) else spoiled.encode())
    assert elk.laid_out(GRAPH) == first
    assert list(json.loads(kept_layout.read_text())) == list(json.loads(text))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes in this file system")
@pytest.mark.parametrize("put", [os.mkfifo, os.mkdir])
def test_what_is_no_file_in_place_of_a_layout_is_left_aside(
    kept_layout: Path, put: Callable[[Path], None]
) -> None:
    first = elk.laid_out(GRAPH)
    kept_layout.unlink()
    put(kept_layout)
    assert elk.laid_out(GRAPH) == first


def test_names_in_any_script_are_laid_out_whatever_the_terminal_writes() -> None:
    """Run apart, as what it writes in is settled at its start."""
    program = (
        "import json, sys; from tellback.draw.elk import laid_out; "
        "print(ascii(laid_out(json.loads(sys.argv[1])).nodes))"
    )
    graph = json.loads(json.dumps(GRAPH).replace('"a"', '"\u6db2\u538b"'))
    environment = os.environ | {"PYTHONIOENCODING": "latin-1", "XDG_CACHE_HOME": "/dev/null"}
    ran = subprocess.run(
        [sys.executable, "-c", program, json.dumps(graph)],
        capture_output=True,
        text=True,
        env=environment,
    )
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "\\u6db2\\u538b" in ran.stdout


def test_a_layout_comes_where_nothing_can_be_kept(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    graph = {"id": "all", "layoutOptions": {}, "children": [{"id": "c", "width": 9, "height": 9}]}
    assert list(elk.laid_out(graph).nodes) == ["c"]


def test_a_layout_comes_where_there_is_no_folder_for_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A folder named relatively is ignored, as its standard demands; nothing is put beside."""
    monkeypatch.setenv("XDG_CACHE_HOME", "here")
    monkeypatch.setattr(os.path, "expanduser", lambda path: path)
    monkeypatch.chdir(tmp_path)
    graph = {"id": "all", "layoutOptions": {}, "children": [{"id": "e", "width": 9, "height": 9}]}
    assert list(elk.laid_out(graph).nodes) == ["e"]
    assert list(tmp_path.iterdir()) == []


def test_a_graph_that_cannot_be_laid_out_is_refused() -> None:
    graph = {"id": "all", "layoutOptions": {}, "children": [], "edges": [{"id": "e"}]}
    with pytest.raises(elk.NotLaidOut):
        elk.laid_out({**graph, "children": [{"id": "a"}, {"id": "a"}]})


def test_a_layout_that_falls_silent_is_asked_for_again(monkeypatch: pytest.MonkeyPatch) -> None:
    elk._process()._process.kill()
    elk._process()._process.wait()
    graph = {"id": "all", "layoutOptions": {}, "children": [{"id": "d", "width": 9, "height": 9}]}
    assert list(elk.laid_out(graph).nodes) == ["d"]

    def silent(*_: object) -> None:
        raise Gone

    monkeypatch.setattr(elk.Helper, "ask", silent)
    with pytest.raises(elk.NotLaidOut):
        elk.laid_out({**graph, "id": "other"})


# -- files ------------------------------------------------------------------------------------


def test_files_are_what_their_names_say(book: Book, tmp_path: Path) -> None:
    drawing = tb.schematic(book, "24")
    for ending, begins in (("svg", b"<svg "), ("png", b"\x89PNG"), ("pdf", b"%PDF-")):
        files = written(drawing, tmp_path / f"power.{ending}")
        assert [file.name for file in files] == [f"power.{ending}"]
        assert all(file.read_bytes().startswith(begins) for file in files)
    png = (tmp_path / "power.png").read_bytes()
    assert [int.from_bytes(png[i : i + 4]) for i in (16, 20)] == [2560, 1440]
    assert b"Inter" in (tmp_path / "power.pdf").read_bytes()
    assert len(list(tmp_path.iterdir())) == 3


def test_several_sheets_are_numbered(book: Book, tmp_path: Path) -> None:
    drawing = tb.schematic(book, "24")
    several = replace(drawing, sheets=drawing.sheets * 2)
    files = written(several, tmp_path / "power.svg")
    assert [file.name for file in files] == ["power-1.svg", "power-2.svg"]
    assert str(several).endswith(": 2 sheets")


def test_a_kind_of_file_that_there_is_not_is_refused(book: Book, tmp_path: Path) -> None:
    with pytest.raises(NoSuchPicture, match="does not say what to write"):
        written(tb.schematic(book, "24"), tmp_path / "power.gif")
    assert list(tmp_path.iterdir()) == []


def test_the_command_writes_and_tells_what(book: Book, tmp_path: Path) -> None:
    ran = run("draw", book.folder, "far bus", "-o", tmp_path / "bus.svg", "--dark")
    assert (ran.status, ran.err) == (0, "")
    told = f"far bus, normal (on T1): 1 sheet\nWritten: {tmp_path / 'bus.svg'}.\n{tb.CAUTION}\n"
    assert ran.out == told
    assert DARK.paper in (tmp_path / "bus.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize(("ending", "begins"), [("png", b"\x89PNG"), ("PDF", b"%PDF-")])
def test_the_command_writes_what_the_ending_says(
    book: Book, tmp_path: Path, ending: str, begins: bytes
) -> None:
    path = tmp_path / f"bus.{ending}"
    ran = run("draw", book.folder, "far bus", "--with", "engine: stops", "-o", path)
    assert (ran.status, ran.err) == (0, "")
    assert path.read_bytes().startswith(begins)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["Powr", "-o", "x.svg"], "Did you mean Power?"),
        (["24", "-o", "x.gif"], "End it in .svg, .png, .pdf."),
        (["24", "-o", "x"], "End it in .svg, .png, .pdf."),
    ],
)
def test_what_the_command_cannot_do_is_told_with_a_mend(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], told: str
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("draw", str(Path(book.folder).resolve()), *arguments)
    assert ran.status == 2
    assert told in ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_told(book: Book, tmp_path: Path) -> None:
    missing = tmp_path / "no" / "bus.svg"
    ran = run("draw", book.folder, "24", "-o", missing)
    assert ran.status == 2
    assert "bus.svg: no such file or directory" in ran.err


def test_a_chapter_and_things_can_be_drawn_together(book: Book) -> None:
    assert str(tb.schematic(book, "24", "Near bus")).startswith("24 Power, near bus, normal")


OTHERWISE = """\
units:
  engine: {kind: engine, fails: [stops]}
  magneto: {kind: generator, needs: [engine running]}
  control: {kind: computer, needs: [magneto running or bus live]}
  relief: {kind: valve, runs when: engine not running}
  pump: {kind: pump, needs: [engine running, relief not running]}
supplies:
  bus: {kind: bus, fed by: [engine], fails: [lost]}
"""


def test_of_two_that_are_enough_only_the_one_that_is_there_is_drawn_live() -> None:
    book = book_of(OTHERWISE)
    (sheet,) = tb.schematic(book, "24", changes=["bus: lost"]).sheets
    assert ("magneto", "control") in carrying(sheet)
    assert ("bus", "control") not in carrying(sheet)


def test_what_must_not_be_so_is_drawn_as_moving_what_it_stops() -> None:
    found = wiring(picture_of(book_of(OTHERWISE), "").book, ["relief", "pump"])
    kinds = {(wire.source, wire.target): wire.kind for wire in found.wires}
    assert kinds["relief", "pump"] == MOVES
