"""What a condition says in a state, given which atoms may count as true.

An atom is a tuple such as `("running", "left pump")`. A condition is a test of a state, of the
atoms that count where they are asked for plainly (`plain`), and of those that count under a `not`
(`denied`): `not` changes the two over. With both the same set the reading is the ordinary one.
"""

from __future__ import annotations

from collections.abc import Callable, Set
from typing import Any as Anything

from tellback.book import conditions as c
from tellback.book.model import (
    Control,
    Drive,
    Indication,
    Latch,
    Means,
    Reading,
    Row,
    Situation,
    Statement,
    Supply,
    Surface,
    Unit,
)
from tests.oracle.frame import (
    NOBODY,
    OK,
    Delay,
    Frame,
    Owner,
    cancelled,
    delay_of,
    failure_of,
    places,
    within,
)

Atom = tuple[Anything, ...]
Atoms = Set[Atom]
Items = dict[str, Anything]
Test = Callable[[Items, Atoms, Atoms], bool]

FREELY = "levels given freely"
"""Among the items: the levels of supplies that are given outright, not worked out."""


def condition_test(frame: Frame, condition: c.Condition, owner: Owner = NOBODY) -> Test:
    """The test that a condition stands for, in the mouth of its owner."""
    key = ("test", condition, owner)
    if key not in frame.cache:
        frame.cache[key] = made_test(frame, condition, owner)
    test: Test = frame.cache[key]
    return test


def made_test(frame: Frame, condition: c.Condition, owner: Owner) -> Test:
    """The test, from the tests of the parts."""
    match condition:
        case c.All(parts):
            return every([condition_test(frame, part, owner) for part in parts])
        case c.Any(parts):
            return some([condition_test(frame, part, owner) for part in parts])
        case c.AtLeast(count, parts):
            return several(count, [condition_test(frame, part, owner) for part in parts])
        case c.Not(part):
            return denial(condition_test(frame, part, owner))
        case c.State(name, state):
            return state_test(frame, name, state, owner)
        case c.FedBy(supply, source):
            rows = frame.things[supply].feeds  # type: ignore[attr-defined]
            return some(
                [feeder_test(supply, i) for i, row in enumerate(rows) if row.source == source]
            )
        case c.Compare():
            return compare_test(frame, condition)
        case c.Between():
            return between_test(frame, condition)
        case c.Held(part, _):
            held, item = (
                condition_test(frame, part, owner),
                delay_item(frame, delay_of(condition, owner)),
            )
            return held_test(item, held)
        case c.Edge():
            return lambda items, plain, denied: (condition, owner) in items.get("edges", ())
    raise TypeError(condition)


def held_test(item: str, part: Test) -> Test:
    """The delay has elapsed and its condition still holds; items taken freely need not fit so."""

    def test(items: Items, plain: Atoms, denied: Atoms) -> bool:
        return items[item] == "yes" and (FREELY in items or part(items, plain, denied))

    return test


def every(tests: list[Test]) -> Test:
    """All of the tests."""
    return lambda items, plain, denied: all(test(items, plain, denied) for test in tests)


def some(tests: list[Test]) -> Test:
    """At least one of the tests."""
    return lambda items, plain, denied: any(test(items, plain, denied) for test in tests)


def several(count: int, tests: list[Test]) -> Test:
    """At least so many of the tests."""
    return lambda items, plain, denied: sum(t(items, plain, denied) for t in tests) >= count


def denial(test: Test) -> Test:
    """Not the test: the two sets of atoms change places."""
    return lambda items, plain, denied: not test(items, denied, plain)


def atom(*name: Anything) -> Test:
    """The atom itself."""
    return lambda items, plain, denied: name in plain


def item_is(item: str, *values: Anything) -> Test:
    """The item has one of the values."""
    return lambda items, plain, denied: items[item] in values


def statements_test(
    frame: Frame,
    kind: Callable[[list[Test]], Test],
    statements: tuple[Statement, ...],
    owner: Owner,
) -> Test:
    """`every` or `some` of the statements."""
    return kind([condition_test(frame, statement.condition, owner) for statement in statements])


def delay_item(frame: Frame, delay: Delay) -> str:
    """The memory of a delay."""
    return next(item for item, known in frame.delays.items() if known == delay)


def state_test(frame: Frame, name: str, state: str, owner: Owner) -> Test:
    """A thing in a state, in the words of `conditions.State`."""
    thing = frame.things[name]
    if state == "failed":
        return denial(item_is(failure_of(name), OK)) if thing.fails else some([])
    match thing:
        case Control():
            return item_is(name, position(state))
        case Situation():
            return item_is(name, "yes")
        case Latch():
            return item_is(name, "set")
        case Means() | Unit() | Indication():
            return atom(state, name)
        case Surface():
            return (
                moving_test(frame, thing) if state == "moving" else item_is(name, position(state))
            )
        case Supply():
            return supply_test(frame, thing, state, owner)
    raise TypeError(f"{name} {state}")


def position(state: str) -> str:
    """The position in `at P`."""
    assert state.startswith("at "), state
    return state[3:]


def supply_test(frame: Frame, supply: Supply, state: str, owner: Owner) -> Test:
    """A state of a supply."""
    if state == "live":
        return atom("level", supply.name, 1)
    if state == "paralleled":
        return atom("paralleled", supply.name)
    if state == "otherwise lost":
        return otherwise_lost(supply, row_meant(supply, owner))
    level = supply.levels.index(position(state))
    return every([at_least(supply, level), denial(at_least(supply, level + 1))])


def at_least(supply: Supply, level: int) -> Test:
    """The supply has this level or a higher one."""
    if level == 0:
        return every([])
    return some([]) if level >= len(supply.levels) else atom("level", supply.name, level)


