"""All values of a state, by naive iteration: the rule of each atom, and the well-founded model.

`rules` writes docs/meaning.md, "Values", down as one test for each atom. `values` computes the
atoms that are true by alternating least fixed points; an atom left undecided is an error.
"""

from __future__ import annotations

from typing import Any as Anything

from tellback.book import conditions as c
from tellback.book.model import Indication, Means, Supply, Unit
from tests.oracle.frame import NOBODY, OK, Frame, Owner, State, failure_of
from tests.oracle.meaning import (
    FREELY,
    Atom,
    Atoms,
    Items,
    Test,
    atom,
    condition_test,
    denial,
    every,
    item_is,
    otherwise_lost,
    reset_item,
    some,
    statements_test,
)


class Undecided(Exception):
    """A state leaves values undecided: `atoms` are neither true nor false."""

    def __init__(self, items: Items, atoms: frozenset[Atom]) -> None:
        super().__init__(f"undecided {sorted(map(str, atoms))} in {items}")
        self.items, self.atoms = items, atoms


class FeederCircle(Exception):
    """In a state supplies are fed in a circle."""


def rules(frame: Frame) -> dict[Atom, Test]:
    """For each atom what must hold for it."""
    if "rules" not in frame.cache:
        result: dict[Atom, Test] = {}
        for means in frame.of(Means):
            test = statements_test(frame, some, means.ways, Owner(means.name))
            result["yes", means.name] = test
        for unit in frame.of(Unit):
            result |= unit_rules(frame, unit)
        for supply in frame.of(Supply):
            result |= supply_rules(frame, supply)
        for indication in frame.of(Indication):
            result |= indication_rules(frame, indication)
        frame.cache["rules"] = result
    found: dict[Atom, Test] = frame.cache["rules"]
    return found


def unit_rules(frame: Frame, unit: Unit) -> dict[Atom, Test]:
    """Enabled, available and running."""
    owner, name = Owner(unit.name), unit.name
    needs = statements_test(frame, every, unit.needs, owner)
    shed = statements_test(frame, some, unit.shed, owner)
    way = statements_test(frame, some, unit.ways, owner) if unit.ways else every([])
    good = item_is(failure_of(name), OK) if unit.fails else every([])
    forced_on = "stuck open" if "valve" in unit.form else "stuck closed"
    keeps = failed(unit, "keeps running")
    return {
        ("enabled", name): every([needs, denial(shed)]),
        ("available", name): every([atom("enabled", name), good]),
        ("running", name): some(
            [
                every([atom("available", name), way]),
                every([atom("enabled", name), keeps]),
                failed(unit, forced_on),
            ]
        ),
    }


def failed(thing: Anything, mode: str) -> Test:
    """The thing has this failure."""
    return item_is(failure_of(thing.name), mode) if mode in thing.fails else some([])


def supply_rules(frame: Frame, supply: Supply) -> dict[Atom, Test]:
    """Which rows deliver which level, the level reached, who reaches it, and paralleled."""
    result: dict[Atom, Test] = {}
    name, owner = supply.name, Owner(supply.name)
    shed = statements_test(frame, some, supply.shed, owner)
    kept = every([denial(shed), denial(failed(supply, "lost"))])
    for level in range(1, len(supply.levels)):
        for number in range(len(supply.feeds)):
            result["delivers", name, number, level] = delivers(frame, supply, number, level)
        rows = [atom("delivers", name, number, level) for number in range(len(supply.feeds))]
        result["level", name, level] = unless_given(name, level, every([kept, some(rows)]))
    units = [unit.name for unit in frame.of(Unit)]
    for unit in units:
        result["reaches", unit, name] = reaches(frame, supply, unit)
    here = [every([atom("reaches", unit, name), atom("running", unit)]) for unit in units]
    result["paralleled", name] = lambda items, plain, denied: (
        sum(test(items, plain, denied) for test in here) >= 2
    )
    return result


def unless_given(supply: str, level: int, test: Test) -> Test:
    """The test, unless the items say outright which level the supply has."""

    def given_or_tested(items: Items, plain: Atoms, denied: Atoms) -> bool:
        given = items.get(FREELY, {})
        return given[supply] >= level if supply in given else test(items, plain, denied)

    return given_or_tested


def delivers(frame: Frame, supply: Supply, number: int, level: int) -> Test:
    """The row delivers this level or a higher one."""
    feed = supply.feeds[number]
    if supply.levels.index(feed.level) < level:
        return some([])
    source = frame.things[feed.source]
    ready = row_ready(frame, supply, number, level)
    if isinstance(source, Unit) and source.feeds_one:
        return every([ready, chosen(frame, source, supply)])
    return ready


def row_ready(frame: Frame, supply: Supply, number: int, level: int = 1) -> Test:
    """The row would deliver the level, apart from the choice of a source that feeds one."""
    feed = supply.feeds[number]
    owner = Owner(supply.name, number)
    path = statements_test(frame, every, feed.through, owner)
    when = every([]) if feed.when is None else condition_test(frame, feed.when.condition, owner)
    return every([source_on(frame, supply, feed.source, level), path, when])


def source_on(frame: Frame, supply: Supply, source: str, level: int) -> Test:
    """The unit runs, or the supply is live (and as high, if its levels have the same words)."""
    thing = frame.things[source]
    if isinstance(thing, Supply):
        return atom("level", source, level if thing.levels == supply.levels else 1)
    return atom("running", source)


