"""What a training department would enter beside a difference, proposed by one plain rule.

The levels A to E are those of FAA AC 120-53 (differences in training, checking and currency). The
rule by which a level is proposed is our own; the operator decides.
"""

from __future__ import annotations

from tellback.logic.differences.attributes import BEHIND
from tellback.logic.differences.judging import NOWHERE, WORDING, Judgement
from tellback.logic.differences.stated import RENAMED, SOURCE, WHY, Found

RULE = (
    "A: wording, sources, reasons, notes, claims, and what makes no difference. "
    "B: an indication, or the name, positions or handling of a control. "
    "C: what happens by itself, or when. D and E are never proposed."
)

_BY_WORD_ALONE = frozenset({SOURCE, WHY, *BEHIND, "wording", "title", "kind"})
_OF_THE_CREW = frozenset({"control", "indication"})
_TOLD_ONLY = frozenset({"chapter", "group", "claim", "starting state"})
_MOVED_BY_THE_SYSTEM = ("drops to ", "cannot go to ")


def makes_no_difference(judgement: Judgement | None) -> bool:
    """Whether it is proved that nothing behaves otherwise."""
    return judgement is not None and judgement.verdict in (WORDING, NOWHERE)


def level_of(found: Found) -> str:
    """The level proposed for training, checking and currency alike."""
    if makes_no_difference(found.judgement) or found.what in _BY_WORD_ALONE:
        return "A"
    if found.kind in _TOLD_ONLY:
        return "A"
    if found.what == RENAMED:
        return "B" if found.kind in _OF_THE_CREW else "A"
    by_itself = found.key.startswith(_MOVED_BY_THE_SYSTEM)
    return "B" if found.kind in _OF_THE_CREW and not by_itself else "C"


def flight_characteristics(found: Found) -> str:
    """Whether flight characteristics may change: the book tells of systems only."""
    if level_of(found) == "A":
        return "none"
    if found.kind == "surface":
        return f"to be assessed: {found.item} may be elsewhere, or later"
    return "none told by the book"


def procedures(found: Found) -> str:
    """Whether procedures may change, as far as the kind of thing tells."""
    if level_of(found) == "A":
        return "none"
    if found.kind == "control":
        return "to be assessed: the crew moves it"
    if found.kind == "indication":
        return "to be assessed: the crew acts on it"
    return "to be assessed"