def otherwise_lost(supply: Supply, row: int) -> Test:
    """No row before this one delivers."""
    return denial(some([atom("delivers", supply.name, i, 1) for i in range(row)]))


def row_meant(supply: Supply, owner: Owner) -> int:
    """The row of the supply that the owner feeds; behind all rows if it feeds none."""
    if owner.name == supply.name and owner.row is not None:
        return owner.row
    for number, feed in enumerate(supply.feeds):
        path = {name for statement in feed.through for name in c.things(statement.condition)}
        if owner.name == feed.source or owner.name in path:
            return number
    return len(supply.feeds)


def feeder_test(supply: str, row: int) -> Test:
    """This row is the feeder: it delivers, none before it does, and the supply is live."""
    earlier = some([atom("delivers", supply, i, 1) for i in range(row)])
    return every([atom("level", supply, 1), atom("delivers", supply, row, 1), denial(earlier)])


def between_test(frame: Frame, node: c.Between) -> Test:
    """A surface's place or a supply's level in a range."""
    thing = frame.things[node.thing]
    if isinstance(thing, Surface):
        order = places(thing)
        low, high = ends(order, node)
        return item_is(node.thing, *order[low : high + 1])
    assert isinstance(thing, Supply)
    low, high = ends(thing.levels, node)
    return every([at_least(thing, low), denial(at_least(thing, high + 1))])


def ends(order: tuple[str, ...], node: c.Between) -> tuple[int, int]:
    """The first and last index in the range."""
    low = 0 if node.low is None else order.index(node.low) + (not node.low_included)
    high = len(order) - 1 if node.high is None else order.index(node.high)
    return low, high - (node.high is not None and not node.high_included)


def compare_test(frame: Frame, node: c.Compare) -> Test:
    """A reading in a range: the indicated value, unless the true one is asked for."""
    reading = frame.things[node.reading]
    assert isinstance(reading, Reading)
    true = followed_test(frame, reading, node) if reading.follows else number_test(node)
    if node.true or not reading.fails:
        return true
    failure = failure_of(reading.name)
    false_tests = [
        every([item_is(failure, mode), constant(within(number_read(mode), node))])
        for mode in reading.fails
    ]
    return some([every([item_is(failure, OK), true]), *false_tests])


def constant(truth: bool) -> Test:
    """Always or never."""
    return lambda items, plain, denied: truth


def number_test(node: c.Compare) -> Test:
    """A reading that is an item lies in the range."""
    return lambda items, plain, denied: within(items[node.reading], node)


def number_read(mode: str) -> float:
    """The number in the failure `reads N`."""
    return float(mode.removeprefix("reads").split()[0])


def followed_test(frame: Frame, reading: Reading, node: c.Compare) -> Test:
    """The value of the first row that applies lies in the range; the low end if none applies."""
    tests = [
        every(
            [row_first(frame, reading.name, reading.follows, i), constant(within(row.value, node))]
        )
        for i, row in enumerate(reading.follows)
    ]
    nothing = denial(some([row_test(frame, reading.name, row) for row in reading.follows]))
    return some([*tests, every([nothing, constant(within(reading.low, node))])])


def row_test(frame: Frame, reading: str, row: Row) -> Test:
    """The row applies."""
    return (
        every([]) if row.when is None else condition_test(frame, row.when.condition, Owner(reading))
    )


def row_first(frame: Frame, reading: str, rows: tuple[Row, ...], number: int) -> Test:
    """The row is the first that applies."""
    tests = [row_test(frame, reading, row) for row in rows[: number + 1]]
    return every([tests[-1], denial(some(tests[:-1]))])


def acts(frame: Frame, surface: Surface, number: int) -> Test:
    """The drive is the first that applies, and the surface is not stuck."""
    tests = [applies(frame, surface, drive) for drive in surface.drives[: number + 1]]
    free = item_is(failure_of(surface.name), OK) if surface.fails else every([])
    return every([free, tests[-1], denial(some(tests[:-1]))])


def applies(frame: Frame, surface: Surface, drive: Drive) -> Test:
    """The condition and the needs of a drive hold, and it may go where it would."""
    owner = Owner(surface.name)
    when = every([]) if drive.when is None else condition_test(frame, drive.when.condition, owner)
    needs = statements_test(frame, every, drive.needs, owner)
    toward = every([]) if not drive.only_toward else toward_test(surface, drive)
    return every([when, needs, toward])


def toward_test(surface: Surface, drive: Drive) -> Test:
    """The target lies toward the point named, from where the surface is, or is where it is."""
    order = places(surface)
    point = order.index(drive.only_toward)

    def test(items: Items, plain: Atoms, denied: Atoms) -> bool:
        here, target = order.index(items[surface.name]), order.index(target_of(drive, items))
        return target == here or (target - here) * (point - here) > 0

    return test


def target_of(drive: Drive, items: Items) -> str:
    """Where the drive moves the surface."""
    target: str = items[drive.to_control] if drive.to_control else drive.to
    return target


def moving_test(frame: Frame, surface: Surface) -> Test:
    """A drive acts whose target is not where the surface is."""
    return some(
        [
            every([acts(frame, surface, number), elsewhere(surface, drive)])
            for number, drive in enumerate(surface.drives)
        ]
    )


def elsewhere(surface: Surface, drive: Drive) -> Test:
    """The target of the drive is not where the surface is."""
    return lambda items, plain, denied: target_of(drive, items) != items[surface.name]


def reset_item(indication: str) -> Test:
    """The indication is cancelled."""
    return item_is(cancelled(indication), "yes")
