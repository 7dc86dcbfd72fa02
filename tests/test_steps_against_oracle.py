"""What a drawn procedure does equals what the naive crew sees: steps, end, and every variation."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tellback.book.model import Control, Situation
from tellback.logic.answers.steps import Difference, Steps, Variation, steps
from tests.oracle.changes import seen
from tests.oracle.procedures import Told, performed
from tests.oracle.timed import Moment
from tests.oracle.values import fed_from, holds
from tests.scenes import Scene, drawn_scene, in_words
from tests.small_books import book_of
from tests.strategies import BookText
from tests.test_answers_against_oracle import drawn, quickly
from tests.twins import Twins, twins_of

FEEDER = "feeder of "
"""Before the name of a supply: what feeds it."""


class Run(NamedTuple):
    """A run of the naive crew: what came of the steps, and the settled end."""

    told: Told
    end: Moment


@quickly
@given(drawn, st.data())
def test_steps_of_a_drawn_procedure(text: BookText, data: st.DataObject) -> None:
    twins = with_procedure(text, data)
    scene = drawn_scene(data, twins)
    answer = steps(twins.book, "drawn", start=scene.start, changes=scene.changes)
    run = crew(twins, scene)
    assert_same_steps(answer, run, scene)
    assert_same_whole(twins, answer, run, scene)
    for variation in answer.left_out:
        assert_left_out(twins, scene, run, variation)
    assert_swapped(twins, scene, run, answer)


def with_procedure(text: BookText, data: st.DataObject) -> Twins:
    """The twins of the drawn book with a procedure drawn for it."""
    plain = twins_of(text)
    conditions = [plain.picture.phrase(question) for question in plain.questions]
    lines = "\n".join(f"      {line}" for line in drawn_steps(data, plain, conditions, 2))
    secures = data.draw(st.sampled_from(conditions))
    procedures = (
        "procedures:\n  drawn:\n    kind: flow\n    source: p.1\n    done from: normal\n"
        f"    secures: ['{secures}']\n    steps:\n{lines}\n"
    )
    book = book_of(text.chapter, text.type_file, procedures=procedures)
    return Twins(book, plain.questions)


def drawn_steps(data: st.DataObject, twins: Twins, conditions: list[str], depth: int) -> list[str]:
    """Lines of one to four steps, with branches up to the depth."""
    lines: list[str] = []
    kinds = ["do", "do", "do", "wait", "await", "check", *["if"] * (depth > 0)]
    for kind in data.draw(st.lists(st.sampled_from(kinds), min_size=1, max_size=4)):
        condition = data.draw(st.sampled_from(conditions))
        match kind:
            case "do":
                lines.append(f"- do: {drawn_move(data, twins)}")
            case "wait":
                lines.append(f"- wait: {data.draw(st.sampled_from(['1 s', '2.5 s', '20 s']))}")
            case "await":
                lines.append(f"- wait: '{condition}'")
            case "check":
                lines.append(f"- check: '{condition}'")
            case _:
                lines += [f"- if: '{condition}'", "  then:"]
                lines += [f"    {x}" for x in drawn_steps(data, twins, conditions, depth - 1)]
                if data.draw(st.booleans()):
                    lines.append("  otherwise:")
                    lines += [f"    {x}" for x in drawn_steps(data, twins, conditions, depth - 1)]
    return lines


def drawn_move(data: st.DataObject, twins: Twins) -> str:
    """One or more controls, each to some position."""
    controls = [thing for thing in twins.book.things if isinstance(thing, Control)]
    chosen = data.draw(
        st.lists(st.sampled_from(controls), min_size=1, max_size=2, unique_by=lambda c: c.name)
    )
    return " and ".join(
        f"{control.name} at {data.draw(st.sampled_from(control.positions))}" for control in chosen
    )


def crew(twins: Twins, scene: Scene, skip: str = "", swap: tuple[str, ...] = ()) -> Run:
    """The naive crew's run of the procedure, with a step left out or two swapped."""
    (procedure,) = twins.book.procedures
    return Run(*performed(twins.frame, procedure.steps, scene.moment, skip, swap))


