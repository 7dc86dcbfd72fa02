"""What two books state differently of limits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import zip_longest

from tellback.book.limits import bound_text
from tellback.book.model import Limit
from tellback.book.names import fold
from tellback.book.spoken import named_with
from tellback.logic.differences.levels import BY_HEART
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
    reasons_apart,
    without_numbers,
)
from tellback.logic.words import named_together

KIND = "limit"


def limit_differences(sides: Sides) -> Iterator[Found]:
    """The differences of limits, in the order of the second book."""
    before, after = _by_name(sides.book_a.limits), _by_name(sides.book_b.limits)
    for name in dict.fromkeys((*after, *before)):
        yield from _of_name(sides, before.get(name, []), after.get(name, []))


def _by_name(limits: Iterable[Limit]) -> dict[str, list[Limit]]:
    found: dict[str, list[Limit]] = {}
    for limit in limits:
        found.setdefault(fold(limit.name), []).append(limit)
    return found


def _of_name(sides: Sides, old: list[Limit], new: list[Limit]) -> Iterator[Found]:
    """Those of one name: those that allow the same, then the others in the order they stand."""
    left_a, left_b = list(old), []
    for limit in new:
        same = next((other for other in left_a if _allowed(other) == _allowed(limit)), None)
        if same is None:
            left_b.append(limit)
        else:
            left_a.remove(same)
            yield from _told(sides, same, limit)
    for a, b in zip_longest(left_a, left_b):
        yield _changed(sides, a, b)


def _allowed(limit: Limit) -> object:
    when = shape(limit.when.condition) if limit.when else None
    case, of = fold(limit.case), sorted(limit.of)
    return limit.low, limit.high, limit.unit, when, case, of, limit.from_memory


def _changed(sides: Sides, old: Limit | None, new: Limit | None) -> Found:
    limit = new or old
    assert limit is not None
    texts = [_text(of) if of else "" for of in (old, new)]
    sources = [of.source if of else "" for of in (old, new)]
    named = [_named(of) if of else frozenset[str]() for of in (old, new)]
    if not old or not new:
        what = ADDED if new else REMOVED
    else:
        alike = without_numbers(sides.as_now(texts[0])) == without_numbers(texts[1])
        what = LIMIT if alike else STATEMENT
    return Found(
        limit.name, KIND, what, "", texts[0], texts[1], sources[0], sources[1],
        names=named[0] ^ named[1] if old and new else named[0] | named[1],
        places=(old.place if old else None, new.place if new else None),
        fitted_a=sides.fitted(old.applies) if old else "",
        fitted_b=sides.fitted(new.applies) if new else "",
    )  # fmt: skip


def _named(limit: Limit) -> frozenset[str]:
    return frozenset(limit.of) | (named_with(limit.when) if limit.when else frozenset())


def _text(limit: Limit) -> str:
    """A limit on one line."""
    of = f"{named_together(limit.of)} " if limit.of else ""
    parts = [f"{of}{bound_text(limit)}"]
    parts += [f"when {' '.join(limit.when.text.split())}"] if limit.when else []
    parts += [limit.case] if limit.case else []
    return ", ".join(parts) + (f" ({BY_HEART})" if limit.from_memory else "")


def _told(sides: Sides, old: Limit, new: Limit) -> Iterator[Found]:
    """What is told otherwise of a limit that allows the same."""
    texts = [
        ("note", old.note, new.note),
        ("title", old.title, new.title),
        (WHY, *reasons_apart(old.whys, new.whys)),
    ]
    sources = old.source, new.source
    if bare(sides.whole_a, old.source) != bare(sides.book_b, new.source):
        texts.append((SOURCE, *sources))
    for what, before, after in texts:
        if fold(before) != fold(after):
            yield Found(
                new.name, KIND, what, what, before, after, *sources,
                places=(old.place, new.place),
            )  # fmt: skip
