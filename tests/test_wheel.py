"""What is installed from the built package, without the project around it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import zipfile
from email.message import Message
from email.parser import Parser
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder into which the package was unpacked."""
    built, folder = tmp_path_factory.mktemp("built"), tmp_path_factory.mktemp("installed")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(built)],
        cwd=PROJECT,
        check=True,
        capture_output=True,
    )
    (wheel,) = built.iterdir()
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(folder)
    return folder


@pytest.fixture(scope="module")
def metadata(installed: Path) -> Message:
    (path,) = installed.glob("*.dist-info/METADATA")
    return Parser().parsestr(path.read_text(encoding="utf-8"))


def run_there(installed: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Runs Python in a folder where there is nothing else, with the package before the project."""
    return subprocess.run(
        [sys.executable, "-P", *arguments],
        cwd=installed,
        env=os.environ | {"PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
    )


def test_the_example_of_the_demonstration_is_in_it(installed: Path) -> None:
    program = "from tellback.cli import session; print(session._example().resolve())"
    found = run_there(installed, "-c", program).stdout.strip()
    assert found == str(installed.resolve() / "tellback" / "books" / "s94")
    names = {path.relative_to(found) for path in Path(found).rglob("*") if path.is_file()}
    book = PROJECT / "books" / "s94"
    assert names == {path.relative_to(book) for path in book.rglob("*") if path.is_file()}


def test_it_answers_as_a_module(installed: Path) -> None:
    question = ["ways", "tellback/books/s94", "wing electric pump running"]
    ran = run_there(installed, "-m", "tellback", *question)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("wing electric pump running ")


def test_a_new_book_can_be_begun_from_it(installed: Path, tmp_path: Path) -> None:
    ran = run_there(installed, "-m", "tellback", "new", str(tmp_path / "mine"))
    assert ran.returncode == 0
    assert run_there(installed, "-m", "tellback", "check", str(tmp_path / "mine")).returncode == 0


def test_the_licences_of_what_it_holds_are_told(installed: Path, metadata: Message) -> None:
    assert metadata["License-Expression"] == "Apache-2.0 AND EPL-2.0 AND OFL-1.1"
    files = metadata.get_all("License-File")
    assert files is not None
    assert {Path(file).parent.name for file in files} == {"", "elk", "font"}
    (folder,) = installed.glob("*.dist-info")
    assert all((folder / "licenses" / file).is_file() for file in files)


def test_its_page_on_an_index_has_no_picture_that_is_not_there(metadata: Message) -> None:
    page = metadata.get_payload()
    assert isinstance(page, str)
    assert "training aid" in " ".join(page.split())
    assert "](" not in page


def test_only_drawing_needs_the_large_packages(metadata: Message) -> None:
    needed = metadata.get_all("Requires-Dist")
    assert needed is not None
    extra = {re.split("[<>=]", one)[0] for one in needed if "extra == 'draw'" in one}
    assert extra == {"fonttools", "mini-racer", "vl-convert-python"}
    assert not any(name in one for one in needed for name in extra if "extra ==" not in one)
