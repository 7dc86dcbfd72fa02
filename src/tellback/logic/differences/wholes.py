"""What two books state differently apart from their things: chapters, groups, starts, claims."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence

from tellback.book.model import Claim, StartingState
from tellback.book.names import fold
from tellback.logic.differences.parts import ANY, Entry, Outcome, Part
from tellback.logic.differences.shapes import shape
from tellback.logic.differences.stated import (
    ADDED,
    REMOVED,
    SOURCE,
    STATEMENT,
    WHY,
    Found,
    Sides,
    bare,
    of_part,
    reasons_text,
)
from tellback.logic.formula import disj


def whole_differences(sides: Sides) -> Iterator[Found]:
    """The differences of chapters, groups, starting states, impossible statements and claims."""
    yield from _chapters(sides)
    yield from _mappings(sides, "group", sides.book_a.groups, sides.book_b.groups)
    starts = [{s.name: _settings(s) for s in b.starts} for b in (sides.book_a, sides.book_b)]
    yield from _mappings(sides, "starting state", starts[0], starts[1])
    if _stated_impossible(sides, 0) != _stated_impossible(sides, 1):
        a, b = (_impossible(sides, side) for side in (0, 1))
        yield from of_part(sides, "impossible states", "impossible", a, b, limited=False)
    yield from _claims(sides)


def _chapters(sides: Sides) -> Iterator[Found]:
    before = {chapter.number: chapter for chapter in sides.book_a.chapters}
    for chapter in sides.book_b.chapters:
        old = before.get(chapter.number)
        if old is not None:
            item = f"chapter {chapter.number}"
            if fold(old.title) != fold(chapter.title):
                yield Found(item, "chapter", "title", "title", old.title, chapter.title)
            if old.source != chapter.source:
                texts = old.source, chapter.source
                yield Found(item, "chapter", SOURCE, SOURCE, *texts, *texts)


def _mappings(
    sides: Sides, kind: str, a: Mapping[str, Sequence[str]], b: Mapping[str, Sequence[str]]
) -> Iterator[Found]:
    """Lists by name; their order does not count."""
    before = {fold(name): (name, list(members)) for name, members in a.items()}
    for name, members in b.items():
        old = before.pop(fold(name), None)
        what = ADDED if old is None else "members" if kind == "group" else "settings"
        if old is None or sorted(map(fold, old[1])) != sorted(map(fold, members)):
            yield Found(name, kind, what, "", ", ".join(old[1] if old else ()), ", ".join(members))
    for name, members in before.values():
        yield Found(name, kind, REMOVED, "", ", ".join(members), "")


def _settings(start: StartingState) -> list[str]:
    return [f"{thing}: {state}" for thing, state in start.settings]


# -- impossible states ------------------------------------------------------------------------


def _stated_impossible(sides: Sides, side: int) -> list[tuple[str, str]]:
    book = (sides.book_a, sides.book_b)[side]
    texts = ((sides.as_now(s.text), fold(s.text))[side] for s in book.impossible)
    shapes = (repr(shape(s.condition)) for s in book.impossible)
    return sorted(zip(texts, shapes, strict=True))


def _impossible(sides: Sides, side: int) -> Part:
    picture = sides.joint.pictures[side]
    entries = tuple(
        Entry(s, picture.formula(s.condition), " ".join(s.text.split()))
        for s in picture.book.impossible
    )
    outcome = Outcome("it is stated impossible", "it can be", disj(e.formula for e in entries))
    return Part("impossible", entries, ANY, (outcome,), frozenset())


# -- claims -----------------------------------------------------------------------------------


def _claims(sides: Sides) -> Iterator[Found]:
    left = {_asserted(claim): claim for claim in sides.book_a.claims}
    for claim in sides.book_b.claims:
        old = left.pop(_asserted(claim), None)
        if old is None:
            yield Found(claim.text, "claim", f"{STATEMENT} {ADDED}", "", "", _text(claim), "",
                        claim.source)  # fmt: skip
            continue
        sources = old.source, claim.source
        if sides.as_now(old.text) != fold(claim.text):
            yield Found(claim.text, "claim", "wording", "", old.text, claim.text, *sources)
        if bare(sides.whole_a, old.source) != bare(sides.book_b, claim.source):
            yield Found(claim.text, "claim", SOURCE, SOURCE, *sources, *sources)
        if old.whys != claim.whys:
            reasons = reasons_text(old.whys), reasons_text(claim.whys)
            yield Found(claim.text, "claim", WHY, WHY, *reasons, *sources)
    for claim in left.values():
        yield Found(claim.text, "claim", f"{STATEMENT} {REMOVED}", "", _text(claim), "",
                    claim.source)  # fmt: skip


def _asserted(claim: Claim) -> Hashable:
    given = sorted(repr(shape(condition)) for condition in claim.given)
    return repr(shape(claim.condition)), tuple(given), claim.failures, claim.start


def _text(claim: Claim) -> str:
    given = f" (given {', '.join(claim.given_text)})" if claim.given_text else ""
    return f"{claim.text}{given}"
