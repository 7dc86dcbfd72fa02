"""What a way may speak of: the items nearest to X as seen, or all the way to the root.

`seen_items` goes back from X through means, units, indications, following readings and the feeds
of X, and stops at controls, situations, readings that are items, supplies, surfaces, latches and
delays; the failures of what it went through count. `root_items` goes on through supplies to all
the inputs and memories on which X depends at that instant. Both leave out the thing of which X
asks itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from tellback.book import conditions as c
from tellback.book.model import (
    Indication,
    Reading,
    Statement,
    Supply,
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
from tests.oracle.meaning import delay_item
from tests.oracle.values import values


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


def root_items(frame: Frame, condition: c.Condition) -> Answerable:
    """The inputs and memories on which the condition depends."""
    return answerable(frame, condition, Back(frame, to_root=True))


def seen_items(frame: Frame, condition: c.Condition) -> Answerable:
    """The items nearest to the condition."""
    return answerable(frame, condition, Back(frame, to_root=False))


def answerable(frame: Frame, condition: c.Condition, back: Back) -> Answerable:
    """What going back from the condition finds, but for the thing of which it asks."""
    asked = asked_of(condition)
    if asked in frame.items:
        back.within(frame.things[asked])
    else:
        back.condition(condition, NOBODY)
        if asked:
            back.within(frame.things[asked])
    domains = {
        item: frame.items[item] if item in frame.items else levels(frame, item)
        for item in back.found
        if item != asked
    }
    return Answerable({item: domain for item, domain in domains.items() if len(domain) > 1})


def asked_of(condition: c.Condition) -> str:
    """The thing whose state is asked for; empty if it is more than one, or whether it moves."""
    match condition:
        case c.State(_, "moving"):
            return ""
        case c.State(name) | c.FedBy(name) | c.Between(name):
            return name
        case c.Not(part):
            return asked_of(part)
    return ""


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
    found: dict[str, None] = field(default_factory=dict)
    passed: set[str] = field(default_factory=set)

    def condition(self, condition: c.Condition, owner: Owner) -> None:
        """Add the items behind a condition."""
        match condition:
            case c.Held():
                self.found[delay_item(self.frame, delay_of(condition, owner))] = None
            case c.State(name, "failed"):
                self.failure(self.frame.things[name])
            case c.FedBy(name) | c.State(name, "paralleled" | "otherwise lost"):
                self.within(self.frame.things[name])
            case c.State(name, "moving"):
                self.within(self.frame.things[name])
                self.found[name] = None
            case c.State(name) | c.Compare(name) | c.Between(name):
                self.thing(self.frame.things[name])
            case c.All(parts) | c.Any(parts) | c.AtLeast(_, parts):
                for part in parts:
                    self.condition(part, owner)
            case c.Not(part):
                self.condition(part, owner)

    def failure(self, thing: Thing) -> None:
        """Add the failure of a thing that can fail."""
        if thing.fails:
            self.found[failure_of(thing.name)] = None

    def thing(self, thing: Thing) -> None:
        """Stop at the thing, or go on through it."""
        if isinstance(thing, Reading) and thing.name in self.frame.items:
            self.failure(thing)
        if thing.name in self.frame.items or (isinstance(thing, Supply) and not self.to_root):
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
