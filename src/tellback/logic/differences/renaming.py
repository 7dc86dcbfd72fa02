"""A book with other names for some of its things; texts stay as they were written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tellback.book.conditions import (
    Between,
    Compare,
    Condition,
    FedBy,
    State,
    with_leaves,
)
from tellback.book.model import (
    Book,
    Claim,
    Indication,
    Limit,
    Procedure,
    Statement,
    Step,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.scenario import Happening, Scenario
from tellback.book.stated import having, rewritten

Renaming = Mapping[str, str]
"""New names of things by their old ones; what is not in it keeps its name."""


def renamed_condition(condition: Condition, names: Renaming) -> Condition:
    """The condition, speaking of things by their new names."""
    return with_leaves(condition, lambda leaf: _renamed_leaf(leaf, names))


def _renamed_leaf(leaf: Condition, names: Renaming) -> Condition:
    match leaf:
        case FedBy(supply, source):
            return FedBy(names.get(supply, supply), names.get(source, source))
        case Compare(reading):
            return replace(leaf, reading=names.get(reading, reading))
        case State(thing) | Between(thing):
            return replace(leaf, thing=names.get(thing, thing))
    return leaf


def renamed_thing(thing: Thing, names: Renaming) -> Thing:
    """The thing under its new name, with all its statements."""

    def rename(statement: Statement) -> Statement:
        return renamed_statement(statement, names)

    new = having(rewritten(thing, rename), name=names.get(thing.name, thing.name))
    match new:
        case Supply():
            feeds = tuple(having(f, source=names.get(f.source, f.source)) for f in new.feeds)
            return having(new, feeds=feeds)
        case Unit():
            return having(new, feeds_one=tuple(names.get(s, s) for s in new.feeds_one))
        case Surface():
            drives = tuple(
                having(d, to_control=names.get(d.to_control, d.to_control)) for d in new.drives
            )
            return having(new, drives=drives)
        case Indication():
            return having(new, shows=names.get(new.shows, new.shows))
    return new


def renamed_statement(statement: Statement, names: Renaming) -> Statement:
    """The statement about things by their new names."""
    return replace(statement, condition=renamed_condition(statement.condition, names))


def renamed(book: Book, names: Renaming) -> Book:
    """The whole book with the new names."""
    return replace(
        book,
        things=tuple(renamed_thing(thing, names) for thing in book.things),
        groups={g: tuple(names.get(m, m) for m in members) for g, members in book.groups.items()},
        starts=tuple(
            replace(s, settings=tuple((names.get(n, n), state) for n, state in s.settings))
            for s in book.starts
        ),
        impossible=tuple(renamed_statement(s, names) for s in book.impossible),
        claims=tuple(_claim(claim, names) for claim in book.claims),
        procedures=tuple(_procedure(procedure, names) for procedure in book.procedures),
        limits=tuple(_limit(limit, names) for limit in book.limits),
        scenarios=tuple(_scenario(scenario, names) for scenario in book.scenarios),
    )


def called(book: Book, names: Renaming) -> Book:
    """The book with its procedures under their new names, where scenarios carry them out too."""

    def now(happening: Happening) -> Happening:
        name = happening.procedure
        return replace(happening, procedure=names.get(name, name))

    return replace(
        book,
        procedures=tuple(replace(p, name=names.get(p.name, p.name)) for p in book.procedures),
        scenarios=tuple(
            replace(s, happenings=tuple(map(now, s.happenings))) for s in book.scenarios
        ),
    )


def _limit(limit: Limit, names: Renaming) -> Limit:
    return replace(
        limit,
        of=tuple(names.get(name, name) for name in limit.of),
        when=renamed_statement(limit.when, names) if limit.when else None,
    )


def _procedure(procedure: Procedure, names: Renaming) -> Procedure:
    def each(statements: tuple[Statement, ...]) -> tuple[Statement, ...]:
        return tuple(renamed_statement(statement, names) for statement in statements)

    return replace(
        procedure,
        called_for=each(procedure.called_for),
        secures=each(procedure.secures),
        steps=_steps(procedure.steps, names),
    )


def _steps(steps: tuple[Step, ...], names: Renaming) -> tuple[Step, ...]:
    return tuple(
        replace(
            step,
            statement=renamed_statement(step.statement, names),
            then=_steps(step.then, names),
            otherwise=_steps(step.otherwise, names),
        )
        for step in steps
    )


def _scenario(scenario: Scenario, names: Renaming) -> Scenario:
    return replace(
        scenario,
        changes=tuple((names.get(thing, thing), state) for thing, state in scenario.changes),
        happenings=tuple(_happening(happening, names) for happening in scenario.happenings),
        expectations=tuple(
            replace(e, statement=renamed_statement(e.statement, names))
            for e in scenario.expectations
        ),
    )


def _happening(happening: Happening, names: Renaming) -> Happening:
    return replace(
        happening,
        statement=renamed_statement(happening.statement, names),
        when=renamed_statement(happening.when, names) if happening.when else None,
        settings=tuple(replace(s, thing=names.get(s.thing, s.thing)) for s in happening.settings),
    )


def _claim(claim: Claim, names: Renaming) -> Claim:
    return replace(
        claim,
        condition=renamed_condition(claim.condition, names),
        given=tuple(renamed_condition(condition, names) for condition in claim.given),
    )
