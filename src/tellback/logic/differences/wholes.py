"""What two books state differently apart from their things: chapters, groups, starts, claims."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence

from tellback.book.conditions import things
from tellback.book.english import claim_text
from tellback.book.model import Claim, StartingState, Variant
from tellback.book.names import fold
from tellback.logic.differences.parts import ANY, Entry, Outcome, Part
from tellback.logic.differences.shapes import shape
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import (
    ADDED,
    LIMIT,
    REMOVED,
    SOURCE,
    STATEMENT,
    WHY,
    Found,
    bare,
    of_part,
    reasons_apart,
    without_numbers,
)
from tellback.logic.formula import disj


def whole_differences(sides: Sides) -> Iterator[Found]:
    """The differences of chapters, groups, starting states, impossible statements and claims."""
    yield from _chapters(sides)
    yield from _fleet(sides)
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
        item, old = f"chapter {chapter.number}", before.pop(chapter.number, None)
        if old is None:
            yield Found(item, "chapter", ADDED, "", "", chapter.title, "", chapter.source)
            continue
        if fold(old.title) != fold(chapter.title):
            yield Found(item, "chapter", "title", "title", old.title, chapter.title)
        if old.source != chapter.source:
            texts = old.source, chapter.source
            yield Found(item, "chapter", SOURCE, SOURCE, *texts, *texts)
    for old in before.values():
        yield Found(f"chapter {old.number}", "chapter", REMOVED, "", old.title, "", old.source)


def _fleet(sides: Sides) -> Iterator[Found]:
    """Variants, options and bulletins, and the serial numbers that have them."""
    for kind in ("variants", "options", "bulletins"):
        a, b = (
            {v.name: [_serials(v)] for v in getattr(book, kind)}
            for book in (sides.whole_a, sides.book_b)
        )
        singular = "service bulletin" if kind == "bulletins" else kind.removesuffix("s")
        yield from _mappings(sides, singular, a, b)


def _serials(variant: Variant) -> str:
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in variant.serials)


def _mappings(
    sides: Sides, kind: str, a: Mapping[str, Sequence[str]], b: Mapping[str, Sequence[str]]
) -> Iterator[Found]:
    """Lists by name; their order does not count."""
    before = {fold(name): (name, list(members)) for name, members in a.items()}
    for name, members in b.items():
        old = before.pop(fold(name), None)
        what = ADDED if old is None else _INSIDE.get(kind, "serials")
        was = old[1] if old else []
        if old is None or sorted(map(fold, was)) != sorted(map(fold, members)):
            names = frozenset(_named(was) ^ _named(members))
            yield Found(name, kind, what, "", ", ".join(was), ", ".join(members), names=names)
    for name, members in before.values():
        yield Found(name, kind, REMOVED, "", ", ".join(members), "")


_INSIDE = {"group": "members", "starting state": "settings"}


def _named(members: Sequence[str]) -> set[str]:
    return {member.partition(": ")[0] for member in members}


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
    new: list[Claim] = []
    for claim in sides.book_b.claims:
        old = left.pop(_asserted(claim), None)
        if old is None:
            new.append(claim)
        else:
            yield from _of_claim(sides, old, claim)
    gone = list(left.values())
    for claim in new:
        old = next((other for other in gone if _with_other_numbers(other, claim)), None)
        if old is None:
            yield _whole_claim(f"{STATEMENT} {ADDED}", None, claim)
        else:
            gone.remove(old)
            yield _whole_claim(LIMIT, old, claim)
    for claim in gone:
        yield _whole_claim(f"{STATEMENT} {REMOVED}", claim, None)


def _of_claim(sides: Sides, old: Claim, claim: Claim) -> Iterator[Found]:
    """What is told otherwise of a claim that claims the same."""
    sources = old.source, claim.source
    if sides.as_now(old.text) != fold(claim.text):
        yield Found(claim.text, "claim", "wording", "", old.text, claim.text, *sources)
    if bare(sides.whole_a, old.source) != bare(sides.book_b, claim.source):
        yield Found(claim.text, "claim", SOURCE, SOURCE, *sources, *sources)
    if old.whys != claim.whys:
        reasons = reasons_apart(old.whys, claim.whys)
        yield Found(claim.text, "claim", WHY, WHY, *reasons, *sources)


def _whole_claim(what: str, old: Claim | None, claim: Claim | None) -> Found:
    told = claim or old
    assert told is not None
    texts = [claim_text(of) if of else "" for of in (old, claim)]
    sources = [of.source if of else "" for of in (old, claim)]
    names = {name for c in (told.condition, *told.given) for name in things(c)}
    places = old.place if old else None, claim.place if claim else None
    return Found(
        told.text, "claim", what, "", texts[0], texts[1], sources[0], sources[1],
        names=frozenset(names), places=places,
    )  # fmt: skip


def _with_other_numbers(one: Claim, other: Claim) -> bool:
    return without_numbers(claim_text(one)) == without_numbers(claim_text(other))


def _asserted(claim: Claim) -> Hashable:
    given = sorted(repr(shape(condition)) for condition in claim.given)
    return repr(shape(claim.condition)), tuple(given), claim.failures, claim.start
