"""Claims of the book that do not hold."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.logic.answers.claims import FALSE, UNDECIDED
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground


def claim_not_proved(ground: Ground) -> Iterator[Found]:
    """A claim that is false, with a run that shows it, or that was not decided."""
    lost = {bad.start.name for bad in ground.bad_starts}
    for claim in ground.book.claims:
        if claim.start in lost:
            continue
        verdict = ground.verdict(claim)
        given = f" given {', '.join(verdict.given)}" if verdict.given else ""
        if verdict.verdict == FALSE:
            message = f"the claim is false{given}; a run that shows it, from {verdict.run}"
            mend = "Correct the claim, say under which `given` it holds, or correct the book."
            yield finding("false-claim", claim.place, message, mend, claim.text)
        elif verdict.verdict == UNDECIDED:
            message = f"the claim is not decided{given}. {verdict.reason}"
            mend = "A narrower `given`, such as `at most 1 failure`, may decide it."
            yield finding("undecided-claim", claim.place, message, mend, claim.text)
