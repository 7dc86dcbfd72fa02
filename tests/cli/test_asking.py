"""Each question has a command that gives the text and the JSON of its answer, and nothing else."""

import json
from dataclasses import fields
from typing import Any

import pytest

import tellback as tb
from tellback.book.begin import TEMPLATE
from tellback.cli.asking import QUESTIONS
from tellback.cli.running import QUESTIONS_IN_TIME
from tests.cli.commands import run

GATE: dict[str, Any] = {"start": "at the gate", "changes": ["left engine master: ON"]}
FROM_GATE = ["--from", "at the gate", "--with", "left engine master: ON"]
ASKED: list[tuple[str, list[str], list[Any], dict[str, Any]]] = [
    ("ways", ["left bus live"], ["left bus live"], {}),
    (
        "ways",
        ["left bus live", "--given", "right bus lost", "--aeroplane", "E-200"],
        ["left bus live"],
        {"given": ["right bus lost"], "aeroplane": "E-200"},
    ),
    ("shortest", ["left bus live", "--shortest"], ["left bus live"], {}),
    (
        "shortest",
        ["left bus live", "--given", "right bus lost", "--root", "--aeroplane", "E-200"],
        ["left bus live"],
        {"given": ["right bus lost"], "to_root": True, "aeroplane": "E-200"},
    ),
    (
        "stops",
        ["left bus live", *FROM_GATE, "--order", "2"],
        ["left bus live"],
        {**GATE, "order": 2},
    ),
    ("feeds", ["left bus", *FROM_GATE], ["left bus"], GATE),
    (
        "effects",
        ["left generator switch: OFF", *FROM_GATE],
        ["left generator switch: OFF"],
        GATE,
    ),
    (
        "effects",
        ["left generator switch: OFF", "--elsewhere"],
        ["left generator switch: OFF"],
        {"elsewhere": True},
    ),
    (
        "losses",
        ["left bus live", *FROM_GATE, "--order", "2", "--free"],
        ["left bus live"],
        {**GATE, "order": 2, "free": True},
    ),
    ("losses", ["left bus live"], ["left bus live"], {}),
    (
        "signs",
        ["left engine: stops", "battery: stops"],
        [["left engine: stops", "battery: stops"]],
        {},
    ),
    (
        "fits",
        ["galley ovens not running", "left bus live", "--order", "1"],
        [["galley ovens not running", "left bus live"]],
        {"order": 1},
    ),
    ("steps", ["start flow", *FROM_GATE], ["start flow"], GATE),
    ("steps", ["start flow"], ["start flow"], {}),
    ("why", ["galley ovens running", *FROM_GATE], ["galley ovens running"], GATE),
    (
        "claim",
        ["never left bus lost", "--given", "no failures", "--from", "in flight"],
        ["never left bus lost"],
        {"given": ["no failures"], "start": "in flight"},
    ),
    (
        "can",
        ["left bus lost", "--given", "at most 1 failure", "--from", "in flight"],
        ["left bus lost"],
        {"given": ["at most 1 failure"], "start": "in flight"},
    ),
    (
        "compare",
        ["--aeroplane", "E-100", "--with", "E-200"],
        [],
        {"aeroplane_a": "E-100", "aeroplane_b": "E-200"},
    ),
    ("run", ["generator lost in flight"], ["generator lost in flight"], {}),
    (
        "still",
        ["generator lost in flight", "galley ovens running", "--aeroplane", "E-200"],
        ["generator lost in flight", "galley ovens running"],
        {"aeroplane": "E-200"},
    ),
    (
        "what_if",
        ["generator lost in flight", "--with", "battery: stops", "--at", "6 s", "--without", "3"],
        ["generator lost in flight"],
        {"changes": ["battery: stops"], "at": "6 s", "without": [3]},
    ),
]
IDS = [f"{question} {' '.join(words)}" for question, words, _, _ in ASKED]


def command_of(question: str) -> str:
    """The command that asks what the function of this name does."""
    return "ways" if question == "shortest" else question.replace("_", "-")


@pytest.fixture(scope="module")
def book() -> Any:
    return tb.read(TEMPLATE)


@pytest.mark.parametrize(("question", "words", "texts", "options"), ASKED, ids=IDS)
def test_the_answer_is_told_with_the_caution_under_it(
    book: Any, question: str, words: list[str], texts: list[Any], options: dict[str, Any]
) -> None:
    answer = getattr(tb, question)(book, *texts, **options)
    ran = run(command_of(question), TEMPLATE, *words)
    assert (ran.status, ran.err) == (0, "")
    assert ran.out == f"{answer}\n{tb.CAUTION}\n"


@pytest.mark.parametrize(("question", "words", "texts", "options"), ASKED, ids=IDS)
def test_json_has_the_fields_of_the_answer(
    book: Any, question: str, words: list[str], texts: list[Any], options: dict[str, Any]
) -> None:
    if question == "ways":  # the JSON has the shortest combinations as well
        options = {**options, "shortest": True}
    answer = getattr(tb, question)(book, *texts, **options)
    ran = run(command_of(question), TEMPLATE, *words, "--json")
    names = [field.name for field in fields(answer)]
    assert (ran.status, ran.err) == (0, "")
    assert list(ran.json) == ["answer", *names, "text", "caution"]
    assert ran.json["text"] == str(answer)
    assert ran.json == {**json.loads(json.dumps(tb.as_json(answer))), "caution": tb.CAUTION}


def test_every_question_is_asked_here() -> None:
    questions = (*QUESTIONS, *QUESTIONS_IN_TIME)
    names = {question.__name__ for question in questions}
    assert names == {asked[0] for asked in ASKED} - {"shortest"}
