"""Why: why is X so now, or not so? The smallest reason, the chain, and what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book import conditions as c
from tellback.book.model import Book, Why
from tellback.logic.facts import Facts, kind_of, said
from tellback.logic.failures import failure
from tellback.logic.items import Item, View, apart_from, minimal_cubes
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.primes import Cube
from tellback.logic.run import Moment
from tellback.logic.scene import scene
from tellback.logic.space import Node
from tellback.logic.subjects import Subject, Subjects
from tellback.logic.translate import failure_name
from tellback.logic.words import either, listed

TOLD = 30
"""The most links of the chain told one by one."""


@dataclass(frozen=True, slots=True)
class Link:
    """A step of the chain of causes: a thing as it is now, how deep, and what says so."""

    depth: int
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Reason:
    """Why X is so (or not so) at a moment.

    `because` is the smallest sufficient reason as seen; `missing` gives, if X is not so, for each
    of the nearest ways what it lacks; `chain` goes back to the inputs; `whys` are the book's
    reasons for the statements met.
    """

    question: str
    aeroplane: str
    start: str
    so: bool
    because: tuple[Item, ...]
    chain: tuple[Link, ...]
    missing: tuple[tuple[Item, ...], ...]
    whys: tuple[Why, ...]

    def __str__(self) -> str:
        return "\n".join(_text(self))


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
    subject = Subjects(picture).of(condition)
    view = View(picture, to_root=False, apart=apart_from(condition))
    now = _items_now(view, where.moment)
    target = view.of(formula) if so else ~view.of(formula)
    care, _ = view.care(target)
    because = _smallest(view, target, care, now)
    return Reason(
        question=picture.phrase(condition),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        so=so,
        because=tuple(view.item(n, v) for n, v in because.items() if not _intact(view, n, v)),
        chain=tuple(_chain(picture, condition, where.moment)),
        missing=() if so else tuple(_missing(view, condition, now)),
        whys=tuple(_whys(picture, subject, where.moment)) if so else (),
    )


def _items_now(view: View, moment: Moment) -> dict[str, int]:
    values = view.picture.aeroplane.values(moment.state)
    levels = {
        name: sum(values[name, f"at least {k}"] for k in range(1, len(supply.levels)))
        for name, supply in view.supplies.items()
    }
    return {**moment.state, **levels}


def _smallest(view: View, target: Node, care: Node, now: dict[str, int]) -> Cube:
    for cube in view.cubes(target, care):
        if all(now[name] in values for name, values in cube.items()):
            return cube
    return {}


def _intact(view: View, name: str, values: frozenset[int]) -> bool:
    return view.is_failure(name) and 0 in values


def _missing(view: View, condition: c.Condition, now: dict[str, int]) -> list[tuple[Item, ...]]:
    """What the nearest ways lack: the fewest things first."""
    target = view.of(view.picture.formula(condition))
    care, _ = view.care(target)
    lacks: list[Cube] = []
    for cube in view.cubes(target, care):
        lack = {n: v for n, v in cube.items() if now[n] not in v}
        if not any(view.is_failure(n) and 0 not in v for n, v in lack.items()):
            lacks.append(lack)
    widest = minimal_cubes(sorted(lacks, key=lambda lack: -sum(map(len, lack.values()))))
    told = [tuple(view.item(n, v) for n, v in lack.items()) for lack in widest]
    fewest = sorted(told, key=lambda lack: (len(lack), [i.text for i in lack]))
    return [lack for lack in fewest if len(lack) == len(fewest[0])][:5] if fewest else []


def _whys(picture: Picture, subject: Subject, moment: Moment) -> list[Why]:
    values = picture.aeroplane.values(moment.state)
    met = [s for s in subject.stated if values.of(s.formula)]
    own = subject.thing.whys if subject.thing else ()
    return [*own, *(w for s in (*subject.needs, *met) for w in s.whys)]


def _chain(picture: Picture, condition: c.Condition, moment: Moment) -> list[Link]:
    """From X back to the inputs, each thing once, at most six deep."""
    facts = Facts(picture)
    now = facts.at(moment)
    links: list[Link] = []
    seen: set[str] = set()

    def follow(name: str, depth: int) -> None:
        if name in seen or name not in now or depth > 6:
            return
        seen.add(name)
        thing = picture.book.thing(name)
        links.append(Link(depth, said(name, kind_of(thing), now[name]), thing.source))
        mode = moment.state.get(failure_name(name), 0)
        if mode:
            links.append(Link(depth + 1, failure(picture, failure_name(name), mode).text, ""))
        for cause in picture.book.things:
            if cause.name in facts.depends(name):
                follow(cause.name, depth + 1)

    for name in c.things(condition):
        follow(name, 0)
    return links


def _text(answer: Reason) -> list[str]:
    state = "" if answer.so else "not "
    reason = listed(item.text for item in answer.because)
    lines = [
        f"{state}{answer.question} ({answer.start}), because {reason or 'nothing forbids it'}."
    ]
    if answer.missing:
        options = either(listed(i.text for i in lack) for lack in answer.missing)
        lines.append(f"  What is missing: {options}.")
    for reason_why in answer.whys:
        source = f" ({reason_why.source})" if reason_why.source else ""
        lines.append(f"  {reason_why.kind}: {reason_why.text}{source}")
    if len(answer.chain) > 1:
        lines.append("  The chain behind it:")
        told = answer.chain[:TOLD]
        lines += [f"    {'  ' * link.depth}{link.text}{_from(link)}" for link in told]
        if len(answer.chain) > TOLD:
            lines.append(f"    ... and {len(answer.chain) - TOLD} more")
    return lines


def _from(link: Link) -> str:
    return f"  [{link.source}]" if link.source else ""
