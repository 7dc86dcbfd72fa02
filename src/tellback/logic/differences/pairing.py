"""Which thing of one book is which of the other.

By `was`, then by name, then by what is stated: things left over on both sides are one and the same
if exactly one pairing makes everything stated by them, and of them, equal.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from tellback.book.conditions import things
from tellback.book.model import Book, Procedure, Statement, Thing
from tellback.book.names import fold
from tellback.book.stated import statements_of
from tellback.logic.differences.renaming import renamed_statement, renamed_thing
from tellback.logic.differences.shapes import shape

WAS, NAME, STATEMENTS = "was", "name", "statements"


@dataclass(frozen=True, slots=True)
class Pair:
    """Two things that are one and the same; `by` tells how that is known."""

    a: Thing
    b: Thing
    by: str


@dataclass(slots=True)
class _Found:
    """The pairs found so far, by the names of either book."""

    book_a: Book
    book_b: Book
    pairs: dict[str, Pair] = field(default_factory=dict)
    paired_a: dict[str, str] = field(default_factory=dict)

    def add(self, a: Thing | None, b: Thing | None, by: str) -> None:
        if a is None or b is None or type(a) is not type(b):
            return
        if b.name not in self.pairs and a.name not in self.paired_a:
            self.pairs[b.name] = Pair(a, b, by)
            self.paired_a[a.name] = b.name

    def left_a(self) -> list[Thing]:
        return [thing for thing in self.book_a.things if thing.name not in self.paired_a]

    def left_b(self) -> list[Thing]:
        return [thing for thing in self.book_b.things if thing.name not in self.pairs]


def pairs_of(book_a: Book, book_b: Book) -> tuple[Pair, ...]:
    """The pairs, in the order of the second book."""
    found = _Found(book_a, book_b)
    by_name_a, by_name_b = _by_name(book_a), _by_name(book_b)
    for thing in book_b.things:
        if not was_before(thing, by_name_a):
            found.add(by_name_a.get(fold(thing.was)), thing, WAS)
    for thing in book_a.things:
        if not was_before(thing, by_name_b):
            found.add(thing, by_name_b.get(fold(thing.was)), WAS)
    for thing in book_b.things:
        found.add(by_name_a.get(fold(thing.name)), thing, NAME)
    for a, b in _by_statements(found):
        found.add(a, b, STATEMENTS)
    return tuple(found.pairs[t.name] for t in book_b.things if t.name in found.pairs)


def _by_name(book: Book) -> dict[str, Thing]:
    return {fold(thing.name): thing for thing in book.things}


def was_before(one: Thing | Procedure, others: Mapping[str, Thing | Procedure]) -> bool:
    """Whether the other book says `was` of what has that name too: then it is an old story."""
    namesake = others.get(fold(one.name))
    return not one.was or (namesake is not None and fold(namesake.was) == fold(one.was))


# -- by what is stated ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Mention:
    """A statement, and the thing whose it is; without one, it is an impossible statement."""

    owner: str
    key: str
    statement: Statement


class _Side:
    """One book with a colour for each thing: equal colours, so far nothing tells them apart."""

    def __init__(self, book: Book, colours: dict[str, str], left: Iterable[Thing]) -> None:
        self.colours = colours
        self.left = list(left)
        self.mentions: dict[str, list[_Mention]] = {thing.name: [] for thing in self.left}
        for mention in _mentions(book):
            for name in things(mention.statement.condition):
                if name in self.mentions and name != mention.owner:
                    self.mentions[name].append(mention)

    def has_something_stated(self, thing: Thing) -> bool:
        return bool(self.mentions[thing.name] or statements_of(thing))

    def look(self, thing: Thing) -> str:
        """Everything stated by a thing and of it, by the colours of all others."""
        colours = {**self.colours, thing.name: "this"}
        stated = [
            repr((colours.get(m.owner, ""), m.key, shape(renamed_statement(m.statement, colours))))
            for m in self.mentions[thing.name]
        ]
        return repr((shape(renamed_thing(thing, colours)), sorted(stated)))

    def recolour(self, looks: dict[str, str]) -> None:
        new = {
            thing.name: looks.setdefault(self.look(thing), f"like {len(looks)}")
            for thing in self.left
        }
        self.colours |= new


def _mentions(book: Book) -> Iterator[_Mention]:
    for thing in book.things:
        for statement in statements_of(thing):
            yield _Mention(thing.name, statement.key, statement)
    for statement in book.impossible:
        yield _Mention("", statement.key, statement)


def _by_statements(found: _Found) -> list[tuple[Thing, Thing]]:
    """Pairs of things left over, such that no other pairing makes all statements equal."""
    left_a, left_b = found.left_a(), found.left_b()
    if not left_a or not left_b:
        return []
    numbers = {name: f"pair {i}" for i, name in enumerate(found.pairs)}
    colours_a = {a: numbers[b] for a, b in found.paired_a.items()}
    side_a = _Side(found.book_a, colours_a, left_a)
    side_b = _Side(found.book_b, dict(numbers), left_b)
    for side in (side_a, side_b):
        side.colours |= {thing.name: "left" for thing in side.left}
    for _ in range(len(left_a) + len(left_b)):
        looks: dict[str, str] = {}
        side_a.recolour(looks)
        side_b.recolour(looks)
    return _held_up(side_a, side_b, _only_ones(side_a, side_b))


def _only_ones(side_a: _Side, side_b: _Side) -> list[tuple[Thing, Thing]]:
    """Things of a colour that one thing of each book has."""
    counts = [Counter(s.colours[thing.name] for thing in s.left) for s in (side_a, side_b)]
    by_colour = {side_b.colours[thing.name]: thing for thing in side_b.left}
    return [
        (a, by_colour[colour])
        for a in side_a.left
        if all(count[colour := side_a.colours[a.name]] == 1 for count in counts)
        and side_a.has_something_stated(a)
    ]


def _held_up(
    side_a: _Side, side_b: _Side, pairs: list[tuple[Thing, Thing]]
) -> list[tuple[Thing, Thing]]:
    """Those pairs that stay equal with only these things taken for the same."""
    while True:
        for side, end in ((side_a, 0), (side_b, 1)):
            own = {thing.name: f"left, only here {end}" for thing in side.left}
            side.colours |= own | {pair[end].name: f"new {i}" for i, pair in enumerate(pairs)}
        kept = [(a, b) for a, b in pairs if side_a.look(a) == side_b.look(b)]
        if len(kept) == len(pairs):
            return kept
        pairs = kept
