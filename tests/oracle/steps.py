"""From one state to the next steady one: docs/meaning.md, "Memories" and "Steady, settled"."""

from __future__ import annotations

from dataclasses import dataclass

from tellback.book import conditions as c
from tellback.book.model import Control, Indication, Latch, Reading, Surface
from tests.oracle.frame import (
    OK,
    Frame,
    Owner,
    State,
    Value,
    cancelled,
    failure_of,
    owned_statements,
    places,
    region_with,
)
from tests.oracle.meaning import acts, row_first, target_of
from tests.oracle.values import holds, passes, sure_values

Edges = frozenset[tuple[c.Edge, Owner]]
NO_EDGES: Edges = frozenset()


class NeverSteady(Exception):
    """The steps come back to a state: `cycle` are the states that repeat."""

    def __init__(self, cycle: list[State]) -> None:
        super().__init__(f"{len(cycle)} states repeat for ever: {cycle}")
        self.cycle = cycle


@dataclass(frozen=True)
class Event:
    """What happens: `kind` is moves, elapses, arrives or enters; the item and its new value."""

    kind: str
    item: str
    value: Value

    def __str__(self) -> str:
        return f"{self.item} {self.kind} {self.value}"


def due(frame: Frame, state: State, edges: Edges = NO_EDGES) -> dict[str, Value]:
    """Every change that is due in the state, all to be made together."""
    changes: dict[str, Value] = {}
    for latch in frame.of(Latch):
        changes |= latch_due(frame, state, latch, edges)
    if edges:
        return changes
    items = frame.named(state)
    for control in frame.of(Control):
        changes |= drop_due(frame, state, control)
    for indication in frame.of(Indication):
        changes |= cancel_due(frame, state, indication)
    for surface in frame.of(Surface):
        if (number := acting(frame, state, surface)) is not None:
            drive = surface.drives[number]
            if drive.takes == 0 and target_of(drive, items) != items[surface.name]:
                changes[surface.name] = target_of(drive, items)
    for item, delay in frame.delays.items():
        if items[item] == "yes" and not holds(frame, state, delay.part, delay.owner):
            changes[item] = "no"
    return changes


def latch_due(frame: Frame, state: State, latch: Latch, edges: Edges) -> dict[str, Value]:
    """The latch sets or clears; if both conditions hold, clearing wins unless `set_wins`."""
    owner = Owner(latch.name)
    sets = any(holds(frame, state, s.condition, owner, edges) for s in latch.sets)
    clears = any(holds(frame, state, s.condition, owner, edges) for s in latch.clears)
    now = frame.named(state)[latch.name]
    if now == "clear" and sets and (not clears or latch.set_wins):
        return {latch.name: "set"}
    if now == "set" and clears and (not sets or not latch.set_wins):
        return {latch.name: "clear"}
    return {}


def drop_due(frame: Frame, state: State, control: Control) -> dict[str, Value]:
    """The control drops to the first position whose condition holds, unless it is stuck."""
    items = frame.named(state)
    if is_stuck(frame, state, control):
        return {}
    for position, statement in control.drops:
        if holds(frame, state, statement.condition, Owner(control.name)):
            return {} if items[control.name] == position else {control.name: position}
    return {}


def is_stuck(frame: Frame, state: State, control: Control) -> bool:
    """The control has a failure (it has no other mode than `stuck`)."""
    return bool(control.fails) and frame.named(state)[failure_of(control.name)] != OK


def cancel_due(frame: Frame, state: State, indication: Indication) -> dict[str, Value]:
    """An indication that is on is cancelled by its reset; one that is not on no longer is."""
    if not indication.resets:
        return {}
    item, owner = cancelled(indication.name), Owner(indication.name)
    now = frame.named(state)[item]
    if ("on", indication.name) not in sure_values(frame, state):
        return {item: "no"} if now == "yes" else {}
    reset = any(holds(frame, state, s.condition, owner) for s in indication.resets)
    return {item: "yes"} if reset and now == "no" else {}


def acting(frame: Frame, state: State, surface: Surface) -> int | None:
    """The number of the drive that acts on the surface."""
    for number in range(len(surface.drives)):
        if passes(frame, state, acts(frame, surface, number)):
            return number
    return None


def steps(frame: Frame, state: State, before: State | None = None) -> list[State]:
    """The states from this one to the steady one, both included.

    `before` is the last steady state, with which `comes on` and `goes out` compare; without it
    nothing comes on or goes out at first. Raises NeverSteady.
    """
    trail = [state]
    last = None if before is None else truths(frame, before)
    seen: list[tuple[State, tuple[bool, ...] | None]] = []
    while True:
        carry_out_all_due(frame, trail)
        if (trail[-1], last) in seen:
            raise NeverSteady([reached for reached, _ in seen])
        seen.append((trail[-1], last))
        now = truths(frame, trail[-1])
        edges = just_come(frame, now if last is None else last, now)
        last = now
        changes = due(frame, trail[-1], edges) if edges else {}
        if not changes:
            return trail
        trail.append(frame.with_items(trail[-1], changes))


