"""What two books state differently of scenarios: from where, what happens, what is expected."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from difflib import SequenceMatcher

from tellback.book.english import time_text
from tellback.book.names import fold, names_of
from tellback.book.scenario import Expectation, Happening, Scenario
from tellback.book.sentences_in_order import happening_text
from tellback.logic.differences.shapes import shape
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import (
    ADDED,
    REMOVED,
    SOURCE,
    WHY,
    Found,
    bare,
    reasons_apart,
)

KIND = "scenario"
STEP, EXPECTS = "step", "expects"


def scenario_differences(sides: Sides) -> Iterator[Found]:
    """The differences of scenarios, in the order of the second book."""
    before = {fold(scenario.name): scenario for scenario in sides.book_a.scenarios}
    for new in sides.book_b.scenarios:
        old = before.pop(fold(new.name), None)
        if old is None:
            yield _found(new, ADDED, "", None, new, "", _all_of(new))
        else:
            yield from _of_pair(sides, old, new)
    for old in before.values():
        yield _found(old, REMOVED, "", old, None, _all_of(old), "")


def _found(
    one: Scenario, what: str, key: str, old: Scenario | None, new: Scenario | None, *texts: str
) -> Found:
    sources = [of.source if of else "" for of in (old, new)]
    places = old.place if old else None, new.place if new else None
    return Found(
        one.name, KIND, what, key, texts[0], texts[1], sources[0], sources[1], places=places
    )


def _all_of(scenario: Scenario) -> str:
    count = len(scenario.happenings)
    return f"from {_begins(scenario)}, {count} step{'s' * (count != 1)}"


def _begins(scenario: Scenario) -> str:
    changes = ", ".join(f"{thing}: {state}" for thing, state in scenario.changes)
    return f"{scenario.start}, with {changes}" if changes else scenario.start


def _of_pair(sides: Sides, old: Scenario, new: Scenario) -> Iterator[Found]:
    for key, before, after in (
        ("from", _begins(old), _begins(new)),
        ("ends", _ends(old), _ends(new)),
        ("note", old.note, new.note),
        (WHY, *reasons_apart(old.whys, new.whys)),
    ):
        if fold(before) != fold(after):
            yield _found(new, key, key, old, new, before, after)
    yield from _steps(sides, old, new)
    yield from _expected(old, new)
    if bare(sides.whole_a, old.source) != bare(sides.book_b, new.source):
        yield _found(new, SOURCE, SOURCE, old, new, old.source, new.source)


def _ends(scenario: Scenario) -> str:
    return "" if scenario.ends is None else time_text(scenario.ends)


# -- step by step -------------------------------------------------------------------------------


def _steps(sides: Sides, old: Scenario, new: Scenario) -> Iterator[Found]:
    """Steps changed, new or gone, each with its number in its own book."""
    told = [
        [f"{number}. {happening_text(h, names)}" for number, h in enumerate(of.happenings, 1)]
        for of, names in ((old, names_of(sides.book_a)), (new, names_of(sides.book_b)))
    ]
    for of_old, of_new in _apart(old, new):
        before, after = told[0][of_old], told[1][of_new]
        if len(before) == len(after):
            yield from (
                _inside(new, f"{STEP} changed", *two) for two in zip(before, after, strict=True)
            )
            continue
        yield from (_inside(new, f"{STEP} {REMOVED}", text, "") for text in before)
        yield from (_inside(new, f"{STEP} {ADDED}", "", text) for text in after)


def _apart(old: Scenario, new: Scenario) -> Iterator[tuple[slice, slice]]:
    """Where the steps of one stand that the other has not, or has otherwise."""
    marks = [[_mark(happening) for happening in of.happenings] for of in (old, new)]
    matcher = SequenceMatcher(None, marks[0], marks[1], autojunk=False)
    for tag, start_a, end_a, start_b, end_b in matcher.get_opcodes():
        if tag != "equal":
            yield slice(start_a, end_a), slice(start_b, end_b)


def steps_apart(old: Scenario, new: Scenario) -> tuple[frozenset[int], frozenset[int]]:
    """The numbers of the steps of each that the other has not, or has otherwise."""
    counts = [range(1, len(of.happenings) + 1) for of in (old, new)]
    places = list(_apart(old, new))
    of_old = frozenset(number for where, _ in places for number in counts[0][where])
    return of_old, frozenset(number for _, where in places for number in counts[1][where])


def _inside(scenario: Scenario, what: str, before: str, after: str) -> Found:
    """A difference within a scenario, under the source of the whole."""
    key = EXPECTS if what.startswith(EXPECTS) else STEP
    return Found(scenario.name, KIND, what, key, before, after)


def _mark(happening: Happening) -> Hashable:
    """What makes a step what it is; of what is only told or asked that is the text."""
    told = fold(happening.statement.text) if happening.kind in ("ask", "say") else ""
    when = shape(happening.when.condition) if happening.when else None
    return (
        happening.kind, shape(happening.statement.condition), told, happening.at, when,
        happening.later, happening.settings, happening.procedure, happening.held, happening.pace,
    )  # fmt: skip


def _expected(old: Scenario, new: Scenario) -> Iterator[Found]:
    """What one alone is expected to bring."""
    before, after = (
        {_meant(e): " ".join(e.statement.text.split()) for e in of.expectations}
        for of in (old, new)
    )
    for meant, text in before.items():
        if meant not in after:
            yield _inside(new, f"{EXPECTS} {REMOVED}", text, "")
    for meant, text in after.items():
        if meant not in before:
            yield _inside(new, f"{EXPECTS} {ADDED}", "", text)


def _meant(expected: Expectation) -> Hashable:
    return shape(expected.statement.condition), expected.form, expected.begins, expected.ends
