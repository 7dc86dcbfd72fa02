"""Runs of one or two moves tried toward a goal, where a search has found none."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, islice

from tellback.logic.formula import Formula
from tellback.logic.path import Event, Paths, Witness
from tellback.logic.picture import Picture
from tellback.logic.possible import Possible
from tellback.logic.row import Runs, bits, changes_of
from tellback.logic.symbols import steps_back, variables_of

PATIENCE_AT_FIRST = 20_000
"""The effort of search, as `tellback.logic.possible` counts it, before single moves are tried."""

NEAREST = 120
"""So many single moves are tried two together: those nearest to the goal."""

AT_ONCE = 20_000
"""So many runs are made side by side."""

Move = tuple[str, int]
Attempt = tuple[str, tuple[Move, ...]]
"""A starting state and moves made in it, one after the other."""


def sought(
    picture: Picture, paths: Paths, possible: Possible, goal: Formula
) -> tuple[bool | None, Witness | None]:
    """Whether the goal can be, and perhaps a run to it; None if that was not decided.

    A short search first, then every single move, a long search, and every two moves near the goal.
    """
    node = picture.symbols.of(goal)
    met = possible.meets(node, PATIENCE_AT_FIRST)
    run = _attempted(picture, paths, goal, _single) if met is None else None
    if met is None and run is None:
        met = possible.meets(node)
        run = _attempted(picture, paths, goal, _double) if met is None else None
    return (True, run) if run is not None else (met, None)


def tried(picture: Picture, paths: Paths, goal: Formula) -> Witness | None:
    """A run to the goal of one move or two; None if none was found."""
    single = _attempted(picture, paths, goal, _single)
    return single or _attempted(picture, paths, goal, _double)


def _attempted(
    picture: Picture,
    paths: Paths,
    goal: Formula,
    making: Callable[[Picture, Paths, Formula], Iterator[Attempt]],
) -> Witness | None:
    """The first attempt that reaches the goal when it is made once more, alone."""
    attempts = making(picture, paths, goal)
    while some := list(islice(attempts, AT_ONCE)):
        for run in bits(_reaching(picture, some, goal)):
            start, moves = some[run]
            found = paths.leanest(start, [Event(n, v, False) for n, v in moves], goal)
            if found is not None:
                return found
    return None


def _single(picture: Picture, paths: Paths, goal: Formula) -> Iterator[Attempt]:
    for start in paths.starts:
        yield start, ()
        for move in _moves(picture, paths, goal, start):
            yield start, (move,)


def _double(picture: Picture, paths: Paths, goal: Formula) -> Iterator[Attempt]:
    variables = picture.system.variables
    for start in paths.starts:
        near = _moves(picture, paths, goal, start)[:NEAREST]
        for one, other in combinations(near, 2):
            failed = sum(variables[name].kind == "failure" for name, _ in (one, other))
            allowed = paths.failures is None or failed <= paths.failures
            if one[0] != other[0] and allowed:
                yield start, (one, other)
                yield start, (other, one)


def _moves(picture: Picture, paths: Paths, goal: Formula, start: str) -> list[Move]:
    """The moves of inputs that bear on the goal, the nearest first."""
    away = steps_back(picture.graph, variables_of(picture.graph, [goal]))
    state = paths.starts[start].state
    inputs = sorted((n for n in paths.inputs if n in away), key=lambda n: away[n])
    variables = picture.system.variables
    return [
        (name, value)
        for name in inputs
        if paths.failures != 0 or variables[name].kind != "failure"
        for value in range(len(variables[name].values))
        if value != state[name]
    ]


def _reaching(picture: Picture, attempts: Sequence[Attempt], goal: Formula) -> Runs:
    """The attempts in which the goal comes to hold, by possible states all the way."""
    abreast = picture.abreast
    row = abreast.row([picture.starts[start] for start, _ in attempts])
    possible = row.all
    reached = abreast.values(row).of(goal)
    for nth in range(max((len(moves) for _, moves in attempts), default=0)):
        changes = changes_of(dict(moves[nth : nth + 1]) for _, moves in attempts)
        possible &= ~abreast.barred(row, changes)
        row = abreast.move(row, changes)
        possible &= ~abreast.impossible(row)
        reached |= possible & abreast.values(row).of(goal)
    for later in abreast.history(row):
        possible &= ~(abreast.impossible(later) | later.lost)
        reached |= possible & abreast.values(later).of(goal)
    return reached
