"""The demonstration asks real questions of the example, as anyone could type them."""

import shlex

import pytest

from tellback.cli.asking import QUESTIONS
from tellback.cli.running import QUESTIONS_IN_TIME
from tellback.cli.session import STEPS
from tests.cli.commands import Ran, run


@pytest.fixture(scope="module")
def session() -> Ran:
    return run("demo")


def test_it_runs_to_its_end(session: Ran) -> None:
    assert (session.status, session.err) == (0, "")


def test_every_step_is_said_shown_and_answered(session: Ran) -> None:
    told = session.out
    for step in STEPS:
        _, said, after = told.partition(f"{step.said}\n$ tellback ")
        assert said
        command, _, told = after.partition("\n")
        words = shlex.split(command)
        assert [words[0], *words[2:]] == [step.question, *step.texts, *step.options]
        assert told.lstrip() != ""


def test_a_command_that_it_shows_gives_the_answer_that_it_shows(session: Ran) -> None:
    told = session.out
    for line in told.split("\n"):
        if line.startswith(("$ tellback signs", "$ tellback losses")):
            assert run(*shlex.split(line)[2:]).out in told


def test_every_question_is_in_it() -> None:
    assert {step.question for step in STEPS} == {
        question.__name__.replace("_", "-") for question in (*QUESTIONS, *QUESTIONS_IN_TIME)
    }
