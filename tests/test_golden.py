"""What the command line prints changes only on purpose; see `golden_cases`."""

import pytest

from tellback.cli.main import app
from tests.golden_cases import FOLDER, cases, files, printed

CASES = cases()
TESTED_ELSEWHERE = {
    "draw": "in draw/test_schematic and draw/test_geometry; it writes pictures",
    "schema": "as data, in test_schema; its text is long and says nothing more",
    "demo": "in cli/test_session; its answers are those of commands that have cases",
}


@pytest.mark.parametrize("name", CASES)
def test_printed_as_in_the_golden_file(name: str) -> None:
    assert printed(CASES[name]) == (FOLDER / f"{name}.txt").read_text(encoding="utf-8")


def test_every_case_has_a_file_and_every_file_a_case() -> None:
    assert files() == set(CASES)


def test_every_command_has_a_case() -> None:
    commands = {
        info.name or info.callback.__name__.replace("_", "-") for info in app.registered_commands
    }
    assert commands - set(TESTED_ELSEWHERE) == {words[0] for words in CASES.values()}
