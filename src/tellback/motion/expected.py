"""Whether a run brings what its scenario is expected to bring."""

from __future__ import annotations

from dataclasses import dataclass

from tellback.book.scenario import Expectation, Scenario
from tellback.logic.picture import Picture
from tellback.logic.words import listed
from tellback.motion.intervals import Seen, Span
from tellback.motion.times import clock
from tellback.motion.trace import Trace


@dataclass(frozen=True, slots=True)
class Verdict:
    """An expectation, whether it came to pass, and when it was so in the run."""

    text: str
    met: bool
    found: str


def verdicts(picture: Picture, scenario: Scenario, trace: Trace) -> tuple[Verdict, ...]:
    """The verdict on every expectation of the scenario."""
    seen = Seen(picture, trace)
    return tuple(_verdict(picture, expected, seen) for expected in scenario.expectations)


def _verdict(picture: Picture, expected: Expectation, seen: Seen) -> Verdict:
    trace = seen.trace
    found = list(seen.spans(picture.formula(expected.statement.condition)))
    so = spans_text(found)
    if expected.form == "at" and _is_over(expected, trace):
        so = f"it ends at {clock(trace.ends)}"
    if trace.is_contradicted:
        so = f"it is broken off at {clock(trace.ends)}"
    met = not trace.is_contradicted and _is_met(expected, found, trace)
    return Verdict(expected.statement.text, met, so)


def _is_over(expected: Expectation, trace: Trace) -> bool:
    """Whether the scenario ends before the time of what is expected."""
    return expected.begins is not None and expected.begins > trace.ends


def _is_met(expected: Expectation, found: list[Span], trace: Trace) -> bool:
    match expected.form:
        case "always":
            return [(s.begins, s.ends) for s in found] == [(None, None)]
        case "never":
            return not found
        case "at":
            assert expected.begins is not None
            return not _is_over(expected, trace) and any(
                (s.begins is None or s.begins <= expected.begins)
                and (s.ends is None or expected.begins < s.ends)
                for s in found
            )
    return any(
        _is_near(s.begins, expected.begins, expected.within)
        and _is_near(s.ends, expected.ends, expected.within)
        for s in found
    )


def _is_near(found: float | None, wanted: float | None, within: float) -> bool:
    if found is None or wanted is None:
        return found is wanted
    return abs(found - wanted) <= within


def spans_text(found: list[Span]) -> str:
    """Spans in words: `so from 41 s to 63 s and from 70 s on`."""
    return f"so {listed(map(span_text, found))}" if found else "never so"


def span_text(span: Span) -> str:
    """A span in words."""
    if span.begins is None:
        return "all the time" if span.ends is None else f"from the beginning to {clock(span.ends)}"
    return f"from {clock(span.begins)} {'on' if span.ends is None else f'to {clock(span.ends)}'}"
