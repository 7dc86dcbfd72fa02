"""A new book is there as a whole or not at all."""

import errno
from pathlib import Path

import pytest

from tellback.book.begin import FolderInUse, begin
from tellback.book.reader import read


def test_a_new_book_has_nothing_to_find(tmp_path: Path) -> None:
    begin(tmp_path / "far" / "mine")
    book, found = read(tmp_path / "far" / "mine")
    assert found == ()
    assert book is not None
    assert len(book.variants) == 2


def test_an_empty_folder_will_do(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    begin(tmp_path / "mine")
    assert (tmp_path / "mine" / "type.yaml").exists()


@pytest.mark.parametrize("where", ["full", "full/a file", "."])
def test_what_is_in_use_is_left_alone(
    tmp_path: Path, where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "a file").write_text("mine")
    with pytest.raises(FolderInUse, match="in use"):
        begin(Path(where))
    assert [p.name for p in tmp_path.rglob("*")] == ["full", "a file"]


def test_nothing_is_left_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write = Path.write_bytes

    def breaks_off(path: Path, content: bytes) -> int:
        if path.name != "type.yaml":
            return write(path, content)
        raise OSError(errno.ENOSPC, "the disk is full")

    monkeypatch.setattr(Path, "write_bytes", breaks_off)
    with pytest.raises(OSError, match=r"the disk is full: '.*mine'$"):
        begin(tmp_path / "mine")
    assert list(tmp_path.iterdir()) == []
