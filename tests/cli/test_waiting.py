"""While an answer is worked out, a terminal is told so; nothing of it is left beside the answer."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterator
from time import sleep

import pytest

from tellback.cli import waiting
from tellback.cli.waiting import counted, followed, over, told_while_waiting


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


@pytest.mark.parametrize(
    "going_through", [followed, lambda parts, work: counted(parts, len(parts), work)]
)
def test_the_line_tells_how_far_it_is(
    monkeypatch: pytest.MonkeyPatch, going_through: Callable[[range, str], Iterator[int]]
) -> None:
    monkeypatch.setattr(sys, "stderr", stream := Terminal())
    monkeypatch.setattr(waiting, "SILENT", 0.005)
    told = []

    @told_while_waiting
    def slow() -> None:
        for _ in going_through(range(3), "Comparing"):
            before = stream.tell()
            while stream.tell() < before + 200:
                sleep(0.005)
            told.append(stream.getvalue()[before:])

    slow()
    assert "Comparing, 0 of 3 done: 0 s (Ctrl-C gives up)" in told[0] or "1 of 3" in told[0]
    assert "Comparing, 2 of 3 done" in told[-1] or "3 of 3 done" in told[-1]


def test_the_line_is_no_longer_than_the_terminal_is_wide(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "12")
    before = told(monkeypatch, Terminal()).partition("ANSWER")[0]
    assert {len(line) for line in before.split("\r")} == {0, 11}


def test_a_terminal_that_cannot_write_a_line_anew_is_told_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setattr(sys, "stderr", stream := Terminal())
    monkeypatch.setattr(waiting, "SILENT", 0.005)
    told_while_waiting(lambda: sleep(0.05))()
    assert stream.getvalue() == ""


def test_a_refusal_takes_the_line_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", Terminal())

    @told_while_waiting
    def refused() -> None:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        refused()
    assert not waiting._waiting
