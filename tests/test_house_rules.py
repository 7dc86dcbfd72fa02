"""What holds for the package as a whole."""

import ast
import importlib.metadata
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[1]
SOURCE = PROJECT / "src"
PACKAGE = SOURCE / "tellback"
MODULES = sorted(PACKAGE.rglob("*.py"))
FOLDERS = sorted({path.parent for path in MODULES})

LOADED_ONLY_WHEN_USED = ("oxidd", "typer", "rich", "ruamel")
MOST_LINES = 400


def in_project(path: Path) -> str:
    return path.relative_to(SOURCE).as_posix()


def test_importing_tellback_loads_nothing_heavy() -> None:
    program = "import sys, tellback; print(*sys.modules, sep='\\n')"
    run = subprocess.run(
        [sys.executable, "-c", program], cwd=SOURCE, capture_output=True, text=True, check=True
    )
    loaded = {name.partition(".")[0] for name in run.stdout.split()}
    assert "tellback" in loaded
    assert loaded.isdisjoint(LOADED_ONLY_WHEN_USED)


def test_installed_version_is_the_one_of_the_project_file() -> None:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert importlib.metadata.version("tellback") == project["version"]


@pytest.mark.parametrize("folder", FOLDERS, ids=in_project)
def test_every_package_says_what_it_is_for(folder: Path) -> None:
    init = folder / "__init__.py"
    assert init.exists()
    assert ast.get_docstring(ast.parse(init.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", MODULES, ids=in_project)
def test_no_module_is_too_long_to_take_in(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").count("\n")
    assert lines <= MOST_LINES