def assert_same_steps(answer: Steps, run: Run, scene: Scene) -> None:
    """The same steps are made at the same times, and the same comes of each."""
    mine = [(step.number, step.outcome) for step in answer.steps]
    assert mine == [(number, came) for number, came, _ in run.told]
    begun = [float(time - scene.moment.time) for _, _, time in run.told]
    assert [step.seconds for step in answer.steps] == pytest.approx(begun)


def words(twins: Twins, moment: Moment) -> dict[str, str]:
    """What is seen of every thing, and what feeds each live supply."""
    seen_now = {
        thing.name: in_words(twins, thing.name, seen(twins.frame, moment.state, thing))
        for thing in twins.book.things
        if not isinstance(thing, Situation)
    }
    fed = {FEEDER + name: source for name, source in fed_from(twins.frame, moment.state).items()}
    return seen_now | fed


def by_thing(differences: Iterable[Difference]) -> dict[str, tuple[str, str]]:
    """What an answer says is otherwise."""
    return {FEEDER * (d.kind == "feeder") + d.thing: (d.before, d.after) for d in differences}


def moved_by(twins: Twins, answer: Steps) -> set[str]:
    """The controls that the steps made name."""
    text = " ".join(step.text for step in answer.steps if step.kind == "do")
    return {t.name for t in twins.book.things if isinstance(t, Control) and t.name in text}


def assert_same_whole(twins: Twins, answer: Steps, run: Run, scene: Scene) -> None:
    """The end is the same: what is secured, what the whole has changed, and after how long."""
    (procedure,) = twins.book.procedures
    (secured,) = answer.secured
    condition = procedure.secures[0].condition
    assert secured.before == holds(twins.frame, scene.moment.state, condition)
    assert secured.after == holds(twins.frame, run.end.state, condition)
    before, after = words(twins, scene.moment), words(twins, run.end)
    expected = {
        name: (before[name], after[name])
        for name in after
        if after[name] != before.get(name, after[name]) and name not in moved_by(twins, answer)
    }
    told = (*answer.restored, *answer.brought)
    assert by_thing(told) == expected
    assert answer.seconds == pytest.approx(float(run.end.time - scene.moment.time))


def ends(twins: Twins, run: Run, other: Run, apart_from: set[str]) -> dict[str, tuple[str, str]]:
    """What ends otherwise in another run."""
    usual, now = words(twins, run.end), words(twins, other.end)
    return {
        name: (usual[name], now[name])
        for name in now
        if now[name] != usual.get(name, now[name]) and name not in apart_from
    }


def told_of(variation: Variation) -> dict[str, tuple[str, str]]:
    """What the answer says ends otherwise."""
    return by_thing(variation.differences)


def newly_barred(run: Run, other: Run) -> list[str]:
    """The steps that a lock forbids in the other run, though it did not before."""
    could = {number for number, came, _ in run.told if came != "barred"}
    return [number for number, came, _ in other.told if came == "barred" and number in could]


def assert_left_out(twins: Twins, scene: Scene, run: Run, variation: Variation) -> None:
    """Leaving the step out ends as the naive crew sees it end."""
    (number,) = variation.numbers
    other = crew(twins, scene, skip=number)
    step = step_of(twins, number)
    controls = {t.name for t in twins.book.things if isinstance(t, Control) and t.name in step}
    assert told_of(variation) == ends(twins, run, other, controls), number
    assert list(variation.barred) == newly_barred(run, other)


def step_of(twins: Twins, number: str) -> str:
    """The text of the step with that number."""
    steps = twins.book.procedures[0].steps
    *way, last = map(int, number.split("."))
    for place in way:
        steps = (*steps[place - 1].then, *steps[place - 1].otherwise)
    return steps[last - 1].statement.text


def assert_swapped(twins: Twins, scene: Scene, run: Run, answer: Steps) -> None:
    """Every two top neighbours that were made are swapped once, and end as the crew sees it."""
    told = {v.numbers: v for v in answer.swapped}
    made = {number for number, _, _ in run.told}
    kinds = [step.kind for step in twins.book.procedures[0].steps]
    for i in range(1, len(kinds)):
        pair = (str(i), str(i + 1))
        if kinds[i - 1 : i + 1] == ["do", "do"]:
            assert made.issuperset(pair)
            other = crew(twins, scene, swap=pair)
            found = ends(twins, run, other, set()), newly_barred(run, other)
            assert (told_of(told[pair]), list(told[pair].barred)) == found, pair
