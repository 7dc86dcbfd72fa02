"""The demonstration asks real questions of the example, as anyone could type them, and is quick."""

import shlex
import time

import pytest

from tellback.cli.asking import QUESTIONS
from tellback.cli.session import STEPS
from tests.cli.commands import Ran, run

MOST_SECONDS = 30


@pytest.fixture(scope="module")
def session() -> tuple[Ran, float]:
    began = time.process_time()
    return run("demo"), time.process_time() - began


def test_it_runs_to_its_end_in_time(session: tuple[Ran, float]) -> None:
    ran, seconds = session
    assert (ran.status, ran.err) == (0, "")
    assert seconds < MOST_SECONDS


def test_every_step_is_said_shown_and_answered(session: tuple[Ran, float]) -> None:
    told = session[0].out
    for step in STEPS:
        _, said, after = told.partition(f"{step.said}\n$ tellback ")
        assert said
        command, _, told = after.partition("\n")
        words = shlex.split(command)
        assert [words[0], *words[2:]] == [step.question, *step.texts, *step.options]
        assert told.lstrip() != ""


def test_a_command_that_it_shows_gives_the_answer_that_it_shows(session: tuple[Ran, float]) -> None:
    told = session[0].out
    for line in told.split("\n"):
        if line.startswith(("$ tellback signs", "$ tellback losses")):
            assert run(*shlex.split(line)[2:]).out in told


def test_every_question_is_in_it() -> None:
    assert {step.question for step in STEPS} == {question.__name__ for question in QUESTIONS}
