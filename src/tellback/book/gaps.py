"""Where a book of several aeroplanes leaves one of them without an answer, or with two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from tellback.book.conditions import Condition, things
from tellback.book.effectivity import Aeroplane, aeroplanes, applies, find_aeroplane
from tellback.book.grammar import parse_condition
from tellback.book.model import (
    Book,
    Indication,
    Limit,
    Procedure,
    Statement,
    Surface,
    Thing,
    Unit,
)
from tellback.book.names import Names, names_of
from tellback.book.portion import ANYWHERE, portion
from tellback.book.procedures import statements_in
from tellback.book.scenario import Scenario
from tellback.book.scenarios import statements_in_scenario
from tellback.book.stated import statements_of
from tellback.diagnostics import Diagnostic, Place, in_order


class _Gap(NamedTuple):
    place: Place
    code: str
    message: str
    mend: str


def gaps(book: Book) -> tuple[Diagnostic, ...]:
    """What is amiss for one aeroplane or another, each finding once with the aeroplanes.

    Lists of alternatives of which none applies, or more than one; and references to things that
    the aeroplane has not.
    """
    found: dict[_Gap, list[str]] = {}
    for name in aeroplanes(book):
        aeroplane = find_aeroplane(book, name)
        for gap in dict.fromkeys(_gaps_of(book, aeroplane)):
            found.setdefault(gap, []).append(name)
    return in_order(
        Diagnostic("finding", gap.code, gap.place, f"{gap.message} on {_joined(names)}", gap.mend)
        for gap, names in found.items()
    )


def _joined(names: list[str]) -> str:
    return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + names[-1]


def _gaps_of(book: Book, aeroplane: Aeroplane) -> Iterator[_Gap]:
    yield from _doubles(book, aeroplane, book.things)
    yield from _doubles(book, aeroplane, book.limits)
    one = portion(book, aeroplane.name, lambda e: applies(book, e, aeroplane))
    names = names_of(one)
    for thing in book.things:
        if applies(book, thing.applies, aeroplane):
            yield from _alternatives(book, thing, aeroplane)
            yield from _absent(book, thing, aeroplane, names)
    for statement in book.impossible:
        if applies(book, statement.applies, aeroplane):
            yield from _absent_in(statement.condition, statement, names, "`impossible`")
    told: list[tuple[Procedure | Scenario, Iterator[Statement]]]
    told = [(p, statements_in(p)) for p in book.procedures]
    told += [(s, statements_in_scenario(s)) for s in book.scenarios]
    for owner, stated in told:
        if applies(book, owner.applies, aeroplane):
            for statement in stated:
                if applies(book, statement.applies, aeroplane):
                    yield from _absent_in(statement.condition, statement, names, f"`{owner.name}`")
    for limit in book.limits:
        if applies(book, limit.applies, aeroplane):
            yield from _absent_of_limit(limit, names)
    for claim in book.claims:
        if applies(book, claim.applies, aeroplane) and claim.text not in {
            c.text for c in one.claims
        }:
            absent = [n for c in (claim.condition, *claim.given) for n in things(c)
                      if n not in names.things]  # fmt: skip
            yield _gap_absent(claim.place, "the claim", absent[0] if absent else "something")


def _doubles(
    book: Book, aeroplane: Aeroplane, named: Iterable[Thing] | Iterable[Limit]
) -> Iterator[_Gap]:
    """Things or limits of which two alternatives apply."""
    seen: set[str] = set()
    for one in named:
        if not applies(book, one.applies, aeroplane):
            continue
        if one.name in seen:
            yield _Gap(
                one.place, "two-alternatives", f"`{one.name}` has two alternatives that apply",
                "Make `applies to` exclude one another; the first counts.",
            )  # fmt: skip
        seen.add(one.name)


def _alternatives(book: Book, thing: Thing, aeroplane: Aeroplane) -> Iterator[_Gap]:
    """Statements under one key and name are alternatives: exactly one should apply."""
    lists: dict[tuple[str, str], list[Statement]] = {}
    for statement in statements_of(thing):
        if statement.key.casefold().endswith(("when", "any of")):
            lists.setdefault((statement.key, statement.name), []).append(statement)
    for (key, name), several in lists.items():
        applicable = [s for s in several if applies(book, s.applies, aeroplane)]
        shown = f"`{key}`" + (f", `{name}`" if name else "")
        if len(several) > 1 and not applicable:
            yield _Gap(
                several[0].place, "no-alternative",
                f"`{thing.name}`: {shown} has no alternative that applies",
                "Add one, or say `applies to` for the thing.",
            )  # fmt: skip
        elif len(applicable) > 1:
            yield _Gap(
                applicable[1].place, "two-alternatives",
                f"`{thing.name}`: {shown} has more than one alternative that applies",
                "Make `applies to` exclude one another, or name them under `any of`.",
            )  # fmt: skip


def _absent(book: Book, thing: Thing, aeroplane: Aeroplane, names: Names) -> Iterator[_Gap]:
    for statement in statements_of(thing):
        if applies(book, statement.applies, aeroplane):
            yield from _absent_in(statement.condition, statement, names, f"`{thing.name}`")
    for name in _named(thing):
        if name not in names.things:
            yield _gap_absent(thing.place, f"`{thing.name}`", name)


def _absent_of_limit(limit: Limit, names: Names) -> Iterator[_Gap]:
    if limit.when:
        yield from _absent_in(limit.when.condition, limit.when, names, f"`{limit.name}`")
    for name in limit.of:
        if name not in names.things:
            yield _gap_absent(limit.place, f"`{limit.name}`", name)


def _absent_in(
    condition: Condition, statement: Statement, names: Names, owner: str
) -> Iterator[_Gap]:
    """Names that are missing although the text, with groups cut to their members, needs them."""
    absent = [name for name in things(condition) if name not in names.things]
    if absent and (
        statement.key == "fed by" or parse_condition(statement.text, names, ANYWHERE)[0] is None
    ):
        yield _gap_absent(statement.place, owner, absent[0])


def _gap_absent(place: Place, owner: str, name: str) -> _Gap:
    return _Gap(
        place, "absent-thing", f"{owner} speaks of `{name}`, which is not there",
        "Say `applies to` here as well.",
    )  # fmt: skip


def _named(thing: Thing) -> tuple[str, ...]:
    """The names that a thing refers to outside its conditions."""
    match thing:
        case Unit():
            return thing.feeds_one
        case Surface():
            return tuple(drive.to_control for drive in thing.drives if drive.to_control)
        case Indication():
            return (thing.shows,) if thing.shows else ()
    return ()
