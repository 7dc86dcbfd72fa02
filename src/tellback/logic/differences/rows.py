"""The rows of the table: what is one difference, with what follows from it at once.

A thing that is new or gone is one row with all that is stated of others because of it; things that
are written once for several members are one row if they differ alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tellback.book.names import FORMS
from tellback.logic.differences.judging import NOWHERE
from tellback.logic.differences.levels import is_only_told
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import ADDED, REMOVED, RENAMED, SOURCE, Found
from tellback.logic.words import named_together

Item = tuple[str, str]
"""A kind and a name."""

_THINGS = frozenset(FORMS.values())


@dataclass(frozen=True, slots=True)
class Row:
    """One difference: how its items are called together, what differs, and what goes with it."""

    name: str
    items: tuple[str, ...]
    kind: str
    own: tuple[Found, ...]
    with_it: tuple[Found, ...] = ()

    @property
    def all(self) -> tuple[Found, ...]:
        """Everything told in the row."""
        return (*self.own, *self.with_it)


@dataclass(frozen=True, slots=True)
class Table:
    """The rows; apart from them what is only told otherwise, and of what only the source is new."""

    rows: tuple[Row, ...]
    restated: tuple[Found, ...]
    sources: tuple[Found, ...]


def table_of(sides: Sides, found: Iterable[Found]) -> Table:
    """What was found, put into rows in the order of the books."""
    by_item: dict[Item, list[Found]] = {}
    for one in found:
        by_item.setdefault((one.kind, one.item), []).append(one)
    rows, left = _Rows(sides, by_item).made()
    return Table(
        tuple(_families(sides, rows)),
        tuple(one for one in left if one.what != SOURCE),
        tuple(one for one in left if one.what == SOURCE),
    )


def _stands_apart(found: Found) -> bool:
    """Whether it is told apart from the rows; what only no state shows keeps its place there."""
    nowhere = found.judgement is not None and found.judgement.verdict == NOWHERE
    return is_only_told(found) and not nowhere


class _Rows:
    """Puts differences into rows."""

    def __init__(self, sides: Sides, by_item: dict[Item, list[Found]]) -> None:
        self.sides = sides
        self.by_item = by_item
        new = {
            item: found[0]
            for (kind, item), found in by_item.items()
            if found[0].what in (ADDED, REMOVED) and kind in _THINGS
        }
        self.lead = {item: item for item in new}
        for item, one in new.items():
            self._join({item, *one.names})
        self.with_it: dict[str, list[Found]] = {}

    def _join(self, names: Iterable[str]) -> None:
        """Make one of the new things among these, and of all that were one with them."""
        leads = self._leads(names)
        for item, lead in self.lead.items():
            if lead in leads:
                self.lead[item] = leads[0]

    def _leads(self, names: Iterable[str]) -> list[str]:
        """Those that the new things among these are one with, in the order of the books."""
        place = self.sides.order
        there = sorted(set(names) & self.lead.keys(), key=lambda name: place.get(name, len(place)))
        return list(dict.fromkeys(self.lead[name] for name in there))

    def made(self) -> tuple[list[Row], list[Found]]:
        """The rows, and what is in none."""
        own: dict[Item, list[Found]] = {}
        for key, found in self.by_item.items():
            own[key] = [one for one in found if not self._goes_with_new(key, one)]
        rows: list[Row] = []
        left: list[Found] = []
        for key in sorted(own, key=self._place):
            kind, item = key
            if item in self.lead and kind in _THINGS:
                rows += self._of_new(key)
            elif kind == "claim" or all(map(_stands_apart, own[key])):
                left += own[key]
            else:
                rows.append(Row(item, (item,), kind, tuple(own[key])))
        return _after_things(rows, left)

    def _goes_with_new(self, key: Item, one: Found) -> bool:
        """Whether it is there because of something new or gone; then it is kept with the first."""
        kind, item = key
        if item in self.lead and kind in _THINGS:
            return False
        leads = self._leads(one.names)
        if leads:
            self.with_it.setdefault(leads[0], []).append(one)
        return bool(leads)

    def _of_new(self, key: Item) -> Iterator[Row]:
        """The row that this item leads, if it does."""
        lead = self.lead[key[1]]
        together = [
            one
            for (kind, item), found in self.by_item.items()
            if self.lead.get(item) == lead and kind in _THINGS
            for one in found
        ]
        because = [
            one for other, of in self.with_it.items() if self.lead[other] == lead for one in of
        ]
        first = _first(together, because)
        if (first.kind, first.item) == key:
            others = [one for one in together if one is not first]
            yield Row(first.item, (first.item,), first.kind, (first,), (*others, *because))

    def _place(self, key: Item) -> int:
        kind, item = key
        place = self.sides.order
        return place.get(item, len(place)) if kind in _THINGS else len(place)


def _first(together: Sequence[Found], because: Iterable[Found]) -> Found:
    """The one that what both have speaks of, or else that none of them speaks of."""
    spoken = {name for one in because if one.kind in _THINGS for name in one.names}
    within = {name for one in together for name in one.names}
    outside = [one for one in together if one.item in spoken]
    return next(iter((*outside, *(o for o in together if o.item not in within), *together)))


def _after_things(rows: list[Row], left: list[Found]) -> tuple[list[Row], list[Found]]:
    """Claims told with the first row of whose items they speak; procedures with a new name."""
    kept_rows: list[Row] = []
    for row in rows:
        whole = row.kind == "procedure" and row.own[0].what in (ADDED, REMOVED)
        if not (whole and _told_with(kept_rows, row.own[0])):
            kept_rows.append(row)
    kept = [
        one
        for one in left
        if one.kind != "claim" or one.what == SOURCE or not _told_with(kept_rows, one)
    ]
    return kept_rows, kept


def _told_with(rows: list[Row], one: Found) -> bool:
    """Whether there is a row of whose items it speaks; then it is put there."""
    for place, row in enumerate(rows):
        renamed = any(found.what == RENAMED for found in row.own)
        if one.names & set(row.items) and (renamed or one.kind == "claim"):
            rows[place] = replace(row, with_it=(*row.with_it, one))
            return True
    return False


# -- written once for several -----------------------------------------------------------------


def _families(sides: Sides, rows: Sequence[Row]) -> Iterator[Row]:
    """The rows, those that are written once for several and differ alike as one."""
    things = {thing.name: thing for thing in (*sides.whole_a.things, *sides.book_b.things)}
    groups: dict[object, list[Row]] = {}
    for row in rows:
        thing = things.get(row.name)
        alike: object = row.kind, row.name
        if (thing and thing.index) or row.kind == "procedure":
            alike = thing.family if thing else row.kind, _mark(row)
        groups.setdefault(alike, []).append(row)
    for group in groups.values():
        items = tuple(row.name for row in group)
        yield replace(group[0], name=named_together(items), items=items)


def _mark(row: Row) -> tuple[object, ...]:
    """What is written, and what came of it: the same for members that differ alike."""
    return tuple(
        (f.what, f.key, f.places, f.judgement.verdict if f.judgement else "") for f in row.all
    )
