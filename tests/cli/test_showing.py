"""What is printed fits the terminal and stays as it is elsewhere."""

import re

import pytest

import tellback
from tellback.cli.showing import AS_WRITTEN, fitted
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
