"""Claims: is this always so? Proved, false with a run to a counterexample, or not decided."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from tellback.book import conditions as c
from tellback.book.claims import put_together, shape_of
from tellback.book.english import granted
from tellback.book.model import Book, Claim
from tellback.logic.attempts import sought, tried
from tellback.logic.formula import Formula, conj, neg
from tellback.logic.given import understand_given
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.path import Paths, Witness
from tellback.logic.picture import Misunderstood, Picture, picture_of, understand
from tellback.logic.scene import started
from tellback.logic.space import Node

PROVED, FALSE, UNDECIDED = "proved", "false", "not decided"
TRIES = 6
"""How many counterexamples are tried in time before a claim is left undecided."""


@dataclass(frozen=True, slots=True)
class Assertion:
    """What is to be proved: `condition` wherever `given` holds, with at most `failures` failures.

    `start` limits to runs from one starting state.
    """

    text: str
    condition: c.Condition
    given: tuple[c.Condition, ...] = ()
    given_text: tuple[str, ...] = ()
    failures: int | None = None
    start: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on a claim; if false, a run to a counterexample.

    `departures` tells in how many inputs the counterexample differs from where its run begins.
    `reason` is why it was not decided, or why what is proved says nothing.
    """

    claim: str
    aeroplane: str
    given: tuple[str, ...]
    verdict: str
    run: Witness | None = None
    departures: int = 0
    reason: str = ""

    def __str__(self) -> str:
        given = f" (given {', '.join(self.given)})" if self.given else ""
        head = f"{self.claim}{given}"
        if self.verdict == PROVED:
            return f"{head}: proved. It holds in every possible state. {self.reason}".rstrip()
        if self.run is not None:
            return f"{head}: false. A run that shows it, from {self.run}."
        return f"{head}: not decided. {self.reason}"


@within(ANSWER_SECONDS, "deciding the claim")
def claim(
    book: Book,
    text: str,
    *,
    aeroplane: str = "",
    given: Sequence[str] = (),
    start: str = "",
) -> Verdict:
    """Whether `always C`, `never C`, `if C then D` or `C only if D` holds in every possible state.

    Each `given` is a condition, `no failures` or `at most N failures`.
    """
    conditions, failures = understand_given(book, given, aeroplane)
    condition = _claimed(book, text, aeroplane)
    picture = picture_of(book, aeroplane, condition, *conditions)
    begun = started(picture, start)
    assertion = Assertion(text, condition, conditions, tuple(given), failures, begun)
    verdict = decide(picture, assertion)
    proved = verdict.verdict == PROVED
    return replace(verdict, reason=_idle(picture, assertion)) if proved else verdict


def verdict_on(picture: Picture, stated: Claim) -> Verdict:
    """The verdict on a claim of the book."""
    return decide(
        picture,
        Assertion(
            stated.text, stated.condition, stated.given, tuple(granted(stated)), stated.failures,
            stated.start,
        ),
    )  # fmt: skip


def _claimed(book: Book, text: str, aeroplane: str) -> c.Condition:
    """What must hold everywhere for the claim to be true."""
    shape = shape_of(text)
    if shape.form.startswith("?"):
        mend = (
            "Say `always C`, `never C`, `if C then D` or `C only if D`, with states for C and D: "
            "`if left pump running then left circuit live`."
        )
        raise Misunderstood(text, 0, len(text), "this is not a claim", mend)
    parts = (text[start:end].strip() for start, end in shape.spans)
    return put_together(shape, tuple(understand(book, part, aeroplane) for part in parts))


def decide(picture: Picture, assertion: Assertion) -> Verdict:
    """Proved over the possible states, or false with a run replayed in time, or not decided."""
    given = tuple(assertion.given_text)
    aeroplane = picture.book.aeroplane
    broken = _broken(picture, assertion)
    node = picture.symbols.of(broken)
    possible = picture.possible((), [broken], assertion.failures, assertion.start)
    paths = Paths(picture, assertion.failures, assertion.start)
    met, run = sought(picture, paths, possible, broken)
    if met is False:
        return Verdict(assertion.text, aeroplane, given, PROVED)
    if run is not None:
        return _false(picture, assertion, run)
    if met is None:
        reason = "Which states are possible could not be worked out."
        return Verdict(assertion.text, aeroplane, given, UNDECIDED, reason=reason)
    reason = "It fails only in states that no run in time was found to reach."
    likely = (node & possible.bound, possible.met(node))
    run = _counterexample(paths, likely, broken) or tried(picture, paths, broken)
    if run is not None:
        return _false(picture, assertion, run)
    return Verdict(assertion.text, aeroplane, given, UNDECIDED, reason=reason)


def _false(picture: Picture, assertion: Assertion, run: Witness) -> Verdict:
    first, last = picture.starts[run.start].state, run.end.state
    inputs = (v.name for v in picture.system.variables.values() if v.is_input)
    departures = sum(first[name] != last[name] for name in inputs)
    given = tuple(assertion.given_text)
    return Verdict(assertion.text, picture.book.aeroplane, given, FALSE, run, departures)


def _broken(picture: Picture, assertion: Assertion) -> Formula:
    """What would show the claim false."""
    formula = picture.formula(assertion.condition)
    return conj([neg(formula), *(picture.formula(g) for g in assertion.given)])


def _idle(picture: Picture, assertion: Assertion) -> str:
    """A remark where what the claim is about plainly never is so, and it says nothing."""
    match assertion.condition:
        case c.Any((c.Not(premise), _)):
            about = conj(picture.formula(g) for g in (premise, *assertion.given))
            broken = _broken(picture, assertion)
            possible = picture.possible((), [broken], assertion.failures, assertion.start)
            if picture.symbols.of(about) & possible.bound == picture.symbols.space.false:
                return f"But it says nothing: {picture.phrase(premise)} is never so."
    return ""


def _counterexample(paths: Paths, likely: Iterable[Node], broken: Formula) -> Witness | None:
    """A run to a state in which the claim does not hold, the most ordinary first.

    Each of `likely` is a set in which such states lie, nearest to the truth last.
    """
    for states in likely:
        for state in islice(_most_ordinary(paths, states), TRIES):
            run = paths.direct(state, broken)
            if run is not None:
                return run
    traced = paths.traced(paths.picture.symbols.of(broken), broken)
    return traced[0] if traced else None


def _most_ordinary(paths: Paths, states: Node) -> Iterator[dict[str, int]]:
    """States of a set, those with the fewest departures first."""
    while (nearest := paths.nearest(states)) is not None:
        yield nearest[0]
        states = states & ~paths.space.point(nearest[0])
