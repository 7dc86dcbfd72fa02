"""What is printed fits the terminal and stays as it is elsewhere."""

import io
import itertools
import re

import pytest

import tellback
from tellback.cli.showing import AS_WRITTEN, fitted, followed
from tests.cli.commands import run

LONG = """\
pump running in any of 2 ways:
  1. switch at ON and lever at DOWN  [selected]
    left generator stops and right engine stops
none"""

AT_40 = """\
pump running in any of 2 ways:
  1. switch at ON and lever at DOWN
     [selected]
    left generator stops and right
        engine stops
none"""


def test_lines_break_with_what_follows_set_in() -> None:
    assert fitted(LONG, 40) == AT_40


def test_nothing_is_broken_where_there_is_no_terminal() -> None:
    assert fitted(LONG, None) == LONG


def test_a_quoted_line_keeps_its_marks_under_it() -> None:
    quoted = "    " + "x" * 60 + " y\n    " + " " * 61 + "^"
    assert fitted(quoted, 40, keep=AS_WRITTEN) == quoted


@pytest.mark.parametrize("width", [40, 55, 80])
def test_breaking_loses_no_word(width: int) -> None:
    assert fitted(LONG, width).split() == LONG.split()
    assert max(map(len, fitted(LONG, width).split("\n"))) <= width


def test_the_version_is_told() -> None:
    assert run("--version").out == f"tellback {tellback.__version__}\n"


def test_without_a_command_there_is_help() -> None:
    ran = run()
    assert ran.status == 0
    assert re.findall(r"^  ([a-z][\w-]*)  ", ran.out, re.MULTILINE) == [
        "ways", "stops", "effects", "losses", "signs", "fits", "why", "claim", "can", "steps",
        "compare", "run", "still", "what-if",
        "draw", "check", "limits", "revise", "schema", "new", "format", "demo",
    ]  # fmt: skip


def test_the_help_of_a_command_fits_a_line_in_the_list() -> None:
    listed = run("--help").out.partition("Commands:")[2]
    assert "..." not in listed
    assert "demo" in listed


class Terminal(io.StringIO):
    """An error stream that somebody sees."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("each", "shown"), [(0.0, False), (0.6, True)])
def test_how_far_it_is_shows_once_it_takes_long(
    each: float, shown: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = itertools.count(0, each)
    monkeypatch.setattr("tellback.cli.showing.time.monotonic", lambda: next(clock))
    monkeypatch.setattr("sys.stderr", stream := Terminal())
    assert list(followed(range(5), "Comparing")) == [0, 1, 2, 3, 4]
    assert ("Comparing" in stream.getvalue() and "100%" in stream.getvalue()) == shown


def test_nothing_of_it_shows_where_there_is_no_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = itertools.count(0, 2)
    monkeypatch.setattr("tellback.cli.showing.time.monotonic", lambda: next(clock))
    monkeypatch.setattr("sys.stderr", stream := io.StringIO())
    assert list(followed(range(3), "Comparing")) == [0, 1, 2]
    assert stream.getvalue() == ""
