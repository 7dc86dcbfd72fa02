"""How the answer about a procedure reads."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, TypeVar

from tellback.logic.answers.together import OPPOSITES, said_together, without_passing
from tellback.logic.facts import said
from tellback.logic.procedure import BARRED, SO
from tellback.logic.scene import passing_text
from tellback.logic.words import listed, when_text

if TYPE_CHECKING:
    from tellback.logic.answers.steps import (
        Difference,
        Secured,
        StepMade,
        Steps,
        Tried,
        Variation,
    )

LISTED = 6
"""As many differences are told in a line; the JSON form has them all."""

NAMED = 3
"""As many states are named from which not all is secured; the JSON form has them all."""

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
    if answer.tried is not None:
        told = f"{_whence(answer.tried)}{_fell_short(answer.tried)}"
        yield f"  {told if answer.secured else 'The book does not say what it secures.'}"


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
    if step.kind in ("do", "say"):
        return step.text
    return f"{'wait until' if step.kind == 'wait' and step.outcome else step.kind} {step.text}"


def _came(step: StepMade) -> str:
    if step.outcome == BARRED:
        return f": a lock forbids it ({step.barred})" if step.barred else ": it cannot be moved"
    if step.kind == "wait" and step.outcome == SO:
        return f": so {when_text(step.lasts)}"
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
        known = "Secured" if secured.after else "Not secured"
        yield f"  {known}: {secured.text}{_since(secured)}.{passing_text(secured.passed)}"
    for title, found in (("Again as it was", answer.restored), ("It brings about", answer.brought)):
        if len(found) > LISTED:
            yield f"  {title}:"
            yield from (f"    {line}" for line in said_together(found).split("; "))
        elif found:
            yield f"  {title}: {said_together(found)}."


def _since(secured: Secured) -> str:
    parts = [f"from step {secured.since} on"] * bool(secured.since)
    parts += ["it was so before"] * (secured.before and secured.after)
    return f" ({'; '.join(parts)})" if parts else ""


def _whence(tried: Tried) -> str:
    """From how many of which states it was run."""
    starts = listed(tried.starts, "or")
    if not tried.states:
        return f"None of the states tried from {starts} calls for it"
    states = f"{tried.runs} state{'s' * (tried.runs > 1)}"
    if tried.together > 1:
        count = "" if tried.runs == tried.states else f", of {tried.states} found,"
        by_hand = "a control moved or " * tried.by_hand
        return (
            "No single failure, fact or reading from outside calls for it. "
            f"Run from {states}{count} after {by_hand}several at once, from {starts}"
        )
    which = f"all {states} that call" if tried.runs > 1 else "the only state that calls"
    return (
        f"Run from {which} for it after at most one failure, fact or reading from outside, "
        f"from {starts}"
    )


def _fell_short(tried: Tried) -> str:
    """What was not secured from there, and where it does not end."""
    if not tried.states:
        return "."
    parts = [f"{one.text} is not secured from {_some(one.starts)}" for one in tried.not_secured]
    if tried.restless:
        parts.append(f"it does not come to an end from {_some(tried.restless)}")
    if tried.impossible:
        parts.append(f"it comes to what can never be from {_some(tried.impossible)}")
    others = " In each of them something is shown or read falsely." * tried.falsely
    others += " Other states may call for it, too." * (tried.together > 1 or tried.falsely)
    return f": {'; '.join(parts) or 'all is secured'}.{others}"


def _some(states: Sequence[str]) -> str:
    left = len(states) - NAMED
    more = f" or from {left} more" if left > 0 else ""
    return f"{'; or from '.join(states[:NAMED])}{more}"


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
    if variation.impossible:
        return variation.impossible
    told = _told(variation)
    parts = [f"not secured: {', '.join(variation.lost)}"] * bool(variation.lost)
    parts += [f"{_steps(variation.barred)} cannot be made"] * bool(variation.barred)
    parts += _differences([d for d in variation.differences if d not in told])
    return "; ".join(parts)


def _told(variation: Variation) -> list[Difference]:
    """The differences that what is not secured says already: all that it names are otherwise."""
    was = {
        said(d.thing, d.kind, d.before): d
        for d in variation.differences
        if d.kind == "means" or OPPOSITES.get(d.after) == d.before
    }
    named = [text.split(" and ") for text in variation.lost]
    return [was[part] for parts in named if was.keys() >= set(parts) for part in parts]


def _differences(found: Sequence[Difference]) -> list[str]:
    told = [said_together(found[:LISTED], instead=True)] if found else []
    left = len(found) - LISTED
    return [*told, f"and {left} more"] if left > 0 else told


def _steps(numbers: Sequence[str]) -> str:
    return f"step{'s' * (len(numbers) > 1)} {listed(numbers)}"
