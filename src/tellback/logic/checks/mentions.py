"""Things that nothing in the book speaks of."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.conditions import things
from tellback.book.model import Book, Indication, Surface
from tellback.book.spoken import named_by, named_in_procedure
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground


def thing_mentioned_nowhere(ground: Ground) -> Iterator[Found]:
    """A thing that no condition, feed, drive, gauge, procedure, limit or claim names.

    Indications and surfaces are ends: what they do is seen, and need not be used again.
    """
    mentioned = set(_mentioned(ground.book))
    for thing in ground.book.things:
        if thing.name not in mentioned and not isinstance(thing, Indication | Surface):
            yield finding(
                "mentioned-nowhere", thing.place,
                f"`{thing.name}` is declared, but nothing in the book speaks of it",
                "State what it does or what it is for, or take it out.", thing.name,
            )  # fmt: skip


def _mentioned(book: Book) -> Iterator[str]:
    for thing in book.things:
        yield from named_by(thing)
    for statement in book.impossible:
        yield from things(statement.condition)
    for procedure in book.procedures:
        yield from named_in_procedure(procedure)
    for limit in book.limits:
        yield from limit.of
        yield from things(limit.when.condition) if limit.when else ()
    for claim in book.claims:
        for condition in (claim.condition, *claim.given):
            yield from things(condition)
