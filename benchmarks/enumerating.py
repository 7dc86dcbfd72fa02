"""What a user would do without the program: try all cases, in plain Python.

Both are given what the program gives for nothing: the values of the system from a state. The
table of a unit only says when it runs; nothing is made of it yet. The answers are compared.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import combinations, product
from math import prod

import tellback
from benchmarks.asking import DEEP, START
from benchmarks.measures import Row, seconds, timed, times_as_long
from tellback.book.model import Book
from tellback.logic.formula import Formula, Key, Lit
from tellback.logic.items import View, apart_from
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.solve import Valuation

UNIT = "left generator contactor running"
"""A question with few enough items to try all their combinations."""


def rows(book: Book) -> Iterator[Row]:
    """A truth table against the ways of a unit, all pairs of failures against its losses."""
    picture = picture_of(book)
    yield _table(book, picture)
    yield _pairs(book, picture)


def _table(book: Book, picture: Picture) -> Row:
    condition = understand(book, UNIT)
    view = View(picture, False, apart_from(condition))
    node = view.of(picture.formula(condition))
    items = {name: view.space.size(name) for name in view.space.support(node)}
    tellback.shortest(book, UNIT)
    asked, _ = timed(lambda: tellback.shortest(book, UNIT))
    tried, true = timed(lambda: _true_combinations(view, picture.formula(condition), items))
    if true != view.space.count(node, items):
        raise SystemExit(f"the truth table of {UNIT} disagrees")
    size = f"{prod(items.values()):,} combinations of {len(items)} items"
    what = f"truth table of `{UNIT}` with itertools, against its `ways`"
    return Row(
        what, seconds(tried), note=f"{size}; {times_as_long(tried, asked)} of {seconds(asked)}"
    )


def _true_combinations(view: View, formula: Formula, items: dict[str, int]) -> int:
    """How many combinations of the items make the formula true, tried one by one."""
    picture, system = view.picture, view.picture.system
    normal = {name: variable.normal for name, variable in system.variables.items()}
    held = {(delay.variable, "held"): 1 for delay in system.delays}
    true = 0
    for chosen in product(*(range(size) for size in items.values())):
        state = normal | dict(zip(items, chosen, strict=True))
        known = held | _levels(view, state)
        values = Valuation(picture.graph, 1, 0, _flip, partial(_has, state), known)
        true += values.of(formula)
    return true


def _levels(view: View, state: dict[str, int]) -> dict[Key, int]:
    """The supplies at which the answer stops, at the levels that the combination gives them."""
    known: dict[Key, int] = {}
    for name, supply in view.supplies.items():
        level = state.get(name, 0)
        known |= {(name, f"at least {k}"): int(level >= k) for k in range(1, len(supply.levels))}
        known[name, "live"] = int(level >= 1)
    return known


def _has(state: dict[str, int], lit: Lit) -> int:
    return int(state[lit.variable] in lit.values)


def _flip(bit: int) -> int:
    return 1 - bit


def _pairs(book: Book, picture: Picture) -> Row:
    tellback.losses(book, DEEP, start=START, order=2)
    asked, found = timed(lambda: tellback.losses(book, DEEP, start=START, order=2))
    tried, (runs, sets) = timed(lambda: _losing(picture, picture.formula(understand(book, DEEP))))
    mine = {frozenset((f.thing, f.mode) for f in chosen) for chosen in found.sets}
    if mine != sets:
        raise SystemExit(f"all pairs of failures disagree with the losses of {DEEP}")
    what = f"all single and double failures run in time, against `losses` of `{DEEP}` to order 2"
    note = f"{runs:,} runs, {len(sets)} sets; {times_as_long(tried, asked)} of {seconds(asked)}"
    return Row(what, seconds(tried), note=note)


def _losing(picture: Picture, formula: Formula) -> tuple[int, set[frozenset[tuple[str, str]]]]:
    """The minimal sets of at most two failures after which the formula does not hold."""
    aeroplane = picture.aeroplane
    start = picture.starts[START]
    failures = [v for v in picture.system.variables.values() if v.kind == "failure"]
    modes = [(v.name, i) for v in failures for i in range(1, len(v.values))]
    runs, losing = 0, list[set[tuple[str, int]]]()
    for chosen in (*((m,) for m in modes), *combinations(modes, 2)):
        two_ways_at_once = len(dict(chosen)) < len(chosen)
        if two_ways_at_once or any(smaller <= set(chosen) for smaller in losing):
            continue
        runs += 1
        after = aeroplane.settle(aeroplane.move(start, dict(chosen)))
        if not aeroplane.holds(formula, after.state):
            losing.append(set(chosen))
    variables = picture.system.variables
    return runs, {
        frozenset((variables[n].thing, variables[n].values[i]) for n, i in s) for s in losing
    }