def chosen(frame: Frame, unit: Unit, supply: Supply) -> Test:
    """The supply is the first of those that the unit may feed to call."""
    if supply.name not in unit.feeds_one:
        return some([])
    before = unit.feeds_one[: unit.feeds_one.index(supply.name)]
    return every(
        [calls(frame, unit, supply.name), denial(some([calls(frame, unit, b) for b in before]))]
    )


def calls(frame: Frame, unit: Unit, supply: str) -> Test:
    """A row of the supply from the unit would deliver, and no row before it does."""
    thing = frame.things[supply]
    assert isinstance(thing, Supply)
    return some(
        [
            every([row_ready(frame, thing, number), otherwise_lost(thing, number)])
            for number, feed in enumerate(thing.feeds)
            if feed.source == unit.name
        ]
    )


def reaches(frame: Frame, supply: Supply, unit: str) -> Test:
    """A delivering row comes from the unit, or from a supply that the unit reaches."""
    tests = []
    for number, feed in enumerate(supply.feeds):
        row = atom("delivers", supply.name, number, 1)
        if feed.source == unit:
            tests.append(row)
        elif isinstance(frame.things[feed.source], Supply):
            tests.append(every([row, atom("reaches", unit, feed.source)]))
    return some(tests)


def indication_rules(frame: Frame, indication: Indication) -> dict[Atom, Test]:
    """On, and shown."""
    owner, name = Owner(indication.name), indication.name
    gauge = bool(indication.shows) and not indication.ways
    on = every([]) if gauge else statements_test(frame, some, indication.ways, owner)
    needs = statements_test(frame, every, indication.needs, owner)
    inhibited = statements_test(frame, some, indication.inhibits, owner)
    gone = reset_item(name) if indication.resets else some([])
    hidden = some([inhibited, gone, failed(indication, "not shown")])
    shown = every([needs, atom("on", name), denial(hidden)])
    return {("on", name): on, ("shown", name): some([failed(indication, "shown"), shown])}


def values(frame: Frame, state: State) -> frozenset[Atom]:
    """The atoms that are true in the state. Raises Undecided."""
    true, possible = known_values(frame, state)
    if possible - true:
        raise Undecided(frame.named(state), possible - true)
    return true


def sure_values(frame: Frame, state: State) -> frozenset[Atom]:
    """The atoms that are surely true in the state: what is undecided counts as not so."""
    return known_values(frame, state)[0]


def known_values(frame: Frame, state: State) -> tuple[frozenset[Atom], frozenset[Atom]]:
    """The atoms that are true in the state, and those that are not false."""
    key = ("values", state)
    if key not in frame.cache:
        frame.cache[key] = well_founded(frame, frame.named(state))
    found: tuple[frozenset[Atom], frozenset[Atom]] = frame.cache[key]
    return found


def well_founded(frame: Frame, items: Items) -> tuple[frozenset[Atom], frozenset[Atom]]:
    """The atoms that are true, and those that are not false, by alternating least fixed points."""
    true: frozenset[Atom] = frozenset()
    while True:
        possible = least(frame, items, true)
        grown = least(frame, items, possible)
        if grown == true:
            return true, possible
        true = grown


def least(frame: Frame, items: Items, denied: Atoms) -> frozenset[Atom]:
    """The least set of atoms closed under the rules, with `denied` what counts under a `not`."""
    found: set[Atom] = set()
    size = -1
    while size != len(found):
        size = len(found)
        for name, rule in rules(frame).items():
            if name not in found and rule(items, found, denied):
                found.add(name)
    return frozenset(found)


def holds(
    frame: Frame,
    state: State,
    condition: c.Condition,
    owner: Owner = NOBODY,
    edges: Anything = (),
) -> bool:
    """Whether the condition holds in the state; `edges` are those that have just come."""
    true = sure_values(frame, state)
    return passes(frame, state, condition_test(frame, condition, owner), true, edges)


def passes(
    frame: Frame, state: State, test: Test, true: Atoms | None = None, edges: Anything = ()
) -> bool:
    """Whether a test passes in the state."""
    true = sure_values(frame, state) if true is None else true
    items: Items = dict(frame.named(state))
    items["edges"] = edges
    return test(items, true, true)


def feeders(frame: Frame, state: State) -> dict[str, str]:
    """The feeder of each live supply. Raises FeederCircle."""
    result = fed_from(frame, state)
    for start in result:
        follow_back(result, start)
    return result


def fed_from(frame: Frame, state: State) -> dict[str, str]:
    """The source of the first row that delivers, of each live supply."""
    true = values(frame, state)
    result: dict[str, str] = {}
    for supply in frame.of(Supply):
        for number, feed in enumerate(supply.feeds):
            live = ("level", supply.name, 1) in true
            if live and ("delivers", supply.name, number, 1) in true:
                result[supply.name] = feed.source
                break
    return result


def follow_back(found: dict[str, str], start: str) -> None:
    """Raise FeederCircle if going from feeder to feeder leads back to the start."""
    name, steps = found.get(start), 0
    while name in found and steps <= len(found):
        if name == start:
            raise FeederCircle(f"{start} is fed by itself: {found}")
        name, steps = found[name], steps + 1
