"""Statements without a manual reference."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.model import Statement
from tellback.book.procedures import all_steps
from tellback.book.stated import statements_of
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground
from tellback.logic.words import listed

SHORT = ("needs", "through")
"""Lists without room for a source of their own: any source of the thing covers them."""

MEND = "Add `source:` with section and page to the statement, or to the thing for all of them."
STEP_MEND = "Add `source:` with section and page to the step, or to the procedure for all of them."
LIMIT_MEND = "Add `source:` with section and page to the limit."


def statement_without_source(ground: Ground) -> Iterator[Found]:
    """A statement whose source is given neither by itself nor by its thing."""
    for thing in ground.book.things:
        statements = statements_of(thing)
        sourced = any(s.source for s in statements)
        bare = [s for s in statements if not s.source and not (sourced and s.key in SHORT)]
        if bare:
            told = listed(dict.fromkeys(_told(statement) for statement in bare))
            message = f"`{thing.name}`: no source is given for {told}"
            yield finding("no-source", bare[0].place, message, MEND, bare[0].text)
    for statement in ground.book.impossible:
        if not statement.source:
            message = "no source is given for what is stated impossible"
            yield finding("no-source", statement.place, message, MEND, statement.text)
    for procedure in ground.book.procedures:
        bare = [s.statement for s in all_steps(procedure.steps) if not s.statement.source]
        if bare:
            message = f"`{procedure.name}`: no source is given for the step `{bare[0].text}`"
            yield finding("no-source", bare[0].place, message, STEP_MEND, bare[0].text)

    for limit in ground.book.limits:
        if not limit.source:
            message = f"no source is given for the limit `{limit.name}`"
            yield finding("no-source", limit.place, message, LIMIT_MEND, limit.name)


def _told(statement: Statement) -> str:
    return f"the way `{statement.name}`" if statement.name else f"`{statement.key}`"
