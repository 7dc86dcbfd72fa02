"""What a check finds on one aeroplane, before the fleet is put together."""

from __future__ import annotations

from dataclasses import dataclass

from tellback.diagnostics import Place


@dataclass(frozen=True, slots=True)
class Found:
    """One fault or finding on one aeroplane; `marked` is the text to underline at the place."""

    kind: str
    code: str
    place: Place
    message: str
    mend: str = ""
    marked: str = ""


def error(code: str, place: Place, message: str, mend: str, marked: str = "") -> Found:
    """What must be put right before any answer can be trusted."""
    return Found("error", code, place, message, mend, marked)


def finding(code: str, place: Place, message: str, mend: str = "", marked: str = "") -> Found:
    """What is worth a look."""
    return Found("finding", code, place, message, mend, marked)


def undecided(place: Place, question: str, marked: str = "") -> Found:
    """A question of a check that could neither be proved nor be shown by a run."""
    return finding(
        "not-decided",
        place,
        f"{question}: not decided. Which states are possible could not be worked out.",
        "Fewer memories or failures bearing on it would make it plain; a claim may be, too.",
        marked,
    )
