"""A comparison as text: the rows of the table, then what is only told otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from tellback.logic.differences.judging import NOWHERE, UNDECIDED, WORDING
from tellback.logic.differences.stated import (
    ADDED,
    LIMIT,
    MEANING,
    ORDER,
    REMOVED,
    RENAMED,
    SOURCE,
    STATEMENT,
    WHY,
)
from tellback.logic.words import alike, listed, named_together

if TYPE_CHECKING:
    from tellback.logic.answers.compare import Case, Comparison, Difference, Parting, Restated

_WHAT = {
    STATEMENT: "changed",
    LIMIT: "another number",
    ORDER: "in another order",
    MEANING: "the same text, of other things",
    WHY: "other reasons",
}
_BETWEEN_AEROPLANES = {
    STATEMENT: "differs",
    RENAMED: "another name",
    "step changed": "a step that differs",
    "step moved": "a step in another place",
}
"""What is said otherwise of two aeroplanes: nothing has changed from the one to the other."""

_NOTHING = {WHY: "(no other)"}
"""What stands for what one side has not, where that is not just not stated."""

_PART = {STATEMENT: "a statement ", "step": "a step ", "expects": "expected "}
"""What one aeroplane alone may have of a thing that both have."""


def lines_of(comparison: Comparison) -> Iterator[str]:
    """All lines of a comparison."""
    count = len(comparison.differences)
    yield f"{comparison.headline}{':' if count else '.'}"
    for number, difference in enumerate(comparison.differences, 1):
        yield from _row(comparison, number, difference)
    yield from _scenarios(comparison)
    if comparison.restated:
        yield "Told otherwise, and no difference of the aeroplane:"
    for change in comparison.restated:
        yield f"  {head(comparison, change)}"
        yield from _told(comparison, change, 6)
    if comparison.sources:
        yield f"Only the source {'differs' if comparison.same_book else 'has changed'}:"
    for group in alike(comparison.sources, lambda one: (one.kind, one.before, one.after)):
        items = named_together(change.item for change in group)
        yield f"  {items} ({group[0].kind}): {_two_sources(comparison, group[0])}"
    if count:
        yield levels_told(comparison)


def levels_told(comparison: Comparison) -> str:
    """What the levels are, and by which rule they are proposed."""
    return (
        "Levels as in FAA AC 120-53, proposed by this rule; the operator decides. "
        f"{comparison.rule}"
    )


def _row(comparison: Comparison, number: int, row: Difference) -> Iterator[str]:
    first = row.changes[0]
    yield f"{number}. {head(comparison, first, row.item)}"
    yield from _told(comparison, first, 4)
    for change in others_told(row):
        yield f"    {begun(what_differs(comparison, change))}"
        yield from _told(comparison, change, 6)
    for change in row.with_it:
        yield f"    With it: {head(comparison, change)}"
        yield from _told(comparison, change, 6)
    yield (
        f"    Flight characteristics: {row.flight_characteristics}. Procedures: {row.procedures}."
    )
    yield (
        f"    Proposed: training {row.training}, checking {row.checking}, currency {row.currency}."
    )


def others_told(row: Difference) -> list[Restated]:
    """The changes of the item but the first; not its source again, which stands beside that."""
    first, *others = row.changes
    return [
        change
        for change in others
        if change.what != SOURCE or (change.before, change.after) != sources(first)
    ]


def _scenarios(comparison: Comparison) -> Iterator[str]:
    """The scenarios that differ, those that differ alike together, and how many do not."""
    if comparison.scenarios:
        yield "Scenarios that differ:"
    for group in alike(comparison.scenarios, lambda one: (one.changes, one.parting)):
        for one in group:
            yield f"  {one.scenario}" + (f"  [{one.source}]" if one.source else "")
        for change in group[0].changes:
            yield f"    {begun(what_differs(comparison, change))}"
            yield from _told(comparison, change, 6)
        if group[0].parting:
            yield from _parting(comparison, group[0].parting)
    if comparison.alike:
        several = f"{comparison.alike} scenario{'s' * (comparison.alike != 1)}"
        others = "other " if comparison.scenarios else ""
        verb = "runs" if comparison.alike == 1 else "run"
        yield f"{several.replace(' ', f' {others}', 1)} {verb} alike, moment by moment."


def _parting(comparison: Comparison, parting: Parting) -> Iterator[str]:
    yield f"    Runs otherwise {parting.when}:"
    for label, does in ((comparison.a, parting.a_does), (comparison.b, parting.b_does)):
        yield f"      {label}: {does or 'nothing of this'}"


def sources(change: Restated) -> tuple[str, str]:
    """Where either book states it."""
    return change.source_a, change.source_b


def _told(comparison: Comparison, change: Restated, inset: int) -> Iterator[str]:
    yield from sides_told(comparison, change, inset)
    yield from (f"{' ' * inset}{line}" for line in behaviour(comparison, change))


def head(comparison: Comparison, change: Restated, item: str = "") -> str:
    """Of what thing, and how it differs."""
    what = what_differs(comparison, change)
    if change.kind == "claim" and (change.after or change.before).startswith(change.item):
        return f"a claim: {what}"
    return f"{item or change.item} ({change.kind}){', ' if ': ' in what else ': '}{what}"


def begun(text: str) -> str:
    """The text with a large letter at its beginning."""
    return text[:1].upper() + text[1:]


def what_differs(comparison: Comparison, change: Restated) -> str:
    """What differs, after the key it stands under: `runs when: changed`."""
    first, _, last = change.what.rpartition(" ")
    only = {ADDED: comparison.b, REMOVED: comparison.a}.get(last, "")
    part = _PART.get(first, "") if change.key else ""
    if only:
        what = f"{part}only on {only}" if comparison.same_book else f"{part}{last}"
    elif comparison.same_book and change.what in _BETWEEN_AEROPLANES:
        what = _BETWEEN_AEROPLANES[change.what]
    else:
        what = _WHAT.get(change.what, change.what)
    is_told = change.key in ("", change.what) or change.what.startswith(("step", "expects"))
    return what if is_told else f"{change.key}: {what}"


def _two_sources(comparison: Comparison, change: Restated) -> str:
    before, after = change.before or "none", change.after or "none"
    if comparison.same_book:
        return f"{comparison.a}: {before}; {comparison.b}: {after}"
    return f"{before}, now {after}"


def sides_told(comparison: Comparison, change: Restated, inset: int) -> Iterator[str]:
    """What stands in either book; of what one alone has, what that has."""
    whole = change.what.endswith((ADDED, REMOVED))
    for label, text, source, fitted in (
        (comparison.a, change.before, change.source_a, change.fitted_a),
        (comparison.b, change.after, change.source_b, change.fitted_b),
    ):
        if not whole or text or source:
            shown = source if change.what != SOURCE else ""
            told = _side(text, shown, fitted) if text else _NOTHING.get(change.what, "(not stated)")
            yield f"{' ' * inset}{label}: {told}"


def _side(text: str, source: str, fitted: str) -> str:
    applies = f"applies to {fitted}" if fitted else ""
    known = "; ".join(part for part in (source, applies) if part not in ("", text))
    return f"{text}{f'  [{known}]' if known else ''}"


def behaviour(comparison: Comparison, change: Restated) -> Iterator[str]:
    """In which state it shows, and what either does there; or that it makes no difference."""
    case = change.case
    if case is not None:
        smallest = "smallest " if case.smallest else ""
        known = "; whether that can be was not decided" if change.verdict == UNDECIDED else ""
        yield f"A {smallest}state that shows it: {_state(case)}{known}."
        yield f"  {comparison.a}: {case.a_does}. {comparison.b}: {case.b_does}."
    elif change.verdict == WORDING:
        yield "Only the wording differs: proved equal, whatever everything else does."
    elif change.verdict == NOWHERE:
        yield "No state to which the same moves lead both shows a difference: proved."


def _state(case: Case) -> str:
    where = f"{case.start}, with {listed(case.departures)}" if case.departures else case.start
    after = f" (after: {', '.join(case.after)})" if case.after else ""
    only = f" (only {case.only} can be so)" if case.only else ""
    return f"{where}{after}{only}"
