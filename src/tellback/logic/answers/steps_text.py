"""How the answer about a procedure reads."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, TypeVar

from tellback.logic.answers.together import said_together, without_passing
from tellback.logic.procedure import BARRED
from tellback.logic.words import listed, when_text

if TYPE_CHECKING:
    from tellback.logic.answers.steps import Difference, StepMade, Steps, Variation

LISTED = 6
"""As many differences are told in a line; the JSON form has them all."""

Some = TypeVar("Some")


def lines_of(answer: Steps) -> Iterator[str]:
    """The lines of the answer."""
    source = f"  [{answer.source}]" if answer.source else ""
    yield f"{answer.procedure}, {answer.kind} ({answer.start}):{source}"
    if answer.called_for is not None:
        yield f"  {'It is' if answer.called_for else 'It is not'} called for here."
    for step in answer.steps:
        yield from _step(step, answer)
    yield f"  All has settled {when_text(answer.seconds)}."
    yield from _whole(answer)
    idle = [step.number for step in answer.steps if step.idle]
    if idle:
        yield f"  Without effect from here: {_steps(idle)}."
    yield from _variations(answer, idle)


def _step(step: StepMade, answer: Steps) -> Iterator[str]:
    inset = "  " * (1 + step.number.count("."))
    yield f"{inset}{step.number}. {_said(step)}{_came(step)}{_backing(step, answer)}"
    if step.note:
        yield f"{inset}     {step.note}"
    for why in step.whys:
        source = f" ({why.source})" if why.source else ""
        yield f"{inset}     {why.kind}: {why.text}{source}"
    for seconds, several in groupby(without_passing(step.changes), lambda change: change.seconds):
        yield f"{inset}     {when_text(seconds)}: {said_together(several)}"


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
    for title, found in (("Again as it was", answer.restored), ("It brings about", answer.brought)):
        if len(found) > LISTED:
            yield f"  {title}:"
            yield from (f"    {line}" for line in said_together(found).split("; "))
        elif found:
            yield f"  {title}: {said_together(found)}."


def _variations(answer: Steps, idle: Sequence[str]) -> Iterator[str]:
    left_out = [v for v in answer.left_out if not set(v.numbers) <= set(idle)]
    if left_out:
        yield "  If one step is left out:"
        for alike, several in _together(left_out, _otherwise):
            numbers = [number for v in several for number in v.numbers]
            each = " each" if len(numbers) > 1 else ""
            yield f"    {_steps(numbers)}{each}: {alike}"
    mattering = [v for v in answer.swapped if v.matters]
    if mattering:
        yield "  If two neighbours are swapped:"
        yield from (f"    {_steps(v.numbers)}: {_otherwise(v)}" for v in mattering)
    elif answer.swapped:
        yield "  Swapping any two neighbours changes nothing in the end."


def _together(
    several: Iterable[Some], key: Callable[[Some], Hashable]
) -> Iterator[tuple[Hashable, list[Some]]]:
    """What has the same key together, in the order of the first of each."""
    found: dict[Hashable, list[Some]] = {}
    for one in several:
        found.setdefault(key(one), []).append(one)
    yield from found.items()


def _otherwise(variation: Variation) -> str:
    if not variation.matters:
        return "all else ends alike"
    parts = [f"not secured: {text}" for text in variation.lost]
    parts += [f"{_steps(variation.barred)} cannot be made"] * bool(variation.barred)
    parts += _differences(variation.differences)
    return "; ".join(parts)


def _differences(found: Sequence[Difference]) -> list[str]:
    told = [said_together(found[:LISTED], instead=True)] if found else []
    left = len(found) - LISTED
    return [*told, f"{left} more"] if left > 0 else told


def _steps(numbers: Sequence[str]) -> str:
    return f"step{'s' * (len(numbers) > 1)} {listed(numbers)}"
