"""Whether a control stays where it was moved: what takes it away again, when and why."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, pairwise

from tellback.book.conditions import All, Any, Condition
from tellback.book.model import Control
from tellback.logic.facts import Change, Facts
from tellback.logic.picture import Picture
from tellback.logic.procedure import springs_to
from tellback.logic.run import Barred, Moment
from tellback.logic.space import Node, Space


@dataclass(frozen=True, slots=True)
class Drop:
    """A control goes to a position by itself after so many seconds.

    `because` is what the book states for it, as far as it was met; empty if that was not found.
    """

    seconds: float
    control: str
    position: str
    because: str
    source: str


@dataclass(frozen=True, slots=True)
class Hold:
    """What holds a control where it now is: it will go to the position `when` this comes."""

    control: str
    position: str
    when: str
    source: str


@dataclass(frozen=True, slots=True)
class Release:
    """A control held against its spring until all had settled, and then let go.

    It springs to the position, or a lock keeps it from that (`barred`). The seconds of the
    `changes` that follow count from the letting go.
    """

    seconds: float
    control: str
    position: str
    barred: bool
    changes: tuple[Change, ...]


def drops(picture: Picture, history: Sequence[Moment], name: str, place: int) -> tuple[Drop, ...]:
    """When a control, moved to a place at the first moment, went away by itself, and why."""
    thing = picture.book.thing(name)
    return tuple(_drops(picture, history, thing, place)) if isinstance(thing, Control) else ()


def _drops(
    picture: Picture, history: Sequence[Moment], control: Control, place: int
) -> Iterator[Drop]:
    for before, moment in pairwise(history):
        now = moment.state[control.name]
        if now != place:
            position = control.positions[now]
            states = ({**state, control.name: place} for state in _on_the_way(before, moment))
            met = chain.from_iterable(_met(picture, control, position, s) for s in states)
            told, source = next(met, ("", ""))
            yield Drop(moment.time - history[0].time, control.name, position, told, source)
        place = now


def _on_the_way(before: Moment, moment: Moment) -> Iterator[Mapping[str, int]]:
    """States in which what comes between two moments may be due: it may have ended its cause."""
    yield before.state
    arrived = {n: p.value for n, p in before.under_way.items() if p.due <= moment.time}
    yield {**before.state, **arrived}
    yield moment.state


def _met(
    picture: Picture, control: Control, position: str, state: Mapping[str, int]
) -> Iterator[tuple[str, str]]:
    """What sends the control there in a state, as far as it is met, and the sources."""

    def holds(condition: Condition) -> bool:
        return picture.aeroplane.holds(picture.formula(condition, control.name), state)

    for goes_to, statement in control.drops:
        if goes_to == position and holds(statement.condition):
            part = met_part(statement.condition, holds)
            yield picture.phrase(part), statement.source or control.source


def met_part(condition: Condition, holds: Callable[[Condition], bool]) -> Condition:
    """Of a condition that holds, without the alternatives that do not."""
    match condition:
        case Any(parts):
            return met_part(next(part for part in parts if holds(part)), holds)
        case All(parts):
            return All(tuple(met_part(part, holds) for part in parts))
    return condition


def holding(picture: Picture, name: str, place: int) -> tuple[Hold, ...]:
    """What would make a control go by itself from where it is."""
    thing = picture.book.thing(name)
    return tuple(_holds(picture, thing, place)) if isinstance(thing, Control) else ()


def _holds(picture: Picture, control: Control, place: int) -> Iterator[Hold]:
    space = picture.symbols.space

    def there(condition: Condition) -> Node:
        formula = picture.formula(condition, control.name)
        return space.assume(picture.symbols.of(formula), control.name, place)

    for position, statement in control.drops:
        if position != control.positions[place] and there(statement.condition) != space.false:
            rest = _open(statement.condition, there, space)
            source = statement.source or control.source
            yield Hold(control.name, position, picture.phrase(rest), source)


def _open(condition: Condition, there: Callable[[Condition], Node], space: Space) -> Condition:
    """What a condition leaves open: without what can never be there, and what is so anyway."""
    if not isinstance(condition, Any | All):
        return condition
    idle = space.false if isinstance(condition, Any) else space.true
    left = [_open(part, there, space) for part in condition.parts if there(part) != idle]
    return left[0] if len(left) == 1 else replace(condition, parts=tuple(left))


def release(facts: Facts, history: Sequence[Moment], name: str) -> Release | None:
    """What comes of letting a control go that springs from where it is; None if it stays."""
    picture, settled = facts.picture, history[-1]
    thing = picture.book.thing(name)
    if not isinstance(thing, Control):
        return None
    back = springs_to(picture, name, settled.state[name])
    if back is None:
        return None
    seconds, position = settled.time - history[0].time, thing.positions[back]
    runner = picture.aeroplane
    try:
        after = [settled, *runner.history(runner.move(settled, {name: back}))]
    except Barred:
        return Release(seconds, name, position, True, ())
    return Release(seconds, name, position, False, tuple(facts.changes(after, [name])))
