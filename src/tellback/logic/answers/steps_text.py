"""How the answer about a procedure reads."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from tellback.logic.procedure import BARRED
from tellback.logic.words import listed, seconds_text

if TYPE_CHECKING:
    from tellback.logic.answers.steps import Difference, StepMade, Steps, Variation

LISTED = 6
"""As many differences are told in a line; the JSON form has them all."""


def lines_of(answer: Steps) -> Iterator[str]:
    """The lines of the answer."""
    source = f"  [{answer.source}]" if answer.source else ""
    yield f"{answer.procedure}, {answer.kind} ({answer.start}):{source}"
    if answer.called_for is not None:
        yield f"  {'It is' if answer.called_for else 'It is not'} called for here."
    for step in answer.steps:
        yield from _step(step, answer)
    yield f"  All has settled after {seconds_text(answer.seconds)}."
    yield from _whole(answer)
    idle = [step.number for step in answer.steps if step.idle]
    if idle:
        yield f"  Without effect from here: {_steps(idle)}."
    yield from _variations(answer)


def _step(step: StepMade, answer: Steps) -> Iterator[str]:
    inset = "  " * (1 + step.number.count("."))
    yield f"{inset}{step.number}. {_said(step)}{_came(step)}{_backing(step, answer)}"
    for seconds, several in groupby(step.changes, lambda change: change.seconds):
        when = "at once" if seconds == 0 else f"after {seconds_text(seconds)}"
        yield f"{inset}     {when}: {listed(change.text for change in several)}"


def _said(step: StepMade) -> str:
    return step.text if step.kind in ("do", "say") else f"{step.kind} {step.text}"


def _came(step: StepMade) -> str:
    if step.outcome == BARRED:
        return f": a lock forbids it ({step.barred})" if step.barred else ": it cannot be moved"
    if step.outcome:
        return f": {step.outcome}"
    return ": nothing else changes" if step.kind == "do" and not step.changes else ""


def _backing(step: StepMade, answer: Steps) -> str:
    """That it is done from memory, and where it stands, as far as the whole does not say so."""
    parts = ["from memory"] * (step.from_memory and answer.kind != "memory items")
    parts += [step.source] * (step.source not in ("", answer.source))
    return f"  [{', '.join(parts)}]" if parts else ""


def _whole(answer: Steps) -> Iterator[str]:
    for secured in answer.secured:
        was = " (it was so before)" if secured.before and secured.after else ""
        yield f"  {'Secured' if secured.after else 'Not secured'}: {secured.text}{was}."
    for title, found in (("It restores", answer.restored), ("It brings about", answer.brought)):
        if found:
            yield f"  {title}: {listed(d.text for d in found)}."


def _variations(answer: Steps) -> Iterator[str]:
    if answer.left_out:
        yield "  If one step is left out:"
        yield from (f"    {_steps(v.numbers)}: {_otherwise(v)}" for v in answer.left_out)
    mattering = [v for v in answer.swapped if v.matters]
    if mattering:
        yield "  If two neighbours are swapped:"
        yield from (f"    {_steps(v.numbers)}: {_otherwise(v)}" for v in mattering)
    elif answer.swapped:
        yield "  Swapping any two neighbours changes nothing in the end."


def _otherwise(variation: Variation) -> str:
    if not variation.matters:
        return "all else ends alike"
    parts = [f"{text} is not secured" for text in variation.lost]
    parts += [f"{_steps(variation.barred)} cannot be made"] * bool(variation.barred)
    parts += _differences(variation.differences)
    return "; ".join(parts)


def _differences(found: Sequence[Difference]) -> list[str]:
    told = [
        d.text if d.kind == "means" else f"{d.text} instead of {d.before}" for d in found[:LISTED]
    ]
    left = len(found) - LISTED
    return [*told, f"{left} more"] if left > 0 else told


def _steps(numbers: Sequence[str]) -> str:
    return f"step{'s' * (len(numbers) > 1)} {listed(numbers)}"