def carry_out_all_due(frame: Frame, trail: list[State]) -> None:
    """Go on, all due changes together, until nothing is due."""
    start = len(trail) - 1
    while changes := due(frame, trail[-1]):
        after = frame.with_items(trail[-1], changes)
        if after in trail[start:]:
            raise NeverSteady(trail[trail.index(after, start) :])
        trail.append(after)


def edges_of(frame: Frame) -> list[tuple[c.Edge, Owner]]:
    """Every `comes on` and `goes out` of the book."""
    if "edges" not in frame.cache:
        frame.cache["edges"] = [
            (node, owner)
            for thing in frame.book.things
            for owner, statement in owned_statements(thing)
            for node in c.walk(statement.condition)
            if isinstance(node, c.Edge)
        ]
    found: list[tuple[c.Edge, Owner]] = frame.cache["edges"]
    return found


def truths(frame: Frame, state: State) -> tuple[bool, ...]:
    """Whether the condition within each edge holds."""
    return tuple(holds(frame, state, edge.part, owner) for edge, owner in edges_of(frame))


def just_come(frame: Frame, last: tuple[bool, ...], now: tuple[bool, ...]) -> Edges:
    """The edges whose condition has just begun, or ceased, to hold."""
    return frozenset(
        (edge, owner)
        for (edge, owner), then, here in zip(edges_of(frame), last, now, strict=True)
        if then != here and here == edge.rising
    )


def steady(frame: Frame, state: State, before: State | None = None) -> State:
    """The steady state that follows. Raises NeverSteady."""
    return steps(frame, state, before)[-1]


def after_event(frame: Frame, state: State, event: Event) -> State:
    """The steady state after one event in a steady state."""
    return steady(frame, frame.with_items(state, {event.item: event.value}), state)


def running_delays(frame: Frame, state: State) -> list[str]:
    """The delays whose condition holds and that have not elapsed."""
    items = frame.named(state)
    return [
        item
        for item, delay in frame.delays.items()
        if items[item] == "no" and holds(frame, state, delay.part, delay.owner)
    ]


def next_places(frame: Frame, state: State) -> dict[str, str]:
    """The place that each moving surface comes to next."""
    items = frame.named(state)
    result: dict[str, str] = {}
    for surface in frame.of(Surface):
        if (number := acting(frame, state, surface)) is None:
            continue
        order = places(surface)
        here = order.index(str(items[surface.name]))
        target = order.index(target_of(surface.drives[number], items))
        if here != target:
            result[surface.name] = order[here + (1 if target > here else -1)]
    return result


def next_regions(frame: Frame, state: State) -> dict[str, float]:
    """The number of the region that each moving reading enters next."""
    items = frame.named(state)
    result: dict[str, float] = {}
    for reading in frame.of(Reading):
        if (row := moving_row(frame, state, reading)) is None:
            continue
        regions = frame.regions[reading.name]
        here = regions.index(region_with(frame, reading.name, float(items[reading.name])))
        target = regions.index(region_with(frame, reading.name, reading.moves[row].value))
        if here != target:
            result[reading.name] = regions[here + (1 if target > here else -1)].number
    return result


def moving_row(frame: Frame, state: State, reading: Reading) -> int | None:
    """The number of the first row that moves the reading."""
    for number in range(len(reading.moves)):
        if passes(frame, state, row_first(frame, reading.name, reading.moves, number)):
            return number
    return None


def moves(frame: Frame, state: State) -> list[Event]:
    """Every single move of an input that is allowed in the state."""
    items = frame.named(state)
    return [
        Event("moves to", item, value)
        for item in frame.inputs
        for value in frame.items[item]
        if value != items[item] and may_move(frame, state, item, value)
    ]


def may_move(frame: Frame, state: State, item: str, value: Value) -> bool:
    """No `cannot go to` forbids the move, and the control is not stuck."""
    control = frame.things.get(item)
    if not isinstance(control, Control):
        return True
    barred = [s for position, s in control.barred if position == value]
    locked = any(holds(frame, state, s.condition, Owner(item)) for s in barred)
    return not locked and not is_stuck(frame, state, control)


def happenings(frame: Frame, state: State) -> list[Event]:
    """Everything that time may bring next: delays, surfaces, readings, whatever their times."""
    return [
        *(Event("elapses", item, "yes") for item in running_delays(frame, state)),
        *(Event("arrives at", item, place) for item, place in next_places(frame, state).items()),
        *(Event("enters", item, number) for item, number in next_regions(frame, state).items()),
    ]


def is_settled(frame: Frame, state: State) -> bool:
    """No delay runs and nothing moves in this steady state."""
    return not happenings(frame, state)


def is_impossible(frame: Frame, state: State) -> bool:
    """The state meets an `impossible` statement."""
    return any(holds(frame, state, s.condition) for s in frame.book.impossible)
