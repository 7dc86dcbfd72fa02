"""The commands for a book's own files: check, new, format, schema."""

import json
from pathlib import Path

import pytest

import tellback as tb
from tellback.book.begin import TEMPLATE
from tests.cli.commands import run
from tests.small_books import write_book

GOOD = "units:\n  pump: {kind: pump, source: p.1}\n"
WRONG = "units:\n  one: {runs when: oen running}\n  three: {runs when: two running}\n"
UNTIDY = "title: T\nchapter: 24\n# the pump\nunits: {pump: {source: p.1, kind: pump}}\n"


def test_a_new_book_passes_the_check(tmp_path: Path) -> None:
    folder = tmp_path / "mine"
    made = run("new", folder)
    assert (made.status, made.err) == (0, "")
    checked = run("check", folder)
    assert (checked.status, checked.err) == (0, "")
    assert checked.out == (
        "no errors and no findings in 1 chapter with 18 things, 3 claims, 1 procedure, 4 "
        "limits and 1 scenario.\n"
        f"{tb.CAUTION}\n"
    )


def test_limits_are_listed_as_text_and_as_json() -> None:
    book = tb.read(TEMPLATE)
    for words, asked in (
        ([], {}),
        (["--from-memory"], {"from_memory": True}),
        (["--aeroplane", "E-200"], {"aeroplane": "E-200"}),
    ):
        answer = tb.limits(book, **asked)
        ran = run("limits", TEMPLATE, *words)
        assert (ran.status, ran.out) == (0, f"{answer}\n{tb.CAUTION}\n")
        assert run("limits", TEMPLATE, *words, "--json").json == {
            **tb.as_json(answer), "caution": tb.CAUTION,
        }  # fmt: skip


def test_limits_of_an_aeroplane_that_is_not_there_are_refused() -> None:
    ran = run("limits", TEMPLATE, "--aeroplane", "E-300")
    assert (ran.status, ran.out) == (2, "")
    assert "there is no aeroplane `E-300` in this book; it has E-100, E-200" in ran.err


def test_the_check_shows_every_error_and_counts_them(tmp_path: Path) -> None:
    ran = run("check", write_book(tmp_path, WRONG))
    assert ran.status == 2
    assert "chapters/24-test.yaml:4:" in ran.out
    assert "chapters/24-test.yaml:5:" in ran.out
    assert ran.out.endswith(f"2 errors and no findings.\n{tb.CAUTION}\n")


def test_the_check_as_json(tmp_path: Path) -> None:
    folder = write_book(tmp_path, WRONG)
    ran = run("check", folder, "--json")
    assert ran.status == 2
    diagnostics = ran.json.pop("diagnostics")
    assert [d["line"] for d in diagnostics] == [4, 5]
    assert list(ran.json) == ["answer", "book", "errors", "findings", "diagnostics", "caution"]
    assert (ran.json["book"], ran.json["errors"], ran.json["findings"]) == (str(folder), 2, 0)


def test_findings_alone_give_status_1(tmp_path: Path) -> None:
    text = "readings:\n  speed: {unit: kt, range: 0 to 100}\n"
    fast = "means:\n  fast: {when: speed above 50 kt or speed above 200 kt}\n"
    ran = run("check", write_book(tmp_path, text + fast))
    assert ran.status == 1
    assert "finding: `speed` never comes to 200 kt" in ran.out
    assert "no errors and " in ran.out


def test_format_check_shows_and_leaves(tmp_path: Path) -> None:
    folder = write_book(tmp_path, UNTIDY)
    ran = run("format", folder, "--check")
    assert ran.status == 1
    assert "+chapter: 24\n title: T\n-chapter: 24\n" in ran.out
    assert ran.out.endswith("1 file of 2 would change.\n")
    assert (folder / "chapters/24-test.yaml").read_text() == UNTIDY


def test_format_writes_once(tmp_path: Path) -> None:
    folder = write_book(tmp_path, UNTIDY)
    assert run("format", folder).out == "Tidied: chapters/24-test.yaml.\n"
    text = (folder / "chapters/24-test.yaml").read_text()
    assert text == "chapter: 24\ntitle: T\n# the pump\nunits: {pump: {kind: pump, source: p.1}}\n"
    again = run("format", folder)
    assert (again.status, again.out) == (0, "All is tidy already.\n")
    assert run("format", folder, "--check").status == 0


def test_format_as_sentences(tmp_path: Path) -> None:
    folder = write_book(tmp_path, UNTIDY)
    ran = run("format", folder, "--sentences")
    assert ran.status == 0
    assert "The pump: a pump [p.1]. It runs whenever it is available.\n" in ran.out
    assert ran.out.endswith(f"{tb.CAUTION}\n")
    assert (folder / "chapters/24-test.yaml").read_text() == UNTIDY


def test_schema_is_json() -> None:
    ran = run("schema")
    assert ran.status == 0
    assert json.loads(ran.out)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("name", ["type.yaml", "claims.yaml", "chapters/24-electrical-power.yaml"])
def test_the_template_explains_itself(name: str) -> None:
    assert (TEMPLATE / name).read_text().startswith("# ")
