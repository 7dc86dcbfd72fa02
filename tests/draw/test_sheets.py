"""What is too large for a sheet is cut where it hangs together least; pieces are put in rows."""

from __future__ import annotations

from collections import Counter
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import tellback as tb
from tellback.draw.boxes import UNIT, Box
from tellback.draw.packing import LARGEST, arranged, enlarged, packed
from tellback.draw.pieces import pieces
from tellback.draw.plan import Ground, Placed, Plan
from tellback.draw.standing import OFF, Stand, Standing
from tellback.draw.wiring import wiring
from tellback.logic.picture import picture_of
from tellback.logic.scene import scene
from tests.draw.geometry import Area, faults, read_sheet
from tests.small_books import write_book


def piece(name: str, width: float, height: float, form: str = "") -> Plan:
    box = Box(name, UNIT, form, (name,), Stand("off", OFF), width, height)
    return Plan((Placed(box, 0, 0),), (), width, height)


def areas(plan: Plan) -> list[Area]:
    return [Area(p.box.key, p.x, p.y, p.x + p.box.width, p.y + p.box.height) for p in plan.boxes]


SIZES = st.lists(
    st.tuples(st.integers(20, 1300), st.integers(20, 600), st.sampled_from("ab")), max_size=12
)


@given(SIZES)
def test_all_pieces_are_on_one_sheet_or_another_and_none_covers_another(
    sizes: list[tuple[int, int, str]],
) -> None:
    sheets = packed([piece(str(n), w, h, form) for n, (w, h, form) in enumerate(sizes)])
    drawn = []
    for sheet in sheets:
        plan = arranged(sheet)
        if plan is None:
            (plan,) = sheet
            assert plan.crowding > 1
        else:
            assert plan.crowding <= 1
            assert 1 <= enlarged((plan.width, plan.height)) <= LARGEST
        for one, other in combinations(areas(plan), 2):
            assert not one.meets(other)
        drawn += [placed.box.key for placed in plan.boxes]
    assert sorted(drawn) == sorted(str(n) for n in range(len(sizes)))


def test_what_is_alike_stands_side_by_side() -> None:
    several = [
        piece("left", 200, 50, "pump"),
        piece("odd", 900, 300),
        piece("right", 200, 50, "pump"),
    ]
    ((twins, odd),) = packed(several)
    left, right = areas(twins)
    assert (left.owner, right.owner) == ("left", "right")
    assert left.right < right.left
    assert left.top == right.top
    assert [box.box.key for box in odd.boxes] == ["odd"]


def test_many_alike_stay_together_though_not_in_one_column() -> None:
    ((grid,),) = packed([piece(str(n), 200, 90, "actuator") for n in range(9)])
    assert [box.box.key for box in grid.boxes] == [str(n) for n in range(9)]
    assert len({box.y for box in grid.boxes}) > 1


def test_left_stands_beside_right_in_a_grid_whatever_their_order() -> None:
    names = ["left outer", "left inner", "odd one", "right inner", "right outer"]
    ((grid,),) = packed([piece(name, 200, 90, "wire") for name in names])
    at = {area.owner: area for area in areas(grid)}
    for where in ("outer", "inner"):
        assert at[f"left {where}"].top == at[f"right {where}"].top
        assert at[f"left {where}"].right < at[f"right {where}"].left
    assert len({area.left for area in at.values()}) == 2


def test_what_fits_no_room_is_not_arranged() -> None:
    assert arranged([piece("a", 500, 300)], (499, 300)) is None
    assert arranged([piece("a", 500, 300)], (500, 299)) is None
    assert arranged([piece("a", 500, 300)], (500, 300)) == piece("a", 500, 300)


SIDE = """\
  {side} source: {{kind: generator}}
  {side} first user: {{kind: pump, needs: [{side} bus]}}
  {side} second user: {{kind: fan, needs: [{side} bus]}}
  {side} third user: {{kind: heater, needs: [{side} bus]}}
"""


