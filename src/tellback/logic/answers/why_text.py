"""The reason of X, as an instructor would say it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tellback.book.model import Why
from tellback.logic.chain import FAR, MOVED, OUTSIDE, START, Link
from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.scene import passing_text
from tellback.logic.words import either, listed, when_text

if TYPE_CHECKING:
    from tellback.logic.answers.why import Reason

FED = "fed by "

TOLD = 30
"""The most links of the chain told one by one."""

NEAR = 3
"""So deep the chain is told where nothing came to be so; the JSON form has all of it."""

BETWEEN = frozenset({"latch", "place", "delay", "number", "cancelled", "failure"})

TOLD_MISSING = 6
"""The most choices of what is missing; the JSON form has all."""


def why_text(answer: Reason) -> list[str]:
    """The lines of the answer: the reason, what is missing, the book's reasons, the chain."""
    lines = [_head(answer)]
    remedies = _remedies(answer.remedies)
    lacks = choices_text(answer.missing) if answer.missing else ""
    if lacks and not (remedies and _is_on_the_way(answer.missing)):
        lines.append(f"  What is missing: {lacks}.")
        lines += [f"  {changed}." for changed in answer.changed_by]
    if remedies and remedies != lacks:
        lines.append(f"  It would be so with {remedies}.")
    return [*lines, *_whys_text(answer.whys), *_chain_text(answer.chain)]


def _head(answer: Reason) -> str:
    reason = listed(told_together(answer.because))
    told = f"{answer.told} ({answer.start}){_by(answer.by)}"
    passed = passing_text(answer.passed)
    if not answer.history:
        return f"{told}, because {reason or 'nothing forbids it'}.{passed}"
    because = f", because {reason}" if reason else ""
    return f"{told}{because}: {answer.history}."


def _chain_text(chain: Sequence[Link]) -> list[str]:
    """What came to be so, with what lies behind it; then, in a line, what had been so before.

    Where nothing came to be so, what lies near, and in a line all that the rest comes from.
    """
    near = all(link.seconds is None for link in chain if link.depth <= FAR + 1)
    told: set[tuple[str, float | None]] = set()
    lines: list[str] = []
    left = 0
    for place, link in enumerate(chain):
        leads = place + 1 < len(chain) and chain[place + 1].depth > link.depth
        again = (link.text, link.seconds) in told and not leads
        if link.end == START or again:
            continue
        if len(told) >= TOLD or (near and link.depth >= NEAR):
            left += 1
            continue
        told.add((link.text, link.seconds))
        lines += _link_text(link)
    if left:
        lines.append(f"    ... and {left} more behind these")
    before = [link for link in chain if link.end == START and not (near and link.depth >= NEAR)]
    stood = listed(dict.fromkeys(link.text for link in before))
    return [
        *(["  The chain behind it:", *lines] if len(chain) > 1 and lines else []),
        *([f"  As in the starting state: {stood}."] if stood else []),
    ]


def _link_text(link: Link) -> list[str]:
    """A link, and the first of the reasons that the book gives for it."""
    when = "" if link.seconds is None else f", {when_text(link.seconds)}"
    end = f": {link.end}" if link.end in (MOVED, OUTSIDE) else ""
    indent = "    " + "  " * link.depth
    why = [f"{indent}  {line.strip()}" for line in _whys_text(link.whys[:1])]
    return [f"{indent}{link.text}{_by(link.by)}{when}{end}{_from(link)}", *why]


def _by(name: str) -> str:
    """What acts: the feeder, or the way or drive by its name in the book."""
    return f", {name}" if name.startswith(FED) else f", by “{name}”" if name else ""


def _whys_text(whys: Sequence[Why]) -> list[str]:
    """The book's reasons, a line each."""
    return [
        f"  {why.kind}: {why.text}" + (f" ({why.source})" if why.source else "") for why in whys
    ]


def _is_on_the_way(missing: Sequence[Sequence[Item]]) -> bool:
    """Whether what is missing is a memory, a position or the like, which nobody can put so."""
    return any(item.kind in BETWEEN for one in missing for item in one)


def _remedies(remedies: Sequence[Sequence[Item]]) -> str:
    """What would bring it about: `A, or B and C`; empty if nothing is known."""
    several = [listed(told_together(one)) for one in remedies]
    if len(several) > TOLD_MISSING:
        several[TOLD_MISSING:] = [f"{len(several) - TOLD_MISSING} more"]
    return either(several) if all(len(one) == 1 for one in remedies) else "; or ".join(several)


def choices_text(missing: Sequence[Sequence[Item]]) -> str:
    """The choices of what is missing: `A or B`; `A and B; or C and D`; `A; and one of: B, C`.

    A choice with all of another one in it needs not be told.
    """
    choices = [one for one in missing if not any(set(less) < set(one) for less in missing)]
    common = [item for item in choices[0] if all(item in one for one in choices)]
    rests = [listed(told_together(i for i in one if i not in common)) for one in choices]
    if len(rests) == 1:
        return listed(told_together(choices[0]))
    if len(rests) > TOLD_MISSING:
        rests[TOLD_MISSING:] = [f"{len(rests) - TOLD_MISSING} more"]
    single = all(len(one) - len(common) == 1 for one in choices)
    if common:
        apart = (", " if single else "; ").join(rests)
        return f"{listed(told_together(common))}; and one of: {apart}"
    return either(rests) if single else "; or ".join(rests)


def _from(link: Link) -> str:
    return f"  [{link.source}]" if link.source else ""
