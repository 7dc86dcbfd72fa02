"""The reason of X, as an instructor would say it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tellback.book.model import Why
from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.scene import passing_text
from tellback.logic.words import either, listed

if TYPE_CHECKING:
    from tellback.logic.answers.why import Link, Reason

TOLD = 30
"""The most links of the chain told one by one."""

TOLD_MISSING = 6
"""The most choices of what is missing; the JSON form has all."""


def why_text(answer: Reason) -> list[str]:
    """The lines of the answer: the reason, what is missing, the book's reasons, the chain."""
    if answer.history:
        lines = [f"{answer.told} ({answer.start}): {answer.history}."]
        return [*lines, *_whys_text(answer.whys)]
    reason = listed(told_together(answer.because))
    passed = passing_text(answer.passed)
    because = f"because {reason or 'nothing forbids it'}."
    lines = [f"{answer.told} ({answer.start}), {because}{passed}"]
    if answer.missing:
        lines.append(f"  What is missing: {_options(answer.missing)}.")
    lines += _whys_text(answer.whys)
    if len(answer.chain) > 1:
        lines.append("  The chain behind it:")
        told = answer.chain[:TOLD]
        lines += [f"    {'  ' * link.depth}{link.text}{_from(link)}" for link in told]
        if len(answer.chain) > TOLD:
            lines.append(f"    ... and {len(answer.chain) - TOLD} more")
    return lines


def _whys_text(whys: Sequence[Why]) -> list[str]:
    """The book's reasons, a line each."""
    return [
        f"  {why.kind}: {why.text}" + (f" ({why.source})" if why.source else "") for why in whys
    ]


def _options(missing: Sequence[Sequence[Item]]) -> str:
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
