"""What is asked as functions of the items, and the shortest cubes that make it so."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from tellback.book import conditions as c
from tellback.logic.combinations import Asked
from tellback.logic.formula import Formula
from tellback.logic.items import View, apart_from, covers, minimal_cubes
from tellback.logic.limits import TooLarge, TooLong, within
from tellback.logic.picture import Picture
from tellback.logic.primes import Cube
from tellback.logic.space import Node
from tellback.logic.subjects import Subject, all_needs
from tellback.logic.words import alike

MOST_WAYS = 3000
"""More ways than this are not worked through; the question is too wide."""

ROOT_SECONDS = 1.5
"""The processor time for whether those to the root are the shortest."""


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
        self.cube: Cube = (view.as_cube(self.node) if view.to_root else None) or {}

    def without(self, cube: Cube) -> Cube:
        """The cube less what the needs already say."""
        return {
            name: values
            for name, values in cube.items()
            if not (name in self.cube and self.cube[name] <= values)
        }


class Case:
    """What is asked, as functions of the items.

    `target` is what is to be brought about, `base` what is taken for granted with what `off`
    leaves, `needed` what X needs as well, `stated` the ways of the book. `found` is what is known
    of the combinations.
    """

    def __init__(
        self,
        picture: Picture,
        subject: Subject,
        given: Sequence[c.Condition],
        to_root: bool,
        given_text: tuple[str, ...],
        failures: int | None,
    ) -> None:
        self.picture, self.subject = picture, subject
        self.given_text, self.failures = given_text, failures
        self.view = view = View(picture, to_root, apart_from(subject.condition))
        self.space = view.space
        self.off = self.space.any_of(view.of(one.formula) for one in self.subject.inhibited)
        self.target = view.of(self.subject.happens)
        self.given = [picture.formula(condition) for condition in given]
        assumed = self.space.all_of(map(view.of, self.given))
        assumed = assumed & view.few_failures(self.target, failures)
        self.items = {*self.space.support(self.target), *self.space.support(assumed)}
        self.base = assumed & ~self.off
        self.stated = [view.of(one.formula) for one in self.subject.stated]
        self.needed = Needs(view, all_needs(self.subject), self.target)
        spoken_of = [self.target, self.base, self.needed.given, *self.stated]
        self.found = view.combinations(spoken_of, failures)

    @property
    def is_given(self) -> bool:
        """Whether something is taken for granted."""
        return bool(self.given_text)


@dataclass(frozen=True, slots=True)
class Found:
    """A cube as found, the rest of it without the needs, and what is told: all but `not failed`.

    `where` is what can be of it; `bare` that it does without the needs. It is inferred if no cube
    that suffices by itself, possible or not, lies within it, or if it can be only where another one
    is met. `besides` are others that are told alike: two sensors of one heat differ only in which
    of them has not failed.
    """

    whole: Cube
    where: Node
    rest: Cube
    told: Cube
    bare: bool
    inferred: bool
    besides: tuple[Found, ...] = ()

    @property
    def all(self) -> tuple[Found, ...]:
        """This one and those that are told alike."""
        return (*self.besides, self)


def found_in(case: Case, where: Node, asked_of: Sequence[Node] = ()) -> tuple[list[Found], bool]:
    """The shortest cubes that say when X is so, those that are met `where`; and if that is sure.

    Sure as well is whether one meets each that is `asked_of`. They come in the order in which they
    are told.
    """
    view, target, needed = case.view, case.target, case.needed
    base = case.base & where
    wholes = [needed.given]
    if target & base & ~needed.given != case.space.false:
        wholes.append(case.space.true)
    cubes = partial(view.cubes, target)
    asked = [Asked(cubes, target, base & part, (~needed.node, *asked_of)) for part in wholes]
    exact = [_is_exact(case, one) for one in asked]
    judgements = [
        judgement
        for part in wholes
        for judgement in _judgements(case, case.found.widest & base, part)
        if judgement.bare or part is needed.given
    ]
    return kept_of(view, judgements), all(exact)


def _is_exact(case: Case, asked: Asked) -> bool:
    """Whether the shortest cubes are sure; to the root, where they are long, it may stay open."""
    if not case.view.to_root:
        return case.found.settle(asked) or case.found.are_shortest(asked)
    try:
        with within(ROOT_SECONDS, "settling which combinations are the shortest"):
            return case.found.settle(asked) or case.found.are_shortest(asked)
    except TooLong:
        return False


def kept_of(view: View, found: Iterable[Found]) -> list[Found]:
    """Those that no other covers, each once, in the order in which they are told."""
    several = list(found)
    bare = _minimal(f for f in several if f.bare)
    needing = _minimal(f for f in several if not f.bare)
    besides = (f for f in needing if not any(covers(b.rest, f.rest) for b in bare))
    kept = [*_told_once(besides), *_told_once(bare)]
    kept.sort(key=partial(_place, view))
    return kept


def all_met(case: Case, found: Iterable[Found]) -> bool:
    """Whether each of these is met in a state that is known to be possible."""
    return all(f.where & case.found.known != case.space.false for f in found)


def _judgements(case: Case, possible: Node, whole: Node) -> Iterator[Found]:
    """The ways within the `whole` of what is asked, of which not all is possible.

    Only those told by the items: what inhibits X may speak of more than X depends on.
    """
    view, target = case.view, case.target
    cubes = view.cubes(target, possible & whole)
    if cubes.count > MOST_WAYS:
        raise TooLarge(f"there are {cubes.count:,} ways to this before any is left out")
    every = [cube for cube in cubes if cube.keys() <= case.items]
    plain = view.to_root or possible & whole == whole
    direct = [] if plain else list(view.cubes(target, whole))
    wheres = [view.space.cube(cube) & possible & whole for cube in every]
    for cube, where in zip(every, wheres, strict=True):
        inferred = bool(direct) and not any(covers(cube, narrower) for narrower in direct)
        inferred = inferred or any(_less(where, other) for other in wheres)
        yield judged(case, cube, where, inferred)


def judged(case: Case, cube: Cube, where: Node, inferred: bool = False) -> Found:
    """A cube, of which so much can be, without the needs that are told once."""
    bare = where & ~case.needed.node != case.space.false
    rest = cube if bare else case.needed.without(cube)
    spoken = {n: v for n, v in rest.items() if not _is_soundness(case.view, n, v)}
    return Found(cube, where, rest, spoken, bare, inferred)


def _less(where: Node, other: Node) -> bool:
    """Whether a way can be only where another one is met, and not the other way round."""
    return where != other and where & other == where


def _is_soundness(view: View, name: str, values: frozenset[int]) -> bool:
    """Whether a literal says that something has not failed (in this mode or that)."""
    return view.is_failure(name) and 0 in values


def _minimal(found: Iterable[Found]) -> list[Found]:
    """Those that no other one covers once the needs are left out, `not failed` still among them.

    So a source that is there for the failure of another one is not covered by that one.
    """
    several = list(found)
    kept = {_key(cube) for cube in minimal_cubes(f.rest for f in several)}
    return [f for f in several if _key(f.rest) in kept]


def _told_once(found: Iterable[Found]) -> Iterator[Found]:
    """Those that are told alike as one, the last of them."""
    for *others, last in alike(found, lambda f: _key(f.told)):
        yield replace(last, besides=tuple(others))


def _key(cube: Cube) -> Hashable:
    return frozenset(cube.items())


def left_out(view: View, cubes: Iterable[Cube]) -> list[str]:
    """The things whose failure would spoil a way: told once, not in each."""
    names = {n: None for cube in cubes for n, v in cube.items() if _is_soundness(view, n, v)}
    return [view.picture.system.variables[name].thing for name in view.in_order(names)]


def _place(view: View, found: Found) -> tuple[object, ...]:
    """Where a way is told: those of the fewest items first, then by the book."""
    names = view.in_order(found.told)
    where = [(view.told_at(name), sorted(found.told[name])) for name in names]
    return found.inferred, found.bare, is_by_failure(view, found.told), len(where), where


def is_by_failure(view: View, told: Cube) -> bool:
    """Whether a way asks that something has failed."""
    return any(view.is_failure(name) for name in told)
