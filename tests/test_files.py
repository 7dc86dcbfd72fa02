"""A file is there whole or as it was, whatever happens to its writer, and one writes at a time."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from tellback import files
from tellback.files import Busy, only_writer, replace_file

KILLED = """
import os, signal, sys
from pathlib import Path
from tellback.files import replace_file
write = Path.write_bytes
def killed(path, content):
    write(path, content[:3])
    os.kill(os.getpid(), signal.SIGKILL)
Path.write_bytes = killed
replace_file(Path(sys.argv[1]), b"something new")
"""


def test_a_new_file_has_the_rights_of_any_other(tmp_path: Path) -> None:
    replace_file(tmp_path / "new", b"1")
    (tmp_path / "other").touch()
    modes = {stat.S_IMODE(path.stat().st_mode) for path in tmp_path.iterdir()}
    assert len(modes) == 1


def test_a_file_keeps_its_rights(tmp_path: Path) -> None:
    (tmp_path / "old").touch()
    (tmp_path / "old").chmod(0o600)
    replace_file(tmp_path / "old", b"1")
    assert stat.S_IMODE((tmp_path / "old").stat().st_mode) == 0o600


@pytest.mark.parametrize("name", ["x" * 250, "\u6db2" * 80, "[a]*", ".hidden"])
def test_any_name_will_do(tmp_path: Path, name: str) -> None:
    replace_file(tmp_path / name, b"1")
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_writer_that_is_killed_leaves_the_file_and_its_leavings_go_with_the_next(
    tmp_path: Path,
) -> None:
    path = tmp_path / "kept.yaml"
    path.write_bytes(b"as it was")
    ran = subprocess.run([sys.executable, "-c", KILLED, str(path)])
    assert ran.returncode == -signal.SIGKILL
    assert path.read_bytes() == b"as it was"
    assert len(list(tmp_path.iterdir())) == 2
    (tmp_path / ".kept.yaml.mine").touch()
    replace_file(path, b"new")
    assert path.read_bytes() == b"new"
    assert {name.name for name in tmp_path.iterdir()} == {"kept.yaml", ".kept.yaml.mine"}


def test_what_somebody_is_writing_is_not_swept_away(tmp_path: Path) -> None:
    path = tmp_path / "kept.yaml"
    for one in range(30):
        both = [
            threading.Thread(target=replace_file, args=(path, bytes([n]) * 10_000)) for n in (1, 2)
        ]
        for thread in both:
            thread.start()
        for thread in both:
            thread.join()
        assert len(set(path.read_bytes())) == 1, one
    assert list(tmp_path.iterdir()) == [path]


def test_where_there_are_no_locks_files_are_written_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "fcntl", None)
    replace_file(tmp_path / "one", b"1")
    with only_writer(tmp_path), only_writer(tmp_path):
        assert [path.name for path in tmp_path.iterdir()] == ["one"]


def test_one_writes_at_a_time(tmp_path: Path) -> None:
    order = []

    def second() -> None:
        with only_writer(tmp_path):
            order.append("second")

    with only_writer(tmp_path):
        thread = threading.Thread(target=second)
        thread.start()
        time.sleep(0.1)
        order.append("first")
    thread.join()
    assert order == ["first", "second"]


def test_nobody_waits_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "PATIENCE", 0.05)
    with (
        only_writer(tmp_path),
        pytest.raises(Busy, match="has been writing in"),
        only_writer(tmp_path),
    ):
        pass


def test_two_lists_of_changed_passages_at_once_lose_nothing(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tellback"]
    book = str(tmp_path / "mine")
    subprocess.run([*command, "new", book], check=True, stdout=subprocess.DEVNULL)
    several = [
        subprocess.Popen(
            [*command, "revise", book, "--changed", f"24-{n}"], stdout=subprocess.DEVNULL
        )
        for n in range(8)
    ]
    assert [process.wait() for process in several] == [0] * 8
    told = subprocess.run([*command, "revise", book], capture_output=True, text=True).stdout
    assert told.startswith("8 changed passages: ")
    assert os.listdir(book).count("rereading.json") == 1
