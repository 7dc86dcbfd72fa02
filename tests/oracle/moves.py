"""What moving a control brings about at once in the possible states, and under which conditions."""

from __future__ import annotations

from collections.abc import Set
from itertools import product

from tellback.book import conditions as c
from tellback.book.english import running_words
from tellback.book.model import Indication, Means, Supply, Thing, Unit
from tests.oracle.answers import IN_A_ROW, Box, boxes_without, inside
from tests.oracle.frame import NOBODY, Frame, State, Value, failure_of
from tests.oracle.items import Answerable, Back, answerable, matter_in, passes_freely
from tests.oracle.meaning import condition_test
from tests.oracle.reach import Possible
from tests.oracle.steps import Event, after_event, is_impossible, may_move
from tests.oracle.values import holds

Pair = tuple[State, State]
Moved = list[Pair]


def words(thing: Thing) -> dict[str, c.Condition]:
    """The states of a thing that follow at once, by their words."""
    match thing:
        case Unit():
            on, off = running_words(thing.form)
            running = c.State(thing.name, "running")
            return {on: running, off: c.Not(running)}
        case Supply():
            name, yes, no = thing.name, "live", "lost"
        case Indication():
            name, yes, no = thing.name, "shown", "not shown"
        case Means():
            name, yes, no = thing.name, "yes", "no"
        case _:
            return {}
    return {yes: c.State(name, yes), no: c.Not(c.State(name, yes))}


def moved(frame: Frame, possible: Possible, control: str, before: Value, after: Value) -> Moved:
    """Each possible state in which the control can be so moved, and the steady state after it."""
    found = []
    for state in possible.states:
        if frame.named(state)[control] == before and may_move(frame, state, control, after):
            then = after_event(frame, state, Event("moves to", control, after))
            if not is_impossible(frame, then):
                found.append((state, then))
    return found


def brings(frame: Frame, condition: c.Condition, pair: Pair) -> bool:
    """The condition is not so before the move and is so after it."""
    return not holds(frame, pair[0], condition) and holds(frame, pair[1], condition)


def move_items(
    frame: Frame, condition: c.Condition, control: str, before: Value, after: Value
) -> Answerable:
    """The items on which it depends whether the move brings the condition about, intact.

    Going back stops at supplies that the move cannot change.
    """
    back = Back(frame, to_root=False, apart=supplies_moved(frame, control))
    found = answerable(frame, condition, NOBODY, back).domains
    free = {i: d for i, d in found.items() if i != control and not i.startswith(failure_of(""))}
    test = condition_test(frame, condition)

    def comes(chosen: tuple[Value, ...]) -> bool:
        given = {**free, control: frame.items[control]}
        was = passes_freely(frame, test, given, (*chosen, before))
        return not was and passes_freely(frame, test, given, (*chosen, after))

    matter = matter_in(free, {chosen: comes(chosen) for chosen in product(*free.values())})
    return Answerable({item: domain for item, domain in free.items() if item in matter})


def move_ways(frame: Frame, come: Set[Pair], pairs: Moved, items: Answerable) -> list[Box]:
    """Every minimal cube of items in which all the moves that can be made are among those."""
    good: set[tuple[Value, ...]] = set()
    bad: set[tuple[Value, ...]] = set()
    for pair in pairs:
        (good if pair in come else bad).add(items.of(frame, pair[0]))
    free = [not isinstance(frame.things.get(item), IN_A_ROW) for item in items.domains]
    orders = list(items.domains.values())
    boxes = boxes_without(tuple(map(frozenset, orders)), bad, free, orders)
    return [box for box in boxes if any(inside(values, box) for values in good - bad)]


def supplies_moved(frame: Frame, control: str) -> set[str]:
    """The supplies behind which the control stands."""
    moved = set()
    for thing in frame.book.things:
        if isinstance(thing, Supply):
            back = Back(frame, to_root=True)
            back.within(thing)
            if control in back.found:
                moved.add(thing.name)
    return moved
