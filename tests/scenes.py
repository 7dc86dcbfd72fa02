"""From where twins are asked the same, and how the words of an answer read in both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hypothesis import strategies as st

from tellback.book.model import Reading, Supply
from tellback.logic.items import Item
from tellback.logic.primes import Cube
from tellback.logic.system import Variable
from tellback.logic.words import literal_text, range_text
from tests.oracle.changes import may_happen
from tests.oracle.frame import Value, failure_of
from tests.oracle.steps import is_impossible, moves
from tests.oracle.timed import Moment, happens, settled, starting_moments
from tests.twins import Twins


@dataclass(frozen=True)
class Scene:
    """A starting state with changes: by name and text for the program, settled for the oracle."""

    start: str
    changes: tuple[str, ...]
    moment: Moment


def drawn_scene(data: st.DataObject, twins: Twins) -> Scene:
    """A starting state, perhaps after one input moved, if that leads to nothing impossible."""
    frame = twins.frame
    start, moment = data.draw(st.sampled_from(list(starting_moments(frame).items())))
    event = data.draw(st.sampled_from([None, *moves(frame, moment.state)]))
    if event is None or not may_happen(frame, moment, frozenset({(event.item, event.value)})):
        return Scene(start, (), moment)
    after = settled(frame, happens(frame, moment, {event.item: event.value}))
    if is_impossible(frame, after.state):
        return Scene(start, (), moment)
    return Scene(start, (setting(twins, event.item, event.value),), after)


def setting(twins: Twins, item: str, value: Value) -> str:
    """An input of the oracle with its value as text: `left pump: stops`."""
    thing = twins.frame.things.get(item)
    name = item if thing is not None else item.removeprefix(failure_of(""))
    return f"{name}: {value:g}" if isinstance(thing, Reading) else f"{name}: {value}"


def in_words(twins: Twins, name: str, value: Value) -> str:
    """What is seen of a thing, as the program says it."""
    thing = twins.frame.things[name]
    if isinstance(thing, Supply) and value == "normal" and len(thing.levels) == 2:
        return "live"
    if isinstance(value, str):
        return f"in transit {value}" if value.startswith("between ") else value
    assert isinstance(thing, Reading)
    if thing.follows:
        return f"{value:g} {thing.unit}"
    regions = twins.picture.system.regions[name]
    return range_text(regions, [regions.index(value)])


def cube_of(twins: Twins, items: Sequence[Item]) -> Cube:
    """The items of an answer as a cube of the program's variables."""
    return dict(literal_of(twins, item) for item in items)


def literal_of(twins: Twins, item: Item) -> tuple[str, frozenset[int]]:
    """The variable and the values that an item speaks of."""
    system = twins.picture.system
    if item.kind == "supply":
        supply = twins.frame.things[item.thing]
        assert isinstance(supply, Supply)
        return item.thing, frozenset(map(supply.levels.index, item.states))
    for name, variable in system.variables.items():
        if (variable.thing, variable.kind) == (item.thing, item.kind):
            if variable.kind not in ("reading", "number"):
                return name, frozenset(map(variable.values.index, item.states))
            for run in runs(variable):
                if literal_text(system, name, run) == item.text:
                    return name, run
    raise AssertionError(f"no variable for {item}")


def runs(variable: Variable) -> list[frozenset[int]]:
    """Every unbroken run of the values of a variable."""
    count = len(variable.values)
    return [frozenset(range(i, j)) for i in range(count) for j in range(i + 1, count + 1)]
