"""Why: why is X so now, or not so? The smallest reason, the chain, and what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, takewhile

from tellback.book import conditions as c
from tellback.book.model import Book, Latch, Supply, Surface, Why
from tellback.logic.answers.why_text import why_text
from tellback.logic.facts import Facts
from tellback.logic.formula import Formula, Ref, disj, neg
from tellback.logic.items import Item, View, apart_from, minimal_cubes
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.primes import Cube
from tellback.logic.run import Moment
from tellback.logic.scene import ended_after, history_of, passing, scene, settings_of
from tellback.logic.space import Node
from tellback.logic.subjects import Subject, Subjects
from tellback.logic.symbols import variables_of
from tellback.logic.words import listed, when_text

DEEPEST = 6
"""How many supplies behind one another the chain goes."""


@dataclass(frozen=True, slots=True)
class Link:
    """A step of the chain of causes: a thing as it is now, how deep, and what says so."""

    depth: int
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Reason:
    """Why X is so (or not so) at a moment; `told` is that in words.

    `because` is the smallest sufficient reason as seen; `missing` gives, if X is not so, for each
    of the nearest ways what it lacks; `chain` goes back from the reason to the inputs, each supply
    by its own smallest reason; `whys` are the book's reasons for the statements met. A memory has
    no reason but its `history`: when it came to be so, and through what. `passed` tells after how
    many seconds X was no longer so, if it was so before all had settled.
    """

    question: str
    aeroplane: str
    start: str
    so: bool
    told: str
    because: tuple[Item, ...]
    chain: tuple[Link, ...]
    missing: tuple[tuple[Item, ...], ...]
    whys: tuple[Why, ...]
    history: str = ""
    passed: float | None = None

    def __str__(self) -> str:
        return "\n".join(why_text(self))


@within(ANSWER_SECONDS, "finding the reason")
def why(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Reason:
    """Why `question` is so, or not so, in a starting state with changes, once settled."""
    condition = understand(book, question, aeroplane)
    picture = picture_of(book, aeroplane, condition)
    where = scene(picture, start, changes)
    formula = picture.formula(condition)
    so = picture.aeroplane.holds(formula, where.moment.state)
    told = picture.phrase(condition if so else _denied(condition))
    subject = Subjects(picture).of(condition)
    passed = passing(picture, where.path, formula)
    itself = _explains_itself(picture, condition, formula)
    if itself:
        sent = _sent(picture, itself, formula, where.moment)
        if sent is None or picture.aeroplane.holds(sent, where.moment.state) != so:
            return Reason(
                question=picture.phrase(condition),
                aeroplane=picture.book.aeroplane,
                start=where.text,
                so=so,
                told=told,
                because=(),
                chain=(),
                missing=(),
                whys=subject.thing.whys if subject.thing else (),
                history=_history(picture, itself, formula, start, changes),
            )
        formula = sent
    asked = apart_from(condition)
    view = View(picture, to_root=False, apart=asked)
    now = view.now(where.moment.state)
    target = view.of(formula) if so else ~view.of(formula)
    care = view.care(target)
    fed = subject.thing if isinstance(subject.thing, Supply) else None
    because = _smallest(view, target, care, now, fed)
    return Reason(
        question=picture.phrase(condition),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        so=so,
        told=told,
        because=_items(view, {n: v for n, v in because.items() if not _intact(view, n, v)}),
        chain=tuple(_chain(view, because, now, asked)),
        missing=() if so else tuple(_missing(view, formula, now)),
        whys=tuple(_whys(picture, subject, where.moment)) if so else (),
        passed=passed,
    )


def _denied(condition: c.Condition) -> c.Condition:
    """What is so where the condition is not."""
    return condition.part if isinstance(condition, c.Not) else c.Not(condition)


def _explains_itself(picture: Picture, condition: c.Condition, formula: Formula) -> str:
    """The one thing that the condition speaks of, if it is so by the state of that alone."""
    behind = {picture.system.variables[v].thing for v in variables_of(picture.graph, [formula])}
    spoken_of = {
        node.reading if isinstance(node, c.Compare) else node.thing
        for node in c.walk(condition)
        if isinstance(node, c.State | c.Between | c.Compare)
    }
    return min(behind) if len(behind) == 1 and behind == spoken_of else ""


def _sent(picture: Picture, name: str, formula: Formula, moment: Moment) -> Formula | None:
    """That a surface is sent to where the formula holds; None if it is about no surface."""
    thing = picture.book.thing(name)
    if not isinstance(thing, Surface):
        return None
    return disj(
        Ref((name, f"sent to {place}"))
        for place in range(0, 2 * len(thing.points), 2)
        if picture.aeroplane.holds(formula, {**moment.state, name: place})
    )


def _history(
    picture: Picture, name: str, formula: Formula, start: str, changes: Sequence[str]
) -> str:
    """Since when a formula about one thing is so, or not so, and through what."""
    moments = history_of(picture, start, changes)
    settings = settings_of(picture, changes)
    so = [picture.aeroplane.holds(formula, moment.state) for moment in moments]
    latch = isinstance(picture.book.thing(name), Latch)
    now = moments[-1].state[name] if latch else 1
    if len(set(so)) == 1:
        word = ("clear", "set")[now] if latch else "so"
        return f"it was {word} in the starting state"
    if not latch and variables_of(picture.graph, [formula]) & settings.keys():
        return "it was put so"
    since = ended_after(picture.aeroplane, neg(formula) if so[-1] else formula, moments)
    moved = {picture.system.variables[v].thing for v in settings}
    last = [change for change in Facts(picture).changes(moments, moved) if change.thing == name]
    through = f", through {listed(last[-1].through)}" if last and last[-1].through else ""
    when = when_text(since or 0)
    if not latch:
        return f"it came to be so {when}{through}"
    done, undone = ("cleared", "set")[:: 1 - 2 * now]
    return f"it was {done} {when}{through}, and has not been {undone} since"


def _smallest(
    view: View, target: Node, care: Node, now: dict[str, int], supply: Supply | None = None
) -> Cube:
    """The smallest reason that is met now; for a supply, of several the one of its feeder now."""
    met = (
        cube
        for cube in view.cubes(target, care)
        if all(now[name] in values for name, values in cube.items())
    )
    first = next(met, {})
    if supply is None or not first:
        return first
    feeding = _feeding(view, supply, now)
    alike = takewhile(lambda cube: len(cube) == len(first), chain([first], met))
    others = care & ~feeding
    return next((one for one in alike if _node(view, one) & others == view.space.false), first)


def _feeding(view: View, supply: Supply, now: dict[str, int]) -> Node:
    """When the source that feeds a supply now delivers to it, whether or not others do as well."""
    rows = [view.values[supply.name, f"row {i}"] for i in range(len(supply.feeds))]
    return next((row for row in rows if view.space.holds(row, now)), view.space.true)


def _node(view: View, cube: Cube) -> Node:
    return view.space.all_of(view.space.literal(name, values) for name, values in cube.items())


def _intact(view: View, name: str, values: frozenset[int]) -> bool:
    return view.is_failure(name) and 0 in values


def _missing(view: View, formula: Formula, now: dict[str, int]) -> list[tuple[Item, ...]]:
    """What the nearest ways lack: the fewest things first.

    What else cannot stay as it is where the way is met is told before: a switch that a magnet
    holds at ON lacks what the magnet wants.
    """
    target = view.of(formula)
    care = view.care(target)
    ways: dict[int, Cube] = {}
    lacks: list[Cube] = []
    for way in view.cubes(target, care):
        lack = {n: v for n, v in way.items() if now[n] not in v}
        if not any(view.is_failure(n) and 0 not in v for n, v in lack.items()):
            lacks.append(lack)
            ways[id(lack)] = way
    widest = minimal_cubes(sorted(lacks, key=lambda lack: -sum(map(len, lack.values()))))
    told = [
        (_items(view, _besides(view, care, ways[id(lack)], now)), _items(view, lack))
        for lack in widest
        if len(lack) == min(map(len, widest))
    ]
    return [(*besides, *lack) for besides, lack in sorted(told, key=lambda both: str(both[1]))]


def _items(view: View, cube: Cube) -> tuple[Item, ...]:
    return tuple(view.item(name, cube[name]) for name in view.in_order(cube))


def _besides(view: View, care: Node, way: Cube, now: dict[str, int]) -> Cube:
    """What else cannot stay as it is where a way is met, with all that it can be there."""
    there = care & view.space.cube(way)
    found: Cube = {}
    for name in view.space.support(care):
        can_be = {
            value
            for value in range(view.space.size(name))
            if there & view.space.literal(name, (value,)) != view.space.false
        }
        in_a_row = not view.ordered(name) or max(can_be) - min(can_be) < len(can_be)
        if name not in way and now[name] not in can_be and in_a_row and not view.is_failure(name):
            found[name] = frozenset(can_be)
    return found


def _whys(picture: Picture, subject: Subject, moment: Moment) -> list[Why]:
    values = picture.aeroplane.values(moment.state)
    met = [s for s in subject.stated if values.of(s.formula)]
    own = subject.thing.whys if subject.thing else ()
    return [*own, *(w for s in (*subject.needs, *met) for w in s.whys)]


def _chain(
    view: View, because: Cube, now: dict[str, int], asked: tuple[str, ...]
) -> Iterator[Link]:
    """From the reason back to what is moved or comes from outside: the reason of each supply.

    What a supply is the reason of is no reason for it.
    """
    told: set[str] = set()
    sources = {thing.name: thing.source for thing in view.picture.book.things}

    def follow(view: View, cube: Cube, behind: tuple[str, ...], depth: int) -> Iterator[Link]:
        for name in view.in_order(cube):
            values = cube[name]
            if name in told or _intact(view, name, values):
                continue
            told.add(name)
            item = view.item(name, values)
            yield Link(depth, item.text, sources.get(item.thing, ""))
            if name in view.supplies and depth < DEEPEST:
                path = (*behind, name)
                own = View(view.picture, to_root=False, apart=path)
                yield from follow(own, _reason_of_level(own, name, values, now), path, depth + 1)

    yield from follow(view, because, asked, 0)


def _reason_of_level(view: View, name: str, levels: frozenset[int], now: dict[str, int]) -> Cube:
    """The smallest reason why a supply, at which this view does not stop, has such a level."""
    supply = view.picture.book.thing(name)
    assert isinstance(supply, Supply)
    at_least = [view.values[name, f"at least {k}"] for k in range(1, len(supply.levels))]
    node = view.space.any_of(
        view.space.all_of([*at_least[:level], *(~more for more in at_least[level : level + 1])])
        for level in levels
    )
    return _smallest(view, node, view.care(node), now, supply)
