"""Statements of what is impossible that other statements of the book contradict."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.model import Statement
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground
from tellback.logic.formula import Formula
from tellback.logic.impossible import as_far_as_possible
from tellback.logic.path import Witness
from tellback.logic.run import Unsettled
from tellback.logic.space import Node
from tellback.logic.symbols import variables_of
from tellback.logic.system import NumberRule, PlaceRule
from tellback.logic.words import run_time_text

Sent = list[tuple[int, Node]]
"""Where something is sent, and in which states."""


def impossible_that_comes_about(ground: Ground) -> Iterator[Found]:
    """A run that comes by itself, as time passes, to what is stated impossible."""
    for statement in ground.book.impossible:
        formula = ground.picture.formula(statement.condition)
        run = ground.run_to(_just_before(ground, formula))
        if isinstance(run, Witness):
            yield from _told(ground, statement, run)


def _told(ground: Ground, statement: Statement, run: Witness) -> Iterator[Found]:
    try:
        history = ground.picture.aeroplane.history(run.end)
    except Unsettled:
        return
    _, entered = as_far_as_possible(ground.picture, history)
    if entered is not None and statement.text in entered.statements:
        waited = f"; then {run_time_text(entered.seconds)} pass" if entered.seconds else ""
        yield finding(
            "impossible-comes-about", statement.place,
            f"`{statement.text}` is stated impossible, but comes about by itself: {run}{waited}",
            "Correct this statement, or what the book says brings it about: no answer goes on "
            "beyond it.",
            statement.text,
        )  # fmt: skip


def _just_before(ground: Ground, impossible: Formula) -> Node:
    """The states from which what is under way may next arrive in what is stated impossible."""
    space, system = ground.space, ground.picture.system
    forbidden = ground.symbols.of(impossible)
    behind = variables_of(ground.picture.graph, [impossible])
    before = [
        space.literal(rule.variable, (0,))
        & ground.symbols.of(rule.condition)
        & space.assume(forbidden, rule.variable, 1)
        for rule in system.delays
        if rule.variable in behind
    ]
    surfaces = (rule for rule in system.surfaces if rule.variable in behind)
    numbers = (rule for rule in system.numbers if rule.variable in behind)
    moving = [(rule.variable, _sent_to_points(ground, rule)) for rule in surfaces]
    moving += [(rule.variable, _sent_to_numbers(ground, rule)) for rule in numbers]
    before += [
        space.literal(name, (place,))
        & sent
        & space.assume(forbidden, name, place + (1 if goal > place else -1))
        for name, goals in moving
        for goal, sent in goals
        for place in range(space.size(name))
        if place != goal
    ]
    return space.any_of(before) & ~forbidden & ground.allowed


def _sent_to_points(ground: Ground, rule: PlaceRule) -> Sent:
    return [(place, ground.symbols.of(sent)) for place, sent in rule.targets]


def _sent_to_numbers(ground: Ground, rule: NumberRule) -> Sent:
    found, left = Sent(), ground.space.true
    for formula, goal, _ in rule.rows:
        here = left & ground.symbols.of(formula)
        left = left & ~here
        found.append((rule.regions.index(goal), here))
    return found
