"""What a way may speak of: the items nearest to X as seen, or all the way to the root.

As seen, going back from X stops at controls, situations, readings that are items, supplies that X
does not name, surfaces, latches and delays; the failures of what it goes through count. To the
root it goes on through supplies. Of all that is found only those items are kept on which X
depends: with the items taken freely, one of them alone can change X.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from math import prod

from tellback.book import conditions as c
from tellback.book.model import (
    Indication,
    Reading,
    Statement,
    Supply,
    Surface,
    Thing,
)
from tests.oracle.frame import (
    NOBODY,
    Frame,
    Owner,
    State,
    Value,
    cancelled,
    delay_of,
    failure_of,
    plain_statements,
)
from tests.oracle.meaning import FREELY, Items, Test, condition_test, delay_item
from tests.oracle.values import values, well_founded

MOST_COMBINATIONS = 20_000


class TooManyItems(Exception):
    """The items of an answer have more combinations than the oracle is allowed to look at."""


@dataclass(frozen=True)
class Answerable:
    """The items of an answer with their values in order."""

    domains: dict[str, tuple[Value, ...]]

    def of(self, frame: Frame, state: State) -> tuple[Value, ...]:
        """The values of the items in a state; of a supply its level."""
        items = frame.named(state)
        return tuple(
            items[item] if item in items else level_of(frame, state, item) for item in self.domains
        )


def level_of(frame: Frame, state: State, name: str) -> str:
    """The level of a supply."""
    supply = frame.things[name]
    assert isinstance(supply, Supply)
    true = values(frame, state)
    return supply.levels[sum(("level", name, k) in true for k in range(1, len(supply.levels)))]


def root_items(frame: Frame, condition: c.Condition, owner: Owner = NOBODY) -> Answerable:
    """The inputs and memories on which the condition depends."""
    return answerable(frame, condition, owner, Back(frame, to_root=True))


def seen_items(
    frame: Frame, condition: c.Condition, asked: c.Condition, owner: Owner = NOBODY
) -> Answerable:
    """The items nearest to the condition, which is all or part of what is asked."""
    apart = {name for name in c.things(asked) if isinstance(frame.things[name], Supply)}
    return answerable(frame, condition, owner, Back(frame, to_root=False, apart=apart))


def answerable(frame: Frame, condition: c.Condition, owner: Owner, back: Back) -> Answerable:
    """What going back from the condition finds and what matters to it."""
    back.condition(condition, owner)
    domains = {
        item: frame.items[item] if item in frame.items else levels(frame, item)
        for item in back.found
    }
    free = {item: domain for item, domain in domains.items() if len(domain) > 1}
    matter = what_matters(frame, condition_test(frame, condition, owner), free)
    return Answerable({item: domain for item, domain in free.items() if item in matter})


def what_matters(frame: Frame, test: Test, free: dict[str, tuple[Value, ...]]) -> set[str]:
    """The items of which one alone can change the outcome of the test, all being free."""
    if (size := prod(map(len, free.values()))) > MOST_COMBINATIONS:
        raise TooManyItems(f"{size:,} combinations of {list(free)}")
    truth = {chosen: passes_freely(frame, test, free, chosen) for chosen in product(*free.values())}
    return matter_in(free, truth)


def matter_in(free: dict[str, tuple[Value, ...]], truth: dict[tuple[Value, ...], bool]) -> set[str]:
    """The items of which one alone can change the truth."""
    matter: set[str] = set()
    for index, item in enumerate(free):
        by_the_others: dict[tuple[Value, ...], set[bool]] = {}
        for chosen, true in truth.items():
            others = (*chosen[:index], *chosen[index + 1 :])
            by_the_others.setdefault(others, set()).add(true)
        if any(len(both) > 1 for both in by_the_others.values()):
            matter.add(item)
    return matter


def passes_freely(
    frame: Frame, test: Test, free: dict[str, tuple[Value, ...]], chosen: tuple[Value, ...]
) -> bool:
    """Whether the test passes if the items have these values, whatever the book says."""
    given = dict(zip(free, chosen, strict=True))
    items: Items = {item: given.get(item, domain[0]) for item, domain in frame.items.items()}
    items[FREELY] = {
        name: levels(frame, name).index(str(level))
        for name, level in given.items()
        if name not in frame.items
    }
    true, _ = well_founded(frame, items)
    return test(items, true, true)


def levels(frame: Frame, name: str) -> tuple[str, ...]:
    """The levels of a supply."""
    supply = frame.things[name]
    assert isinstance(supply, Supply)
    return supply.levels


@dataclass
class Back:
    """Goes back from a condition, gathering the items found in order."""

    frame: Frame
    to_root: bool
    apart: set[str] = field(default_factory=set)
    found: dict[str, None] = field(default_factory=dict)
    passed: set[str] = field(default_factory=set)
    reached: set[str] = field(default_factory=set)

    def condition(self, condition: c.Condition, owner: Owner) -> None:
        """Add the items behind a condition."""
        match condition:
            case c.Held():
                self.found[delay_item(self.frame, delay_of(condition, owner))] = None
            case c.State(name, "failed"):
                self.failure(self.frame.things[name])
            case c.FedBy(name) | c.State(name, "otherwise lost"):
                self.thing(self.frame.things[name])
                self.within(self.frame.things[name])
            case c.State(name, "paralleled"):
                self.thing(self.frame.things[name])
                self.reaching(self.frame.things[name])
            case c.State(name, "moving"):
                self.within(self.frame.things[name])
                self.found[name] = None
                self.sent_by(self.frame.things[name])
            case c.State(name) | c.Compare(name) | c.Between(name):
                self.thing(self.frame.things[name])
            case c.All(parts) | c.Any(parts) | c.AtLeast(_, parts):
                for part in parts:
                    self.condition(part, owner)
            case c.Not(part):
                self.condition(part, owner)

    def sent_by(self, thing: Thing) -> None:
        """Add the controls whose positions say where a surface is sent."""
        assert isinstance(thing, Surface)
        for drive in thing.drives:
            if drive.to_control:
                self.thing(self.frame.things[drive.to_control])

    def reaching(self, thing: Thing) -> None:
        """Go on through a supply and all those from which a unit may reach it."""
        if isinstance(thing, Supply) and thing.name not in self.reached:
            self.reached.add(thing.name)
            self.within(thing)
            for feed in thing.feeds:
                self.reaching(self.frame.things[feed.source])

    def failure(self, thing: Thing) -> None:
        """Add the failure of a thing that can fail."""
        if thing.fails:
            self.found[failure_of(thing.name)] = None

    def thing(self, thing: Thing) -> None:
        """Stop at the thing, or go on through it."""
        if isinstance(thing, Reading) and thing.name in self.frame.items:
            self.failure(thing)
        is_stop = isinstance(thing, Supply) and not self.to_root and thing.name not in self.apart
        if thing.name in self.frame.items or is_stop:
            self.found[thing.name] = None
        else:
            self.within(thing)

    def within(self, thing: Thing) -> None:
        """Go on through the thing: its failure, its memory and all that it states."""
        if thing.name in self.passed:
            return
        self.passed.add(thing.name)
        self.failure(thing)
        if isinstance(thing, Indication) and thing.resets:
            self.found[cancelled(thing.name)] = None
        for statement in instant_statements(thing):
            self.condition(statement.condition, Owner(thing.name))
        if isinstance(thing, Supply):
            for condition, owner in feed_conditions(self.frame, thing):
                self.condition(condition, owner)


def instant_statements(thing: Thing) -> tuple[Statement, ...]:
    """The statements that count at once: what only changes a memory is told by the memory."""
    if isinstance(thing, Indication):
        return (*thing.ways, *thing.inhibits, *thing.needs)
    return plain_statements(thing)


def feed_conditions(frame: Frame, supply: Supply) -> Iterator[tuple[c.Condition, Owner]]:
    """What the feeds of a supply ask for, and what the choice of a source that feeds one asks."""
    for number, feed in enumerate(supply.feeds):
        owner = Owner(supply.name, number)
        source = frame.things[feed.source]
        word = "live" if isinstance(source, Supply) else "running"
        yield c.State(feed.source, word), owner
        for statement in feed.through:
            yield statement.condition, owner
        if feed.when is not None:
            yield feed.when.condition, owner
        chosen = getattr(source, "feeds_one", ())
        if supply.name in chosen:
            for other in chosen[: chosen.index(supply.name) + 1]:
                yield c.State(other, "otherwise lost"), owner
