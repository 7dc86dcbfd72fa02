"""The part of a book that applies to one aeroplane."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from tellback.book.claims import put_together, shape_of
from tellback.book.conditions import (
    NEVER,
    Between,
    Compare,
    Condition,
    FedBy,
    State,
    things,
    with_leaves,
)
from tellback.book.cursor import Origin
from tellback.book.grammar import parse_condition
from tellback.book.model import (
    Book,
    Claim,
    Effectivity,
    Indication,
    Limit,
    Procedure,
    StartingState,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.names import Names, names_of
from tellback.book.procedures import moves_of, rewritten_steps
from tellback.book.scenario import Happening, Scenario
from tellback.book.stated import having, rewritten

Applies = Callable[[Effectivity], bool]

# the texts were read before, each under the rules of its key
ANYWHERE = Origin(edges=True, bare=("supply", "unit"))


def portion(book: Book, name: str, applies: Applies) -> Book:
    """The book with the things and statements that apply, named as the aeroplane.

    What the aeroplane has not is in no state: a statement about it never holds, and a group is
    the members that the aeroplane has.
    """
    kept: dict[str, Thing] = {}
    for thing in book.things:
        if applies(thing.applies):
            kept.setdefault(thing.name, thing)
    groups = {
        group: present
        for group, members in book.groups.items()
        if (present := tuple(member for member in members if member in kept))
    }
    part = replace(book, aeroplane=name, things=tuple(kept.values()), groups=groups)
    names, whole = names_of(part), names_of(book)
    changed = {n for n, d in whole.things.items() if names.things.get(n) != d}

    def rewrite(statement: Statement) -> Statement | None:
        if not applies(statement.applies):
            return None
        return _restated(statement, names, changed)

    procedures = tuple(_procedure(p, rewrite) for p in book.procedures if applies(p.applies))
    done = {procedure.name for procedure in procedures}
    return replace(
        part,
        things=tuple(_thing(thing, names, rewrite) for thing in part.things),
        starts=tuple(_start(start, names) for start in book.starts),
        impossible=tuple(new for old in book.impossible if (new := rewrite(old)) is not None),
        claims=_claims(book.claims, names, changed, applies),
        procedures=procedures,
        limits=_limits(book.limits, names, rewrite, applies),
        scenarios=tuple(
            _scenario(s, names, done, rewrite) for s in book.scenarios if applies(s.applies)
        ),
    )


def _restated(statement: Statement, names: Names, changed: set[str]) -> Statement:
    if changed.isdisjoint(things(statement.condition)):
        return statement
    condition, _ = parse_condition(statement.text, names, ANYWHERE)
    return replace(statement, condition=condition or without(statement.condition, names))


def without(condition: Condition, names: Names) -> Condition:
    """The condition as it holds where some things, or positions of them, are not there."""
    return with_leaves(condition, lambda leaf: leaf if _is_there(leaf, names) else NEVER)


def _is_there(leaf: Condition, names: Names) -> bool:
    """Whether everything that a leaf names is there."""
    if any(name not in names.things for name in things(leaf)):
        return False
    match leaf:
        case State(thing, state) if state.startswith("at "):
            return state.removeprefix("at ") in names.things[thing].states
        case State(thing, "failed"):
            return bool(names.things[thing].fails)
        case Between(thing, low, _, high, _):
            ends = {end for end in (low, high) if end is not None}
            return ends <= set(names.things[thing].states)
        case FedBy() | Compare():
            return True
    return True


def _thing(thing: Thing, names: Names, rewrite: Callable[[Statement], Statement | None]) -> Thing:
    """The thing with the statements that apply, without what the aeroplane has not."""
    new = rewritten(thing, rewrite)
    there = names.things
    match new:
        case Supply():
            return having(new, feeds=tuple(f for f in new.feeds if f.source in there))
        case Unit():
            return having(new, feeds_one=tuple(s for s in new.feeds_one if s in there))
        case Surface():
            drives = tuple(d for d in new.drives if not d.to_control or d.to_control in there)
            return having(new, drives=drives)
        case Indication():
            return having(new, shows=new.shows if new.shows in there else "")
    return new


def _procedure(procedure: Procedure, rewrite: Callable[[Statement], Statement | None]) -> Procedure:
    """The procedure with the steps that apply; what moves no control of the aeroplane goes."""
    called_for, secures = (
        tuple(new for old in several if (new := rewrite(old)) is not None)
        for several in (procedure.called_for, procedure.secures)
    )
    steps = rewritten_steps(procedure.steps, rewrite)
    return replace(procedure, called_for=called_for, secures=secures, steps=steps)


def _scenario(
    scenario: Scenario,
    names: Names,
    done: set[str],
    rewrite: Callable[[Statement], Statement | None],
) -> Scenario:
    """The scenario with the steps that apply, without what the aeroplane has not."""
    happenings = (_happening(happening, names, done, rewrite) for happening in scenario.happenings)
    expected = ((e, rewrite(e.statement)) for e in scenario.expectations)
    return replace(
        scenario,
        changes=_present(scenario.changes, names),
        happenings=tuple(happening for happening in happenings if happening is not None),
        expectations=tuple(replace(e, statement=new) for e, new in expected if new is not None),
    )


def _happening(
    happening: Happening,
    names: Names,
    done: set[str],
    rewrite: Callable[[Statement], Statement | None],
) -> Happening | None:
    statement = rewrite(happening.statement)
    settings = tuple(s for s in happening.settings if s.thing in names.things)
    moves_nothing = happening.kind == "do" and statement and not moves_of(statement.condition)
    sets_nothing = happening.kind == "set" and not settings
    if statement is None or moves_nothing or sets_nothing:
        return None
    if happening.kind == "carry out" and happening.procedure not in done:
        return None
    when = rewrite(happening.when) if happening.when else None
    return replace(happening, statement=statement, when=when, settings=settings)


def _limits(
    limits: tuple[Limit, ...],
    names: Names,
    rewrite: Callable[[Statement], Statement | None],
    applies: Applies,
) -> tuple[Limit, ...]:
    """The limits that apply; one of readings that are not there is left out."""
    return tuple(
        replace(limit, of=of, when=rewrite(limit.when) if limit.when else None)
        for limit in limits
        if applies(limit.applies)
        and ((of := tuple(name for name in limit.of if name in names.things)) or not limit.of)
    )


def _start(start: StartingState, names: Names) -> StartingState:
    return replace(start, settings=_present(start.settings, names))


def _present(settings: tuple[tuple[str, str], ...], names: Names) -> tuple[tuple[str, str], ...]:
    """The settings of what is there, controls in positions that they have or failed."""
    return tuple(
        (thing, state)
        for thing, state in settings
        if (found := names.things.get(thing))
        and (found.form != "control" or state in (*found.states, *found.fails))
    )


def _claims(
    claims: tuple[Claim, ...], names: Names, changed: set[str], applies: Applies
) -> tuple[Claim, ...]:
    """The claims that apply; one about a thing that is not there is left out."""
    kept = [_claim(claim, names, changed) for claim in claims if applies(claim.applies)]
    return tuple(claim for claim in kept if claim is not None)


def _claim(claim: Claim, names: Names, changed: set[str]) -> Claim | None:
    spoken = {name for c in (claim.condition, *claim.given) for name in things(c)}
    if changed.isdisjoint(spoken):
        return claim
    shape = shape_of(claim.text)
    parts = [claim.text[start:end] for start, end in shape.spans]
    found = [parse_condition(text, names)[0] for text in (*parts, *claim.given_text)]
    conditions = tuple(condition for condition in found if condition is not None)
    if len(conditions) < len(found):
        return None
    given = conditions[len(parts) :]
    return replace(claim, condition=put_together(shape, conditions[: len(parts)]), given=given)
