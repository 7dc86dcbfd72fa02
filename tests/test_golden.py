"""What the command line prints about the S94 changes only on purpose; see `golden_cases`."""

import pytest

from tellback.cli.asking import QUESTIONS
from tests.golden_cases import CASES, FOLDER, printed


@pytest.mark.parametrize("name", CASES)
def test_printed_as_in_the_golden_file(name: str) -> None:
    assert printed(CASES[name]) == (FOLDER / f"{name}.txt").read_text(encoding="utf-8")


def test_every_case_has_a_file_and_every_file_a_case() -> None:
    assert {path.stem for path in FOLDER.glob("*.txt")} == set(CASES)


def test_every_question_has_a_case() -> None:
    assert {question.__name__ for question in QUESTIONS} <= {words[0] for words in CASES.values()}
