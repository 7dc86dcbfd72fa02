"""A cold start is quick because a command loads only what it needs."""

import subprocess
import sys
from pathlib import Path

import pytest

from tellback.book.begin import TEMPLATE

SOURCE = Path(__file__).parents[2] / "src"
PROGRAM = """
import sys
from tellback.cli.main import main
status = main(sys.argv[1:])
print(status, *sys.modules, sep="\\n", file=sys.stderr)
"""
NEVER = {"rich", "pygments", "ruamel", "markdown_it", "fontTools", "py_mini_racer", "vl_convert"}


def loaded(*arguments: object) -> set[str]:
    """The modules that a command has loaded when it is done."""
    ran = subprocess.run(
        [sys.executable, "-c", PROGRAM, *map(str, arguments)],
        cwd=SOURCE,
        capture_output=True,
        text=True,
        check=True,
    )
    status, *modules = ran.stderr.split()
    assert status == "0"
    return set(modules)


@pytest.mark.parametrize(
    ("arguments", "not_needed"),
    [
        (("--version",), {"oxidd", "yaml", "tellback.book", "tellback.logic"}),
        (("schema",), {"oxidd", "yaml", "tellback.logic"}),
        (("format", TEMPLATE, "--check"), {"oxidd", "tellback.logic"}),
        (("signs", TEMPLATE, "battery: stops"), {"tellback.logic.answers.ways"}),
        (("ways", TEMPLATE, "left bus live"), {"tellback.logic.answers.losses"}),
    ],
    ids=lambda value: value[0] if isinstance(value, tuple) else "",
)
def test_only_what_is_needed_is_loaded(arguments: tuple[object, ...], not_needed: set[str]) -> None:
    modules = loaded(*arguments)
    assert "tellback.cli.main" in modules
    assert modules & (NEVER | not_needed) == set()
