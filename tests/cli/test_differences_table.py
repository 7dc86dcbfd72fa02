"""`compare -o FILE`: the differences table as a CSV file, whole or not at all."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pytest

import tellback as tb
from tellback.logic.answers import compare_csv
from tellback.logic.answers.compare import Comparison
from tests.cli.commands import run
from tests.small_books import book_of, write_book

OLD = """
situations: {on ground: {normally: no}}
units:
  pump: {kind: pump, fails: [stops], source: p.1}
  spare pump:
    kind: pump
    runs when: {when: pump not running, source: p.2, why: [{computed: "one, or both", source: D 1}]}
indications:
  PUMP LOW: {kind: light, level: caution, shown when: pump not running, source: p.3}
"""
NEW = (
    OLD.replace(
        "when: pump not running, source: p.2",
        "when: pump not running and not on ground, source: p.4",
    )
    + """
  “LOW”: {kind: light, level: caution, shown when: pump not running, source: p.5}
latches:
  seen: {set when: PUMP LOW shown, cleared when: on ground, source: p.6}
"""
)


@pytest.fixture(scope="module")
def comparison() -> Comparison:
    return tb.compare(book_of(OLD), book_of(NEW))


def cells(text: str) -> list[list[str]]:
    return list(csv.reader(text.splitlines(keepends=True)))


def texts(line: list[str]) -> str:
    return "\n".join(line)


def test_each_difference_is_one_row_and_every_row_has_all_columns(comparison: Comparison) -> None:
    heading, *rows, closing = cells(tb.as_csv(comparison))
    assert [row[0] for row in rows] == [f"{d.item} ({d.kind})" for d in comparison.differences]
    assert len(rows) == 3
    assert {len(row) for row in (heading, *rows, closing)} == {len(heading)}


def test_a_row_has_the_columns_of_the_printed_table(comparison: Comparison) -> None:
    (row,) = (r for r in cells(tb.as_csv(comparison)) if r[0] == "spare pump (unit)")
    a, b = comparison.a, comparison.b
    assert row[1].splitlines() == [
        "Runs when: changed",
        f"  {a}: pump not running",
        f"  {b}: pump not running and not on ground",
    ]
    assert row[2:7] == ["none told by the book", "none names it", "B", "B", "B"]
    assert row[7:9] == ["p.2", "p.4"]
    assert row[9].splitlines() == [
        "A smallest state that shows it: normal, with pump stops and on ground.",
        f"  {a}: it is called to run. {b}: it is not called to run.",
    ]


def test_nothing_of_a_row_is_lost(comparison: Comparison) -> None:
    """Of the changes in a row every text, source and state is in its line."""
    for difference, line in zip(
        comparison.differences, cells(tb.as_csv(comparison))[1:], strict=False
    ):
        for change in (*difference.changes, *difference.with_it):
            told = [change.before, change.after, change.source_a, change.source_b]
            if change.case:
                told += [
                    change.case.start,
                    *change.case.departures,
                    change.case.a_does,
                    change.case.b_does,
                ]
            assert [one for one in told if one not in texts(line)] == []


def test_the_last_line_says_what_the_table_is(comparison: Comparison) -> None:
    closing = cells(tb.as_csv(comparison))[-1]
    assert tb.CAUTION in closing[0]
    assert "the operator decides" in closing[0]
    assert not any(closing[1:])


def test_what_is_not_in_the_table_is_counted() -> None:
    old = OLD.replace("when: pump not running, source: p.2", "when: not pump running, source: p.2")
    comparison = tb.compare(book_of(old), book_of(OLD.replace("source: p.3", "source: p.9")))
    closing = cells(tb.as_csv(comparison))[-1][0]
    left_out = "1 of what is only told otherwise and 1 of a source alone"
    assert f"Differences that are not in this table: {left_out}." in closing


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@now", "\t=1", "\uff1d1"])
def test_no_cell_is_run_as_a_formula(comparison: Comparison, text: str) -> None:
    row = replace(comparison.differences[0], item=text, procedures=text)
    line = cells(tb.as_csv(replace(comparison, differences=(row,))))[1]
    assert line[0] == f"'{text} ({row.kind})"
    assert line[3] == f"'{text}"


@pytest.fixture
def books(tmp_path: Path) -> tuple[Path, Path]:
    for name in ("old", "new"):
        (tmp_path / name).mkdir()
    return write_book(tmp_path / "old", OLD), write_book(tmp_path / "new", NEW)


def test_the_file_is_written_and_comes_back_the_same(
    books: tuple[Path, Path], tmp_path: Path
) -> None:
    file = tmp_path / "table.csv"
    ran = run("compare", *books, "-o", file)
    assert ran.status == 0, ran.err
    assert ran.out.splitlines()[0].endswith(": 3 differences.")
    assert f"Written: {file}." in ran.out
    with file.open(encoding="utf-8-sig", newline="") as stream:
        found = list(csv.reader(stream))
    assert found == cells(tb.as_csv(tb.compare(*map(tb.read, books))))
    assert "“LOW” (indication)" in [line[0] for line in found]


def test_json_is_printed_besides(books: tuple[Path, Path], tmp_path: Path) -> None:
    ran = run("compare", *books, "-o", tmp_path / "table.csv", "--json")
    assert ran.json["answer"] == "comparison"
    assert (tmp_path / "table.csv").is_file()


def test_a_good_file_stays_if_the_new_one_cannot_be_written(
    books: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "table.csv"
    file.write_text("good", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device", str(file))

    monkeypatch.setattr(Path, "write_bytes", full)
    ran = run("compare", *books, "-o", file)
    assert ran.status == 2
    assert "no space left" in ran.err
    assert file.read_text(encoding="utf-8") == "good"
    assert [one.name for one in tmp_path.glob(".table*")] == []


def test_a_place_that_cannot_be_is_refused_before_the_work(
    books: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compare_csv, "as_csv", lambda _: pytest.fail("worked out"))
    assert run("compare", *books, "-o", tmp_path / "none" / "table.csv").status == 2
    assert run("compare", *books, "-o", books[0] / "type.yaml").status == 2
    assert "type: Test type" in (books[0] / "type.yaml").read_text(encoding="utf-8")
