"""The naive crew: makes the steps of a procedure one after the other, told by what they say.

It knows `do`, `check`, `wait` and `if`. After a `do` time runs until nothing is under way, unless a
`wait` comes next.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from tellback.book import conditions as c
from tellback.book.model import Step
from tests.oracle.frame import Frame, Value
from tests.oracle.steps import may_move
from tests.oracle.timed import Moment, happens, next_event, passed, settled
from tests.oracle.values import holds

Told = list[tuple[str, str, Fraction]]
"""The steps made: the number of each, what came of it, and when it was begun."""


def performed(
    frame: Frame, steps: Sequence[Step], moment: Moment, skip: str = "", swap: Sequence[str] = ()
) -> tuple[Told, Moment]:
    """The steps made from a settled moment, one perhaps skipped or two swapped; and the end."""
    queue = in_turn([(str(i), step) for i, step in enumerate(steps, 1)], skip, swap)
    told: Told = []
    while queue:
        number, step = queue.pop(0)
        begun = moment.time
        came, moment = performed_one(frame, step, moment)
        if step.kind == "do" and came == "":
            if not (queue and queue[0][1].kind == "wait"):
                moment = settled(frame, moment)
            items = frame.named(moment.state)
            stays = all(items[name] == value for name, value in wanted(step).items())
            came = "" if stays else "does not stay"
        told.append((number, came, begun))
        if step.kind == "if":
            count = len(step.then)
            then = [(f"{number}.{i}", s) for i, s in enumerate(step.then, 1)]
            rest = [(f"{number}.{i}", s) for i, s in enumerate(step.otherwise, count + 1)]
            queue = in_turn(then if came == "so" else rest, skip, swap) + queue
    return told, settled(frame, moment)


def in_turn(
    steps: list[tuple[str, Step]], skip: str, swap: Sequence[str]
) -> list[tuple[str, Step]]:
    """The steps of one list in the order in which they are to be made."""
    numbers = [number for number, _ in steps]
    if swap and set(swap) <= set(numbers):
        one, other = (numbers.index(number) for number in swap)
        steps = [steps[{one: other, other: one}.get(i, i)] for i in range(len(steps))]
    return [(number, step) for number, step in steps if number != skip]


def wanted(step: Step) -> dict[str, Value]:
    """The controls that a `do` moves, and where to."""
    condition = step.statement.condition
    parts = condition.parts if isinstance(condition, c.All) else (condition,)
    return {p.thing: p.state.split(" ", 1)[1] for p in parts if isinstance(p, c.State)}


def performed_one(frame: Frame, step: Step, moment: Moment) -> tuple[str, Moment]:
    """What comes of a step, and the moment at its end, before anything has run on."""
    condition = step.statement.condition
    if step.kind == "do":
        return moved(frame, wanted(step), moment)
    if step.kind == "wait" and step.seconds:
        return "", waited(frame, moment, Fraction(str(step.seconds)))
    if step.kind == "wait":
        return awaited(frame, moment, condition)
    return ("so" if holds(frame, moment.state, condition) else "not so"), moment


def moved(frame: Frame, goes: dict[str, Value], moment: Moment) -> tuple[str, Moment]:
    """The controls moved, if they may be and are not there already."""
    items = frame.named(moment.state)
    if all(items[name] == value for name, value in goes.items()):
        return "already so", moment
    for name, value in goes.items():
        if items[name] != value and not may_move(frame, moment.state, name, value):
            return "barred", moment
    return "", happens(frame, moment, goes)


def waited(frame: Frame, moment: Moment, seconds: Fraction) -> Moment:
    """So much later, everything that comes in between having happened."""
    left = seconds
    while (coming := next_event(frame, moment)) is not None and coming[0] <= left:
        left -= coming[0]
        later = passed(frame, moment, coming[0])
        moment = happens(frame, later, {coming[1].item: coming[1].value})
    return passed(frame, moment, left)


def awaited(frame: Frame, moment: Moment, condition: c.Condition) -> tuple[str, Moment]:
    """Later, until the condition holds or nothing more happens."""
    while not holds(frame, moment.state, condition):
        coming = next_event(frame, moment)
        if coming is None:
            return "never so", moment
        later = passed(frame, moment, coming[0])
        moment = happens(frame, later, {coming[1].item: coming[1].value})
    return "so", moment
