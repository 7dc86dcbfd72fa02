"""While an answer is worked out, a terminal is told so; nothing of it is left beside the answer."""

from __future__ import annotations

import io
import sys
from time import sleep

import pytest

from tellback.cli import showing, waiting
from tellback.cli.showing import followed
from tellback.cli.waiting import over, told_while_waiting


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def told(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO) -> str:
    """What a slow command writes to the error stream, up to its answer and after."""
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr(waiting, "SILENT", 0.005)

    @told_while_waiting
    def slow() -> None:
        for _ in range(1000):
            sleep(0.005)
            if not stream.isatty() or "Working" in stream.getvalue():
                break
        over()
        stream.write("ANSWER")

    slow()
    return stream.getvalue()


def test_a_terminal_is_told_and_the_line_is_gone_before_the_answer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    before, after = told(monkeypatch, Terminal()).split("ANSWER")
    assert "Working it out: " in before
    line = before.rpartition("\r")[0].rpartition("\r")[2]
    assert line.strip() == ""
    assert len(line) >= len("Working it out: 0 s")
    assert after == ""


def test_a_file_is_told_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    assert told(monkeypatch, io.StringIO()) == "ANSWER"


def test_a_bar_takes_the_line_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())
    monkeypatch.setattr(showing, "SILENT", 0.005)

    @told_while_waiting
    def slow() -> None:
        for _ in followed(range(3), "Comparing"):
            sleep(0.02)
        assert not waiting._waiting

    slow()
    assert "Comparing" in sys.stderr.getvalue()  # type: ignore[attr-defined]


def test_a_refusal_takes_the_line_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())

    @told_while_waiting
    def refused() -> None:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        refused()
    assert not waiting._waiting
