"""Ways: when does X happen? Every minimal sufficient condition, and which the book states."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace
from functools import partial

from tellback.book import conditions as c
from tellback.book.model import Book
from tellback.logic.answers.ways_text import ways_text
from tellback.logic.combinations import Asked
from tellback.logic.formula import FALSE, Formula
from tellback.logic.given import understand_given
from tellback.logic.items import Item, View, apart_from, covers, minimal_cubes
from tellback.logic.limits import ANSWER_SECONDS, TooLarge, within
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.primes import Cube
from tellback.logic.space import Node
from tellback.logic.subjects import Stated, Subject, Subjects, all_needs
from tellback.logic.symmetry import Statement, Way, merge
from tellback.logic.words import alike

MOST_WAYS = 3000
"""More ways than this are not worked through; the question is too wide."""

PATIENCE = 3_000
"""The effort of search for whether a change can be at all."""


@dataclass(frozen=True, slots=True)
class Ways:
    """All ways of X. `count` counts them before merging; `given` is what was taken for granted.

    `stated` is how the book itself states X. `needs_alone`: X has no ways of its own, and these are
    how its needs come about. `inhibited` is what keeps an indication off: the ways are those while
    it does not.

    `exact` is False where the possible states could not be worked out: then every way is
    sufficient, but one may be longer than it must be, or, unless all are `met`, never occur.
    `passing` is what the book states for a change that does happen, yet whose cause never lasts:
    the change itself ends it.
    With `beginning` it is what sets a change off by coming on or going out, as it is stated.
    """

    question: str
    aeroplane: str
    verb: str
    to_root: bool
    given: tuple[str, ...]
    ways: tuple[Way, ...]
    count: int
    stated: tuple[Statement, ...]
    needs: tuple[Statement, ...]
    needs_alone: bool
    inhibited: tuple[Statement, ...]
    not_failed: tuple[str, ...]
    exact: bool
    met: bool = True
    passing: tuple[Statement, ...] = ()
    beginning: bool = False

    def __str__(self) -> str:
        return ways_text(self)


@within(ANSWER_SECONDS, "finding the ways")
def ways(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    given: Sequence[str] = (),
    to_root: bool = False,
) -> Ways:
    """Every minimal sufficient condition for `question`, as seen or to the root.

    Each `given` is a condition, `no failures` or `at most N failures`, taken for granted. Raises
    Misunderstood if a text does not parse and TooLarge if the answer is beyond reach.
    """
    condition = understand(book, question, aeroplane)
    assumed, failures = understand_given(book, given, aeroplane)
    picture = picture_of(book, aeroplane, condition, *assumed)
    return ways_of(picture, condition, assumed, to_root, tuple(given), failures)


def ways_of(
    picture: Picture,
    condition: c.Condition,
    given: Sequence[c.Condition] = (),
    to_root: bool = False,
    given_text: tuple[str, ...] = (),
    failures: int | None = None,
) -> Ways:
    """The same of a picture, for conditions already understood."""
    subject = Subjects(picture).of(condition)
    if subject.edges:
        return _as_stated(picture, subject, to_root, given_text, failures)
    view = View(picture, to_root, apart_from(condition))
    off = view.space.any_of(view.of(statement.formula) for statement in subject.inhibited)
    target = view.of(subject.happens)
    assumed = view.space.all_of(view.of(picture.formula(g)) for g in given)
    assumed = assumed & view.few_failures(target, failures)
    items = {*view.space.support(target), *view.space.support(assumed)}
    assumed = assumed & ~off
    stated = [view.of(s.formula) for s in subject.stated]
    needed = Needs(view, all_needs(subject), target)
    judged = (~needed.node, *(~node for node in stated), ~view.space.any_of(stated))
    found = view.combinations([target, assumed, needed.given], failures)
    wholes = [needed.given]
    if target & assumed & ~needed.given != view.space.false:
        wholes.append(view.space.true)
    shortest = partial(view.cubes, target)
    asked = [Asked(shortest, target, assumed & part, judged) for part in wholes]
    exact = [found.settle(one) or found.are_shortest(one) for one in asked]
    judgements = [
        judgement
        for part in wholes
        for judgement in _judgements(view, target, found.widest & assumed, part, needed, items)
        if judgement.bare or part is needed.given
    ]
    bare = _minimal(judgements, bare=True)
    needing = _minimal(judgements, bare=False)
    kept = [f for f in needing if not any(covers(b.told, f.told) for b in bare)] + bare
    kept.sort(key=partial(_place, view))
    return Ways(
        question=subject.text,
        aeroplane=picture.book.aeroplane,
        verb=subject.verb,
        to_root=to_root,
        given=given_text,
        ways=_shown(view, kept, subject),
        count=len(kept),
        stated=_told(subject.stated),
        needs=_told(subject.needs),
        needs_alone=bool(subject.needs) and not subject.stated,
        inhibited=_told(subject.inhibited),
        not_failed=tuple(_left_out(view, judgements)),
        exact=all(exact) or [f.told for f in kept] == [{}],
        met=all(f.where & found.known != view.space.false for f in kept),
        passing=() if kept or given else _passing(picture, subject, failures),
    )


def _as_stated(
    picture: Picture, subject: Subject, to_root: bool, given: tuple[str, ...], failures: int | None
) -> Ways:
    """What sets a change off by coming on or going out, told as it is stated.

    What is shortest among states is not so among moments: of two things, each of which sets it
    off, neither does while the other is so already.
    """
    return Ways(
        question=subject.text,
        aeroplane=picture.book.aeroplane,
        verb=subject.verb,
        to_root=to_root,
        given=given,
        ways=(),
        count=0,
        stated=_told(subject.stated),
        needs=(),
        needs_alone=False,
        inhibited=_told(subject.inhibited),
        not_failed=(),
        exact=True,
        passing=_passing(picture, subject, failures),
        beginning=True,
    )


def _passing(picture: Picture, subject: Subject, failures: int | None) -> tuple[Statement, ...]:
    """What is stated to bring a change about that no lasting state shows, if it can be."""
    stated = [s for s in subject.stated if s.formula != FALSE]
    if not subject.verb or not stated:
        return ()
    after = picture.formula(subject.condition)
    possible = picture.possible((), [after], failures)
    if possible.meets(picture.symbols.of(after), PATIENCE) is False:
        return ()
    return _told(stated)


@dataclass(frozen=True, slots=True)
class _Found:
    """A cube as found, what is left of it to be told, and whether it does without the needs.

    `where` is what can be of it. It is inferred if no cube that suffices by itself, possible or
    not, lies within it, or if it can be only where another one is met. `besides` is where others
    are that are told alike: two sensors of one heat differ only in which of them has not failed.
    """

    whole: Cube
    where: Node
    told: Cube
    bare: bool
    inferred: bool
    besides: tuple[Node, ...] = ()


class Needs:
    """What X needs as well, told once.

    As seen, the needs are `given`, as far as X depends on what they speak of: the ways are those
    of X where they are met. To the root they are left out of each way only if they are one `cube`.
    """

    def __init__(self, view: View, needs: Formula, target: Node) -> None:
        space = view.space
        self.node = view.of(needs)
        apart = set(space.support(self.node)).difference(space.support(target))
        self.given = space.true if view.to_root else space.exists(self.node, apart)
        cubes = list(view.cubes(self.node, view.space.true)) if view.to_root else []
        self.cube: Cube = cubes[0] if len(cubes) == 1 else {}

    def without(self, cube: Cube) -> Cube:
        """The cube less what the needs already say."""
        return {
            name: values
            for name, values in cube.items()
            if not (name in self.cube and self.cube[name] <= values)
        }


def _judgements(
    view: View, target: Node, possible: Node, whole: Node, needed: Needs, items: Set[str]
) -> Iterator[_Found]:
    """The ways within the `whole` of what is asked, of which not all is possible.

    Only those told by `items`: what inhibits X may speak of more than X depends on.
    """
    cubes = view.cubes(target, possible & whole)
    if cubes.count > MOST_WAYS:
        raise TooLarge(f"there are {cubes.count:,} ways to this before any is left out")
    every = [cube for cube in cubes if cube.keys() <= items]
    plain = view.to_root or possible & whole == whole
    direct = [] if plain else list(view.cubes(target, whole))
    wheres = [view.space.cube(cube) & possible & whole for cube in every]
    for cube, where in zip(every, wheres, strict=True):
        bare = where & ~needed.node != view.space.false
        told = {n: v for n, v in cube.items() if not (view.is_failure(n) and 0 in v)}
        inferred = bool(direct) and not any(covers(cube, narrower) for narrower in direct)
        inferred = inferred or any(_less(where, other) for other in wheres)
        yield _Found(cube, where, told if bare else needed.without(told), bare, inferred)


def _less(where: Node, other: Node) -> bool:
    """Whether a way can be only where another one is met, and not the other way round."""
    return where != other and where & other == where


def _minimal(found: Iterable[_Found], bare: bool) -> list[_Found]:
    several = alike((f for f in found if f.bare == bare), lambda f: _key(f.told))
    by_cube = {_key(group[0].told): _one_of(group) for group in several}
    return [by_cube[_key(cube)] for cube in minimal_cubes(f.told for f in by_cube.values())]


def _key(cube: Cube) -> Hashable:
    return frozenset(cube.items())


def _one_of(group: Sequence[_Found]) -> _Found:
    """The last of those that are told alike, with where the others are."""
    return replace(group[-1], besides=tuple(f.where for f in group[:-1]))


def _left_out(view: View, found: Iterable[_Found]) -> list[str]:
    """The things whose failure would spoil a way: told once, not in each."""
    names = {n: None for f in found for n, v in f.whole.items() if view.is_failure(n) and 0 in v}
    return [view.picture.system.variables[name].thing for name in view.in_order(names)]


def _place(view: View, found: _Found) -> tuple[object, ...]:
    """Where a way is told: those of the fewest items first, then by the book."""
    where = [view.told_at(name) for name in view.in_order(found.told)]
    return found.inferred, found.bare, _by_failure(view, found.told), len(where), where


def _shown(view: View, kept: Sequence[_Found], subject: Subject) -> tuple[Way, ...]:
    stated = [(Statement(s.name, s.text, s.source), view.of(s.formula)) for s in subject.stated]
    told: list[Way] = []
    first: dict[Node, tuple[Item, ...]] = {}
    for found in kept:
        way = _way(view, found, stated)
        alone = not (found.bare or found.besides)
        same = first.setdefault(found.where, way.items) if alone else way.items
        told.append(replace(way, same_as=same) if same != way.items else way)
    return merge(view.picture.book, told)


def _way(view: View, found: _Found, stated: Sequence[tuple[Statement, Node]]) -> Way:
    each = [_met(view, where, stated) for where in (found.where, *found.besides)]
    met, together = each[0]
    if any(other != each[0] for other in each):
        known = {statement for several, _ in each for statement in several}
        met, together = tuple(s for s, _ in stated if s in known), len(known) > 1
    items = tuple(view.item(n, found.told[n]) for n in view.in_order(found.told))
    return Way(items, met, together, _by_failure(view, found.told), found.bare, found.inferred)


def _met(
    view: View, where: Node, stated: Sequence[tuple[Statement, Node]]
) -> tuple[tuple[Statement, ...], bool]:
    """The statements that hold wherever it is so; or those that do so together, and that."""
    none = view.space.false
    met = tuple(statement for statement, node in stated if where & ~node == none)
    together = () if met else _jointly(view, where, stated)
    return met or together, bool(together)


def _told(several: Iterable[Stated]) -> tuple[Statement, ...]:
    return tuple(Statement(one.name, one.text, one.source) for one in several)


def _by_failure(view: View, told: Cube) -> bool:
    """Whether a way asks that something has failed."""
    return any(view.is_failure(name) for name in told)


def _jointly(
    view: View, where: Node, stated: Sequence[tuple[Statement, Node]]
) -> tuple[Statement, ...]:
    """The statements that together cover a way which no single one covers; none if they do not."""
    space = view.space
    parts = [(s, node) for s, node in stated if where & node != space.false]
    if where & ~space.any_of(node for _, node in parts) != space.false:
        return ()
    for statement, _ in list(parts):
        others = [(s, node) for s, node in parts if s is not statement]
        if where & ~space.any_of(node for _, node in others) == space.false:
            parts = others
    return tuple(s for s, _ in parts)