@pytest.fixture
def halves(tmp_path: Path) -> Ground:
    """Two halves, each of one bus and its consumers, with a contactor between the buses."""
    units = "".join(SIDE.format(side=side) for side in ("left", "right"))
    buses = (
        "  left bus: {kind: bus, fed by: [left source, right bus through tie]}\n"
        "  right bus: {kind: bus, fed by: [right source, left bus through tie]}\n"
    )
    text = f"units:\n{units}  tie: {{kind: contactor}}\nsupplies:\n{buses}"
    write_book(tmp_path, f"chapter: 24\ntitle: Power\n{text}")
    picture = picture_of(tb.read(tmp_path), "")
    things = {thing.name: thing for thing in picture.book.things}
    standing = Standing(picture, scene(picture, "", ()).moment)
    return Ground(wiring(picture.book, list(things)), things, standing)


def test_what_fits_is_not_cut(halves: Ground) -> None:
    (plan,) = pieces(halves, halves.wiring.nodes)
    assert len(plan.boxes) == len(halves.wiring.nodes)


def test_a_cut_is_made_where_it_parts_least(
    halves: Ground, monkeypatch: pytest.MonkeyPatch
) -> None:
    (whole,) = pieces(halves, halves.wiring.nodes)
    monkeypatch.setattr("tellback.draw.plan.ROOM", (whole.width - 1, whole.height))
    left, right = pieces(halves, halves.wiring.nodes)
    assert sum(box.box.kind == "away" for box in (*left.boxes, *right.boxes)) == 2
    for plan, other in ((left, "right"), (right, "left")):
        here = [box.box.key for box in plan.boxes if box.box.kind != "away"]
        assert not any(name.startswith(other) for name in here)


def test_what_is_larger_than_a_screen_makes_its_sheet_larger_and_not_its_letters_smaller(
    tmp_path: Path,
) -> None:
    switches = [f"switch {n}" for n in range(40)]
    controls = "".join(f"  {name}: {{positions: [OFF, ON]}}\n" for name in switches)
    condition = " and ".join(f"{name} at ON" for name in switches)
    units = f"  big pump: {{kind: pump, runs when: {condition}}}\n"
    write_book(tmp_path, f"chapter: 29\ntitle: Power\ncontrols:\n{controls}units:\n{units}")
    sheets = [read_sheet(svg) for svg in tb.schematic(tb.read(tmp_path), "29").sheets]
    assert sheets[0].page.right > 1280
    assert sheets[1].page == Area("page", 0, 0, 1280, 720)
    for sheet in sheets:
        assert list(faults(sheet)) == []


def test_what_is_too_long_to_letter_ends_in_an_ellipsis(halves: Ground, tmp_path: Path) -> None:
    book = tb.read(tmp_path)
    everything = [thing.name for thing in book.things]
    for svg in tb.schematic(book, *everything, *everything).sheets:
        sheet = read_sheet(svg)
        assert list(faults(sheet)) == []
        assert any("…" in text for _, _, text in sheet.texts)


def test_a_panel_alone_is_even_and_as_large_as_it_goes_and_needs_no_key(tmp_path: Path) -> None:
    """Thirteen rows in three columns, and the letters enlarged: a diagram may be so, too."""
    controls = "".join(f"  switch {n}: {{positions: [OFF, ON]}}\n" for n in range(13))
    write_book(tmp_path, f"chapter: 31\ntitle: Panel\ncontrols:\n{controls}")
    (svg,) = tb.schematic(tb.read(tmp_path), "31").sheets
    sheet = read_sheet(svg)
    assert list(faults(sheet)) == []
    columns = Counter(box.left for box in sheet.boxes)
    assert max(columns.values()) - min(columns.values()) <= 2
    assert {size for area, size, _ in sheet.texts if area.owner} == {14 * LARGEST}
    assert not any(text == "moves" for _, _, text in sheet.texts)


def test_a_panel_beside_a_diagram_has_few_columns_and_even_ones(tmp_path: Path) -> None:
    controls = "".join(f"  switch {n}: {{positions: [OFF, ON]}}\n" for n in range(20))
    units = "units:\n  pump: {kind: pump, runs when: switch 0 at ON}\n"
    write_book(tmp_path, f"chapter: 29\ntitle: Power\ncontrols:\n{controls}{units}")
    (svg,) = tb.schematic(tb.read(tmp_path), "29").sheets
    sheet = read_sheet(svg)
    rows = Counter(box.left for box in sheet.boxes if box.right - box.left == pytest.approx(286))
    assert list(rows.values()) == [10, 10]
    assert any(text == "moves" for _, _, text in sheet.texts)
