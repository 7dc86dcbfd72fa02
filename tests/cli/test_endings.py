"""However a command ends, it ends quietly, at once, and with a status of its own.

These are real processes, with real signals.
"""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tellback.book.begin import TEMPLATE
from tellback.cli import endings
from tests.cli.commands import run
from tests.small_books import write_book

QUESTION = ["ways", str(TEMPLATE), "left bus live"]

SWITCHES = range(70)


def clause(choose: random.Random) -> str:
    """One of three switches stands as it says."""
    return " or ".join(
        f"{choose.choice(('', 'not '))}s{n} at ON" for n in choose.sample(SWITCHES, 3)
    )


def hard() -> str:
    """A puzzle whose diagrams grow without end: most of the time is spent in the engine."""
    choose = random.Random(1)
    switches = "".join(f"  s{n}: {{positions: [OFF, ON]}}\n" for n in SWITCHES)
    clauses = ", ".join(f"({clause(choose)})" for _ in range(3 * len(SWITCHES)))
    return f"controls:\n{switches}means:\n  puzzle: {{when: 'all of ({clauses})'}}\n"


def started(*arguments: object, **options: Any) -> subprocess.Popen[str]:
    """The command with Ctrl-C as a terminal has it, even where the tests run without one."""
    return subprocess.Popen(
        [sys.executable, "-m", "tellback", *map(str, arguments)],
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        **{"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True, **options},
    )


def ended(*arguments: object, **options: Any) -> tuple[int, str, str]:
    process = started(*arguments, **options)
    out, err = process.communicate(timeout=60)
    return process.returncode, out or "", err or ""


def of_group(group: int) -> set[int]:
    """The processes that were started from the first of the group and still are there."""
    listed = subprocess.run(["ps", "-eo", "pid=,pgid=,stat="], capture_output=True, text=True)
    found = (line.split() for line in listed.stdout.splitlines())
    return {int(pid) for pid, of, stat in found if int(of) == group and not stat.startswith("Z")}


def wait_for(condition: Any, seconds: float) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if condition():
            return True
        time.sleep(0.02)
    return False


@pytest.fixture(scope="module")
def hard_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_book(tmp_path_factory.mktemp("hard"), hard())


def test_as_a_module_it_is_the_same_command() -> None:
    told = run(*QUESTION)
    assert ended(*QUESTION) == (told.status, told.out, "")


@pytest.mark.parametrize("seconds", [0.7, 3.0])
def test_ctrl_c_ends_a_question_within_a_second(hard_book: Path, seconds: float) -> None:
    process = started("can", hard_book, "puzzle")
    time.sleep(seconds)
    assert process.poll() is None
    pressed = time.monotonic()
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert time.monotonic() - pressed < 1
    assert (process.returncode, out, err) == (-signal.SIGINT, "", "")


S94 = Path(__file__).parents[2] / "books" / "s94"


@pytest.mark.parametrize(
    ("end", "how"),
    [(os.killpg, signal.SIGINT), (os.kill, signal.SIGINT), (os.kill, signal.SIGKILL)],
    ids=["Ctrl-C", "interrupted alone", "killed"],
)
def test_a_check_that_is_ended_leaves_no_process(
    end: Callable[[int, int], None], how: signal.Signals
) -> None:
    """Whether the key is pressed, for all processes of the terminal, or the first one is ended."""
    process = started("check", S94, start_new_session=True)
    assert wait_for(lambda: len(of_group(process.pid)) > 2, 30)
    time.sleep(2)
    pressed = time.monotonic()
    end(process.pid, how)
    out, err = process.communicate(timeout=60)
    assert wait_for(lambda: not of_group(process.pid), 1)
    assert time.monotonic() - pressed < 1
    assert (process.returncode, out, err) == (-how, "", "")


def test_a_question_that_is_killed_leaves_no_process(hard_book: Path) -> None:
    process = started("can", hard_book, "puzzle", start_new_session=True)
    assert wait_for(lambda: len(of_group(process.pid)) == 2, 30)
    process.kill()
    assert wait_for(lambda: not of_group(process.pid), 1)
    assert process.communicate() == ("", "")


@pytest.mark.parametrize(
    ("how", "status", "told"),
    [
        (signal.SIGSEGV, endings.FAILED, "Tellback itself has failed (SIGSEGV); you are not"),
        (signal.SIGABRT, endings.FAILED, "Tellback itself has failed (SIGABRT); you are not"),
        (signal.SIGKILL, endings.REFUSED, "this was ended from outside, as systems do when"),
        (signal.SIGTERM, -signal.SIGTERM, ""),
    ],
)
def test_what_ends_the_command_itself_is_told_by_the_process_that_waits(
    hard_book: Path, tmp_path: Path, how: signal.Signals, status: int, told: str
) -> None:
    environment = os.environ | {"TMPDIR": str(tmp_path)}
    process = started("can", hard_book, "puzzle", start_new_session=True, env=environment)
    assert wait_for(lambda: len(of_group(process.pid)) == 2, 30)
    (command,) = of_group(process.pid) - {process.pid}
    time.sleep(0.5)
    os.kill(command, how)
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (status, "")
    assert err.startswith(told)
    assert len(list(tmp_path.iterdir())) == (status == endings.FAILED)


ENGINE_THAT_FAILS = """
import os, sys
from tellback.cli import entry
def aborts():
    os.write(2, b"memory allocation of 160 bytes failed\\n" if sys.argv[1] == "much" else b"!\\n")
    os.abort()
entry._run = aborts
sys.exit(entry.main())
"""


@pytest.mark.parametrize(
    ("why", "status", "told"),
    [("much", endings.REFUSED, "this was ended from"), ("", endings.FAILED, "Tellback itself")],
)
def test_what_an_engine_says_at_its_end_is_kept_for_the_report(
    tmp_path: Path, why: str, status: int, told: str
) -> None:
    environment = os.environ | {"TMPDIR": str(tmp_path)}
    program = [sys.executable, "-c", ENGINE_THAT_FAILS, why]
    ran = subprocess.run(program, capture_output=True, text=True, env=environment)
    assert (ran.returncode, ran.stdout) == (status, "")
    assert ran.stderr.startswith(told)
    kept = [path.read_text() for path in tmp_path.iterdir()]
    assert [text.endswith("!\n") for text in kept] == [True] * (status == endings.FAILED)


def test_ctrl_c_right_after_the_start_is_quiet() -> None:
    """While it is being loaded, too."""
    for pause in (0.0, 0.05, 0.1, 0.2, 0.4, 0.8):
        process = started("check", S94, start_new_session=True)
        assert wait_for(lambda process=process: len(of_group(process.pid)) > 1, 30)
        time.sleep(pause)
        os.killpg(process.pid, signal.SIGINT)
        _, err = process.communicate(timeout=60)
        assert process.returncode == -signal.SIGINT
        assert err == ""
        assert wait_for(lambda process=process: not of_group(process.pid), 1)


def test_a_process_that_is_told_to_let_ctrl_c_be_goes_on() -> None:
    """As under `nohup`."""
    told = run(*QUESTION)
    process = subprocess.Popen(
        ["sh", "-c", f"trap '' INT; exec '{sys.executable}' -m tellback \"$@\"", "sh", *QUESTION],
        stdout=subprocess.PIPE,
        text=True,
    )
    time.sleep(0.2)
    process.send_signal(signal.SIGINT)
    out, _ = process.communicate(timeout=60)
    assert (process.returncode, out) == (0, told.out)


def test_it_waits_also_where_it_was_told_to_let_processes_be() -> None:
    """As some programs start others: with SIGCHLD ignored."""
    program = (
        "import os, signal, sys; signal.signal(signal.SIGCHLD, signal.SIG_IGN); "
        "os.execv(sys.executable, [sys.executable, '-m', 'tellback', '--version'])"
    )
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("tellback ")


NO_MORE_PROCESSES = """
import os, sys
from tellback.cli import entry
def none_left():
    raise BlockingIOError(11, "Resource temporarily unavailable")
os.fork = none_left
sys.exit(entry.main())
"""


def test_it_runs_where_there_can_be_no_other_process() -> None:
    told = run(*QUESTION)
    program = [sys.executable, "-c", NO_MORE_PROCESSES, *QUESTION]
    ran = subprocess.run(program, capture_output=True, text=True)
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, told.out, "")


