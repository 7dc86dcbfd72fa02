"""What is printed fits the terminal and stays as it is elsewhere."""

import io
import json
import re
import sys

import pytest

import tellback
from tellback.book.begin import TEMPLATE
from tellback.cli.main import main
from tellback.cli.showing import AS_WRITTEN, fitted, tell, tell_json
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
        "ways", "feeds", "stops", "effects", "losses", "signs", "fits", "why", "claim", "can",
        "steps", "compare", "run", "still", "what-if",
        "draw", "check", "limits", "revise", "schema", "new", "format", "demo",
    ]  # fmt: skip


def test_the_help_of_a_command_fits_a_line_in_the_list() -> None:
    listed = run("--help").out.partition("Commands:")[2]
    assert "..." not in listed
    assert "demo" in listed


class Terminal(io.StringIO):
    """A stream that somebody sees."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("variable", "value", "styled"),
    [("TERM", "xterm", True), ("TERM", "dumb", False), ("NO_COLOR", "1", False)],
)
def test_escapes_are_written_only_where_they_are_wanted(
    monkeypatch: pytest.MonkeyPatch, variable: str, value: str, styled: bool
) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv(variable, value)
    monkeypatch.setattr(sys, "stdout", stream := Terminal())
    tell("plain")
    assert "\x1b" not in stream.getvalue()
    tell("bold", bold=True)
    assert ("\x1b[1m" in stream.getvalue()) == styled


def test_what_would_steer_the_terminal_is_marked() -> None:
    ran = run("ways", TEMPLATE, "left \x1b[31mbus\u202e live")
    assert ran.status == 2
    assert "left \ufffd[31mbus\ufffd live" in ran.err
    assert "\x1b" not in ran.err


def test_in_json_it_is_escaped() -> None:
    ran = run("ways", TEMPLATE, "left \x1b[31mbus\u202e\udc80 live", "--json")
    assert "\x1b" not in ran.out
    assert "\u202e" not in ran.out
    assert ran.json["error"]["text"] == "left \x1b[31mbus\u202e\udc80 live"


def test_json_holds_where_the_terminal_has_few_letters(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="latin-1")
    monkeypatch.setattr(sys, "stdout", stream)
    tell_json({"name": "\u6db2\u538b"})
    stream.seek(0)
    assert json.loads(stream.read()) == {"name": "\u6db2\u538b"}


@pytest.mark.parametrize("width", [40, 60])
def test_help_is_no_wider_than_the_terminal(monkeypatch: pytest.MonkeyPatch, width: int) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setattr(sys, "stdout", stream := Terminal())
    main(["losses", "--help"])
    assert max(map(len, stream.getvalue().split("\n"))) <= width
