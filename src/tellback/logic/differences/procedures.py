"""What two books state differently of procedures: when they are called for, and step by step."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from difflib import SequenceMatcher

from tellback.book.english import time_text
from tellback.book.model import Procedure, Statement
from tellback.book.names import fold
from tellback.book.spoken import named_in_procedure, named_with
from tellback.logic.differences.judging import WORDING, Judgement
from tellback.logic.differences.levels import BY_HEART
from tellback.logic.differences.parts import ALL, ANY, Entry, Outcome, Part, one_line
from tellback.logic.differences.shapes import shape
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import (
    ADDED,
    REMOVED,
    RENAMED,
    SOURCE,
    WHY,
    Found,
    bare,
    of_part,
    reasons_apart,
)
from tellback.logic.differences.steps import Line, lines_in, mark
from tellback.logic.formula import conj, disj

KIND = "procedure"
STEP = "step"
MOVED = f"{STEP} moved"

_SAYS = {"check": "check ", "if": "if ", "wait": "wait until ", "say": "say: "}


def procedure_differences(sides: Sides) -> Iterator[Found]:
    """The differences of procedures, in the order of the second book."""
    pairs = sides.procedures
    for new in sides.book_b.procedures:
        if new.name in pairs:
            yield from _of_pair(sides, *pairs[new.name])
        else:
            yield _whole(sides, ADDED, None, new)
    kept = {old.name for old, _ in pairs.values()}
    for old in sides.old_procedures:
        if old.name not in kept:
            yield _whole(sides, REMOVED, old, None)


def _whole(sides: Sides, what: str, old: Procedure | None, new: Procedure | None) -> Found:
    one = new or old
    assert one is not None
    texts = [_all_of(of) if of else "" for of in (old, new)]
    sources = [of.source if of else "" for of in (old, new)]
    places = old.place if old else None, new.place if new else None
    return Found(
        one.name, KIND, what, "", texts[0], texts[1], sources[0], sources[1],
        names=named_in_procedure(one), places=places,
        fitted_a=sides.fitted(old.applies) if old else "",
        fitted_b=sides.fitted(new.applies) if new else "",
    )  # fmt: skip


def _all_of(procedure: Procedure) -> str:
    called = " or ".join(one_line(way.text) for way in procedure.called_for)
    steps = "; ".join(map(_text, lines_in(procedure.steps)))
    return f"{procedure.kind}{f', called for when {called}' if called else ''}: {steps}"


def _of_pair(sides: Sides, old: Procedure, new: Procedure) -> Iterator[Found]:
    def found(what: str, before: str, after: str) -> Found:
        return Found(
            new.name, KIND, what, what if what != RENAMED else "", before, after,
            old.source, new.source, places=(old.place, new.place),
        )  # fmt: skip

    if fold(old.name) != fold(new.name):
        yield found(RENAMED, old.name, new.name)
    declared: tuple[tuple[str, Callable[[Procedure], str]], ...] = (
        ("kind", lambda procedure: procedure.kind),
        ("done from", lambda procedure: ", ".join(procedure.done_from)),
        ("note", lambda procedure: procedure.note),
    )
    for what, told in declared:
        if fold(told(old)) != fold(told(new)):
            yield found(what, told(old), told(new))
    for key in ("called for when", "secures"):
        ways = [_ways(procedure, key) for procedure in (old, new)]
        if _stated(sides, 0, ways[0]) != _stated(sides, 1, ways[1]):
            yield from of_part(
                sides, new.name, KIND, _part(sides, 0, key, ways[0]), _part(sides, 1, key, ways[1])
            )
    yield from _steps(sides, old, new)
    if bare(sides.whole_a, old.source) != bare(sides.book_b, new.source):
        yield found(SOURCE, old.source, new.source)
    if old.whys != new.whys:
        yield found(WHY, *reasons_apart(old.whys, new.whys))


# -- when it is called for, and what it secures -------------------------------------------------


def _ways(procedure: Procedure, key: str) -> tuple[Statement, ...]:
    return procedure.secures if key == "secures" else procedure.called_for


def _stated(sides: Sides, side: int, ways: Iterable[Statement]) -> list[Hashable]:
    return [
        (shape(way.condition), fold(way.text) if side else sides.as_now(way.text)) for way in ways
    ]


def _part(sides: Sides, side: int, key: str, ways: Sequence[Statement]) -> Part:
    picture = sides.joint.pictures[side]
    entries = tuple(Entry(w, picture.formula(w.condition), one_line(w.text)) for w in ways)
    if key == "secures":
        when = conj(entry.formula for entry in entries)
        outcome = Outcome("what it secures is so", "what it secures is not so", when)
        return Part(key, entries, ALL, (outcome,), frozenset())
    when = disj(entry.formula for entry in entries)
    outcome = Outcome("it is called for", "it is not called for", when)
    return Part(key, entries, ANY, (outcome,), frozenset())


# -- step by step -------------------------------------------------------------------------------


def _steps(sides: Sides, old: Procedure, new: Procedure) -> Iterator[Found]:
    """Steps in their places, then those in other places, then those changed, new or gone."""
    a, b = list(lines_in(old.steps)), list(lines_in(new.steps))
    matcher = SequenceMatcher(None, list(map(mark, a)), list(map(mark, b)), autojunk=False)
    blocks: list[tuple[list[Line], list[Line]]] = []
    for tag, start_a, end_a, start_b, end_b in matcher.get_opcodes():
        before, after = a[start_a:end_a], b[start_b:end_b]
        if tag != "equal":
            blocks.append((before, after))
            continue
        for two in zip(before, after, strict=True):
            yield from _told_otherwise(sides, new, *two)
    for line, moved in _moved(blocks):
        yield _of_step(new, MOVED, moved, line)
    for before, after in blocks:
        alike = [x.step.kind for x in before] == [x.step.kind for x in after]
        pairs = list(zip(before, after, strict=True)) if alike else []
        yield from (_of_step(new, f"{STEP} changed", *two) for two in pairs)
        yield from (_of_step(new, f"{STEP} {ADDED}", None, x) for x in after if not pairs)
        yield from (_of_step(new, f"{STEP} {REMOVED}", x, None) for x in before if not pairs)


def _moved(blocks: Sequence[tuple[list[Line], list[Line]]]) -> Iterator[tuple[Line, Line]]:
    """Each step that stands elsewhere, and where it stood; they are taken out of the blocks."""
    for _, after in blocks:
        for line in list(after):
            for before, _ in blocks:
                old = next((other for other in before if mark(other) == mark(line)), None)
                if old is not None:
                    before.remove(old)
                    after.remove(line)
                    yield line, old
                    break


def _told_otherwise(sides: Sides, procedure: Procedure, old: Line, new: Line) -> Iterator[Found]:
    """What is worded or noted otherwise of a step that is the same."""
    if sides.as_now(old.step.statement.text) != fold(new.step.statement.text):
        yield _of_step(procedure, f"{STEP} changed", old, new, Judgement(WORDING))
    if fold(old.step.note) != fold(new.step.note):
        yield Found(
            procedure.name, KIND, "note", f"{STEP} {new.number}", old.step.note, new.step.note,
            old.step.statement.source, new.step.statement.source,
        )  # fmt: skip


def _of_step(
    procedure: Procedure,
    what: str,
    old: Line | None,
    new: Line | None,
    judgement: Judgement | None = None,
) -> Found:
    texts = [_text(line) if line else "" for line in (old, new)]
    sources = [line.step.statement.source if line else "" for line in (old, new)]
    names = [named_with(line.step.statement) if line else frozenset() for line in (old, new)]
    places = old and old.step.statement.place, new and new.step.statement.place
    return Found(
        procedure.name, KIND, what, STEP, texts[0], texts[1], sources[0], sources[1],
        judgement, names[0] | names[1], places,
    )  # fmt: skip


def _text(line: Line) -> str:
    step = line.step
    says = _SAYS.get(step.kind, "")
    told = f"{says}{one_line(step.statement.text)}"
    if step.kind == "wait" and step.seconds:
        told = f"wait {time_text(step.seconds)}"
    by_heart = f" ({BY_HEART})" if step.from_memory else ""
    branch = "otherwise " if line.branch == "otherwise" else ""
    return f"{line.number}. {branch}{told}{by_heart}"
