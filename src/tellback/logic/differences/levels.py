"""What a training department would enter beside a difference, proposed by one plain rule.

The levels A to E are those of FAA AC 120-53 (differences in training, checking and currency): what
only has to be known is A or B, however much the systems differ; C is what has to be practised. The
example tables of Transport Canada (differences between two variants, or two types) have weights,
speeds and other limits, and a switch that stands elsewhere, as A: to be read in a handout; a system
that works otherwise as B. FAA Order 8900.1, volume 3, has more fuel tanks, pumps and gauges as B.
The rule by which a level is proposed is our own; the operator decides.
"""

from __future__ import annotations

from tellback.logic.differences.attributes import BEHIND
from tellback.logic.differences.judging import NOWHERE, WORDING, Judgement
from tellback.logic.differences.stated import RENAMED, SOURCE, WHY, Found

RULE = (
    "A: names, limits, wording, sources, reasons, notes, claims, and what makes no difference. "
    "B: what a system does, or when, an indication, a control, the steps of a procedure. "
    "C: a step done by heart. D and E are never proposed."
)

_BY_WORD_ALONE = frozenset({SOURCE, WHY, *BEHIND, "wording", "title", "kind"})
_TOLD_ONLY = frozenset(
    {"chapter", "group", "claim", "starting state", "variant", "option", "service bulletin"}
)
BY_HEART = "by heart"


def makes_no_difference(judgement: Judgement | None) -> bool:
    """Whether it is proved that nothing behaves otherwise."""
    return judgement is not None and judgement.verdict in (WORDING, NOWHERE)


def is_only_told(found: Found) -> bool:
    """Whether it is no difference of the aeroplane, but of what is told of it."""
    of_words = found.what in _BY_WORD_ALONE or found.kind in _TOLD_ONLY
    return of_words or makes_no_difference(found.judgement)


def level_of(found: Found) -> str:
    """The level proposed for training, checking and currency alike."""
    if is_only_told(found) or found.what == RENAMED or found.kind == "limit":
        return "A"
    by_heart = any(BY_HEART in text for text in (found.before, found.after))
    return "C" if found.kind == "procedure" and by_heart else "B"