def test_a_pipe_that_nobody_reads() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    assert ended(*QUESTION, stdout=writing) == (endings.NOBODY_READS, "", "")
    os.close(writing)


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&-", ">&- 2>&- <&-"])
def test_closed_streams_are_quiet(closed: str) -> None:
    told = run(*QUESTION)
    command = f"'{sys.executable}' -m tellback \"$@\" {closed}"
    ran = subprocess.run(["sh", "-c", command, "sh", *QUESTION], capture_output=True, text=True)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout == ("" if ">&-" in closed.replace("2>&-", "") else told.out)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no disk that is always full")
def test_an_answer_that_cannot_be_written() -> None:
    with open("/dev/full", "w") as full:
        status, _, err = ended(*QUESTION, stdout=full)
    assert status == endings.REFUSED
    assert err.startswith("no space left on device\n  Make room")
    with open("/dev/full", "w") as full:
        assert ended(*QUESTION, stdout=full, stderr=full)[0] == endings.REFUSED


# -- faults of the program itself -------------------------------------------------------------


class Panic(BaseException):
    """What an engine in another language raises."""


@pytest.fixture
def at_fault(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    def fault(*_: object, **__: object) -> None:
        raise Panic("a secret of the book")

    monkeypatch.setattr("tellback.logic.answers.ways.ways_of", fault)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    return tmp_path


def test_an_own_fault_is_one_sentence_with_a_file(at_fault: Path) -> None:
    ran = run(*QUESTION)
    (kept,) = at_fault.iterdir()
    assert (ran.status, ran.out) == (endings.FAILED, "")
    first, second = ran.err.splitlines()
    assert re.fullmatch(r"Tellback itself has failed \(Panic in ways.py, line \d+\); .*", first)
    assert f"report it with the file {kept}," in second
    details = kept.read_text()
    assert "tellback ways " in details
    assert "Traceback" in details
    assert "oxidd 0." in details


def test_an_own_fault_as_json(at_fault: Path) -> None:
    ran = run(*QUESTION, "--json")
    assert (ran.status, ran.err) == (endings.FAILED, "")
    assert ran.json["error"]["kind"] == "own-fault"


def test_an_own_fault_where_nothing_can_be_kept(
    at_fault: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(at_fault / "away"))
    ran = run(*QUESTION)
    assert ran.status == endings.FAILED
    assert "No file of details could be kept: no such file or directory." in ran.err


def test_a_fault_in_a_process_beside_is_told_with_where_it_was(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """What cannot be sent back as it is comes back as text."""
    monkeypatch.setattr("tellback.cli.keeping.MANY_THINGS", 0)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr("tellback.logic.check.found_in", print)
    ran = run("check", TEMPLATE)
    (kept,) = tmp_path.iterdir()
    assert ran.status == endings.FAILED
    assert "In a process beside:" in kept.read_text() or "NoneType" in kept.read_text()


def test_statuses_are_all_different() -> None:
    named = [value for value in vars(endings).values() if isinstance(value, int)]
    assert len(named) == len(set(named)) == 6
