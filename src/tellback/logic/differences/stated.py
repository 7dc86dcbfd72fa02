"""Everything that two books state differently, each with the judgement on what it does."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from tellback.book.model import Book, Indication, Statement, Thing, Why
from tellback.book.names import FORMS, fold
from tellback.book.spoken import named_by, named_with
from tellback.book.stated import statements_of
from tellback.diagnostics import Place
from tellback.logic.differences.attributes import attributes_of
from tellback.logic.differences.judging import NOWHERE, WORDING, Judgement
from tellback.logic.differences.pairing import Pair
from tellback.logic.differences.parts import IN_ORDER, Entry, Part, one_line, parts_of
from tellback.logic.differences.replaced import Two
from tellback.logic.differences.shapes import shape
from tellback.logic.differences.sides import Sides
from tellback.logic.progress import Follow, straight

ADDED, REMOVED, RENAMED = "added", "removed", "renamed"
STATEMENT, LIMIT, ORDER, MEANING = "statement", "limit", "order", "meaning"
SOURCE, WHY = "source", "why"
NONE_THERE = "there is none"

Places = tuple[Place | None, Place | None]

_TOLD_OF_NEW = frozenset({"positions", "range", "unit", "points", "level", "shows"})

_NUMBER = re.compile(r"\d+(?:[.,]\d+)*")


@dataclass(frozen=True, slots=True)
class Found:
    """One difference as it is stated: of which item, under which key, and what.

    `judgement` is None where there is nothing to judge: a thing added, a source, a range. `names`
    are the things that are spoken of, `places` where either book says it. `fitted_a` and
    `fitted_b` are to what it applies, if that goes by more than the variant.
    """

    item: str
    kind: str
    what: str
    key: str = ""
    before: str = ""
    after: str = ""
    source_a: str = ""
    source_b: str = ""
    judgement: Judgement | None = None
    names: frozenset[str] = frozenset()
    places: Places = (None, None)
    fitted_a: str = ""
    fitted_b: str = ""


def differences_of(sides: Sides, follow: Follow = straight) -> Iterator[Found]:
    """All differences, thing by thing in the order of the second book."""
    old = {pair.b.name: pair for pair in sides.pairs}
    paired_a = {pair.a.name for pair in sides.pairs}
    things_a = {thing.name: thing for thing in sides.book_a.things}
    for thing in follow(sides.book_b.things, "Comparing"):
        if thing.name in old:
            yield from _of_pair(sides, old[thing.name], things_a[thing.name])
        else:
            yield Found(
                thing.name, kind_of(thing), ADDED, "", "", _all_of(thing), "", source_of(thing),
                _shown_alone(sides, 1, thing), names=named_by(thing), places=(None, thing.place),
                fitted_b=sides.fitted(thing.applies),
            )  # fmt: skip
    for thing in sides.whole_a.things:
        if thing.name not in paired_a:
            known = things_a[sides.names[thing.name]]
            yield Found(
                thing.name, kind_of(thing), REMOVED, "", _all_of(thing), "", source_of(thing), "",
                _shown_alone(sides, 0, known), names=named_by(known), places=(thing.place, None),
                fitted_a=sides.fitted(thing.applies),
            )  # fmt: skip


def _shown_alone(sides: Sides, side: int, thing: Thing) -> Judgement | None:
    """A smallest state in which an indication that one book alone has is shown."""
    if not isinstance(thing, Indication) or not thing.ways:
        return None
    parts = parts_of(sides.joint.pictures[side], thing)
    part = next(part for part in parts if part.key == "shown when")
    two = (_empty(part), part) if side else (part, _empty(part))
    judgement = sides.judge.part(*two)
    if judgement.verdict == WORDING:  # it can never be brought on
        return Judgement(NOWHERE)
    if side:
        return replace(judgement, a_does=NONE_THERE)
    return replace(judgement, b_does=NONE_THERE)


def kind_of(thing: Thing) -> str:
    """The kind of a thing, as the book calls it."""
    return FORMS[type(thing)]


def source_of(thing: Thing) -> str:
    """The source of a thing, or those of its statements."""
    stated = dict.fromkeys(s.source for s in statements_of(thing) if s.source)
    return thing.source or "; ".join(stated)


def _all_of(thing: Thing) -> str:
    """What a thing declares and states, on one line."""
    declared = [
        f"{key}: {value}"
        for key, value in attributes_of(thing)
        if value and (key in _TOLD_OF_NEW or value == "yes")
    ]
    by_key: dict[str, list[str]] = {}
    for statement in statements_of(thing):
        name = f"{statement.name}: " if statement.name else ""
        by_key.setdefault(statement.key, []).append(f"{name}{one_line(statement.text)}")
    stated = [
        f"{key}: {(' and ' if key == 'needs' else ' or ').join(texts)}"
        for key, texts in by_key.items()
    ]
    return "; ".join([*declared, *stated])


# -- one thing --------------------------------------------------------------------------------


def _of_pair(sides: Sides, pair: Pair, old: Thing) -> Iterator[Found]:
    new = pair.b
    item, kind = new.name, kind_of(new)
    sources = source_of(pair.a), source_of(new)
    places = old.place, new.place
    if fold(pair.a.name) != fold(new.name):
        yield Found(item, kind, RENAMED, "", pair.a.name, new.name, *sources, places=places)
    before = dict(attributes_of(old))
    for key, after in attributes_of(new):
        was = before.get(key, "")
        if sides.as_now(was) != fold(after):
            names = frozenset({was, after} if key == "shows" else ())
            yield Found(item, kind, key, key, was, after, *sources, names=names, places=places)
    if sides.same_aeroplane and fold(old.applies.text) != fold(new.applies.text):
        texts = old.applies.text, new.applies.text
        yield Found(item, kind, "applies to", "applies to", *texts, *sources, places=places)
    if _statements_may_differ(old, new):
        pictures = sides.joint.pictures
        parts = {part.key: part for part in parts_of(pictures[0], old)}
        for part in _in_order_of(parts_of(pictures[1], new), parts):
            yield from of_part(sides, item, kind, parts.get(part.key, _empty(part)), part)
    yield from _backing(sides, item, kind, old, new)


def _statements_may_differ(old: Thing, new: Thing) -> bool:
    """A quick look, so that what is the same costs nothing."""
    texts = [[s.text for s in statements_of(thing)] for thing in (old, new)]
    return texts[0] != texts[1] or shape(old) != shape(new)


def _in_order_of(parts: Iterable[Part], others: Mapping[str, Part]) -> list[Part]:
    """The parts, and an empty one for each that only the other thing has."""
    found = list(parts)
    keys = {part.key for part in found}
    return [*found, *(_empty(part) for key, part in others.items() if key not in keys)]


def _empty(part: Part) -> Part:
    return Part(part.key, (), part.joins, (), part.own, part.memory)


def of_part(
    sides: Sides, item: str, kind: str, a: Part, b: Part, limited: bool = True
) -> Iterator[Found]:
    """The differences of a part; `limited` to states that both books let be."""
    if a.value or b.value:
        if sides.as_now(a.value) != fold(b.value):
            judgement = sides.judge.part(a, b)
            places = tuple(sides.place_of(side, item) for side in (0, 1))
            yield Found(item, kind, b.key, b.key, a.value, b.value, "", "", judgement,
                        places=(places[0], places[1]))  # fmt: skip
        return
    left_a, left_b = _unlike(sides, a.entries, b.entries)
    if b.joins == IN_ORDER:
        yield from _of_rows(sides, item, kind, a, b, (left_a, left_b))
        return
    pairs = _matched(left_a, left_b)
    judgements = sides.judge.entries(a, b, pairs, limited) if pairs else []
    for two, judgement in zip(pairs, judgements, strict=True):
        yield from _found(sides, item, kind, b.key, two, judgement)
    if not pairs and _marks(sides, 0, a) != _marks(sides, 1, b):
        entries = a.entries, b.entries
        yield _several(item, kind, ORDER, b.key, entries, Judgement(WORDING))


def _of_rows(
    sides: Sides, item: str, kind: str, a: Part, b: Part, left: tuple[list[Entry], list[Entry]]
) -> Iterator[Found]:
    """Rows of which the order counts."""
    if not any(left):
        if _marks(sides, 0, a) != _marks(sides, 1, b):
            entries = a.entries, b.entries
            yield _several(item, kind, ORDER, b.key, entries, sides.judge.part(a, b))
        return
    pairs = _matched(*left)
    for two, judgement in zip(pairs, sides.judge.rows(a, b, pairs), strict=True):
        yield from _found(sides, item, kind, b.key, two, judgement)


def _several(
    item: str,
    kind: str,
    what: str,
    key: str,
    entries: tuple[Sequence[Entry], Sequence[Entry]],
    judgement: Judgement,
) -> Found:
    before, after = ("; ".join(entry.text for entry in of) for of in entries)
    source_a, source_b = (
        "; ".join(dict.fromkeys(e.statement.source for e in of if e.statement.source))
        for of in entries
    )
    places = [of[0].statement.place if of else None for of in entries]
    return Found(item, kind, what, key, before, after, source_a, source_b, judgement,
                 places=(places[0], places[1]))  # fmt: skip


def _found(
    sides: Sides, item: str, kind: str, key: str, two: Two, judgement: Judgement
) -> Iterator[Found]:
    """What an entry has become, and its reasons if they changed with it."""
    before, after = (entry.text if entry else "" for entry in two)
    source_a, source_b = (entry.statement.source if entry else "" for entry in two)
    what = _what(sides, before, after)
    old, new = two
    names = named_in(old) | named_in(new)
    places = _place_of(old), _place_of(new)
    fitted = [sides.fitted(entry.statement.applies) if entry else "" for entry in two]
    yield Found(
        item, kind, what, key, before, after, source_a, source_b, judgement, names, places, *fitted
    )
    if old and new and what != MEANING and old.statement.whys != new.statement.whys:
        why_a, why_b = reasons_apart(old.statement.whys, new.statement.whys)
        yield Found(item, kind, WHY, WHY, why_a, why_b, source_a, source_b, places=places)


def _place_of(entry: Entry | None) -> Place | None:
    return entry.statement.place if entry else None


def named_in(entry: Entry | None) -> frozenset[str]:
    """The things that an entry speaks of; its name may be that of what feeds."""
    return named_with(entry.statement) | {entry.name} if entry else frozenset()


def _what(sides: Sides, before: str, after: str) -> str:
    if not before or not after:
        return f"{STATEMENT} {REMOVED if before else ADDED}"
    was = sides.as_now(before)
    if was == fold(after):
        return MEANING
    return LIMIT if without_numbers(was) == without_numbers(after) else STATEMENT


def without_numbers(text: str) -> str:
    """A text in which any number stands for any other."""
    return _NUMBER.sub("#", fold(text))


def _mark(sides: Sides, side: int, entry: Entry) -> tuple[object, ...]:
    """What makes an entry what it is: its meaning, its wording and what stands with it."""
    text = fold(entry.text) if side else sides.as_now(entry.text)
    return shape(entry.statement.condition), text, entry.beside


def _marks(sides: Sides, side: int, part: Part) -> list[tuple[object, ...]]:
    return [_mark(sides, side, entry) for entry in part.entries]


def _unlike(
    sides: Sides, a: Sequence[Entry], b: Sequence[Entry]
) -> tuple[list[Entry], list[Entry]]:
    """The entries of either that have no equal in the other."""
    left_a, left_b = list(a), []
    for entry in b:
        mark = _mark(sides, 1, entry)
        same = next((e for e in left_a if _mark(sides, 0, e) == mark), None)
        if same is None:
            left_b.append(entry)
        else:
            left_a.remove(same)
    return left_a, left_b


def _matched(a: Sequence[Entry], b: Sequence[Entry]) -> list[Two]:
    """Which entry has become which: by name, by meaning, then in the order they stand."""
    left_a, left_b = list(a), list(b)
    found: list[Two] = []
    alike: tuple[Callable[[Entry], object], ...] = (
        lambda entry: entry.name,
        lambda entry: shape(entry.statement.condition),
    )
    for look in alike:
        for new in list(left_b):
            old = next((e for e in left_a if look(e) and look(e) == look(new)), None)
            if old is not None:
                found.append((old, new))
                left_a.remove(old)
                left_b.remove(new)
    return [*found, *zip_longest(left_a, left_b)]


# -- sources and reasons ----------------------------------------------------------------------


def _backing(sides: Sides, item: str, kind: str, old: Thing, new: Thing) -> Iterator[Found]:
    """Sources and reasons of what is otherwise stated alike, each change once."""
    for what, before, after, sources in dict.fromkeys(_backed(sides, old, new)):
        yield Found(item, kind, what, what, before, after, *sources, places=(old.place, new.place))


def _backed(
    sides: Sides, old: Thing, new: Thing
) -> Iterator[tuple[str, str, str, tuple[str, str]]]:
    alike: list[tuple[Thing | Statement, Thing | Statement]] = [(old, new)]
    left = list(statements_of(old))
    for statement in statements_of(new):
        mark = (statement.key, shape(statement.condition))
        same = next((s for s in left if (s.key, shape(s.condition)) == mark), None)
        if same is not None:
            left.remove(same)
            alike.append((same, statement))
    for a, b in alike:
        if bare(sides.whole_a, a.source) != bare(sides.book_b, b.source):
            yield SOURCE, a.source, b.source, (a.source, b.source)
        if a.whys != b.whys:
            yield WHY, *reasons_apart(a.whys, b.whys), (a.source, b.source)


def bare(book: Book, source: str) -> str:
    """A source without what stands before all sources of its chapter."""
    for prefix in sorted((c.source for c in book.chapters if c.source), key=len, reverse=True):
        if source.startswith(f"{prefix}, "):
            return source.removeprefix(f"{prefix}, ")
    return source


def reasons_apart(old: Sequence[Why], new: Sequence[Why]) -> tuple[str, str]:
    """The reasons of each that the other has not; all of them, if only their order differs."""
    only_old = [why for why in old if why not in new]
    only_new = [why for why in new if why not in old]
    whole = not only_old and not only_new
    return _reasons_text(old if whole else only_old), _reasons_text(new if whole else only_new)


def _reasons_text(whys: Iterable[Why]) -> str:
    """Reasons on one line, each with its kind and source."""
    return "; ".join(
        f"{why.kind}: {' '.join(why.text.split())}" + (f" ({why.source})" if why.source else "")
        for why in whys
    )
