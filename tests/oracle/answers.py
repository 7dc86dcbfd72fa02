"""Questions answered by brute force."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations, product
from typing import TypeVar

from tellback.book import conditions as c
from tellback.book.model import (
    Claim,
    Control,
    Indication,
    Reading,
    Statement,
    Supply,
    Surface,
    Unit,
)
from tests.oracle.frame import NOBODY, OK, Frame, Owner, State, Value, failure_of
from tests.oracle.items import Answerable, root_items, seen_items
from tests.oracle.reach import Possible, number_of_failures
from tests.oracle.steps import is_impossible, is_stuck
from tests.oracle.timed import Moment, end_of, happens, moment_of, settled
from tests.oracle.values import holds

Box = tuple[frozenset[Value], ...]
Cube = dict[str, tuple[str, ...]]
FailureSet = frozenset[tuple[str, str]]
Chosen = TypeVar("Chosen", bound=frozenset[tuple[str, Value]])
IN_A_ROW = (Reading, Supply, Surface)


def all_ways(
    frame: Frame,
    condition: c.Condition,
    possible: Possible,
    items: Answerable,
    owner: Owner = NOBODY,
) -> list[Box]:
    """Every minimal cube c with c and P within X, and c and P not empty.

    Minimal means that no literal can be left out or be given one more value (of a reading, a
    surface or a supply: a wider interval). A tuple of values that no possible state has may be in
    a cube.
    """
    good, bad = split_by(frame, condition, possible, items, owner)
    free = [not isinstance(frame.things.get(item), IN_A_ROW) for item in items.domains]
    full = tuple(frozenset(domain) for domain in items.domains.values())
    orders = list(items.domains.values())
    boxes = boxes_without(full, bad, free, orders)
    return [box for box in boxes if any(inside(values, box) for values in good)]


def split_by(
    frame: Frame, condition: c.Condition, possible: Possible, items: Answerable, owner: Owner
) -> tuple[set[tuple[Value, ...]], set[tuple[Value, ...]]]:
    """The tuples of item values that are sure to make the condition so, and those that are not."""
    yes: set[tuple[Value, ...]] = set()
    no: set[tuple[Value, ...]] = set()
    for state in possible.states:
        (yes if holds(frame, state, condition, owner) else no).add(items.of(frame, state))
    return yes - no, no


def boxes_without(
    full: Box, bad: set[tuple[Value, ...]], free: list[bool], orders: list[tuple[Value, ...]]
) -> list[Box]:
    """The largest boxes without a bad tuple: each bad tuple cuts the boxes that have it."""
    boxes = [full]
    for wrong in sorted(bad, key=str):
        whole = [box for box in boxes if not inside(wrong, box)]
        cut = {
            (*box[:index], part, *box[index + 1 :])
            for box in boxes
            if inside(wrong, box)
            for index, value in enumerate(wrong)
            for part in parts_without(box[index], value, free[index], orders[index])
            if part
        }
        boxes = whole + [box for box in largest(cut) if not any(lies_in(box, w) for w in whole)]
    return boxes


def parts_without(
    values: frozenset[Value], value: Value, free: bool, order: tuple[Value, ...]
) -> list[frozenset[Value]]:
    """The values without one; of those in a row, what is below it and what is above it."""
    if free:
        return [values - {value}]
    cut = order.index(value)
    return [values & frozenset(order[:cut]), values & frozenset(order[cut + 1 :])]


def inside(values: tuple[Value, ...], box: Box) -> bool:
    """Whether the tuple lies in the box."""
    return all(value in side for value, side in zip(values, box, strict=True))


def lies_in(box: Box, other: Box) -> bool:
    """Whether the first box lies in the other."""
    return all(side <= wider for side, wider in zip(box, other, strict=True))


def largest(boxes: Iterable[Box]) -> list[Box]:
    """The boxes that lie in no other."""
    kept: list[Box] = []
    for box in sorted(set(boxes), key=lambda b: -sum(map(len, b))):
        if not any(lies_in(box, other) for other in kept):
            kept.append(box)
    return kept


@dataclass(frozen=True)
class Ways:
    """The ways as text cubes, and as text what X needs as well."""

    cubes: tuple[Cube, ...]
    needs: tuple[str, ...]


def ways(
    frame: Frame, condition: c.Condition, possible: Possible, *, to_root: bool = False
) -> Ways:
    """The ways of the condition: the needs left out, minimised again, then without `not failed`.

    Ways that do without the needs (a failure may) are told whole, and minimised by themselves.
    Those of an indication are the ways while nothing inhibits it.
    """
    possible = uninhibited(frame, condition, possible)
    items = items_of(frame, condition, condition, to_root, NOBODY)
    needs, owner = needs_of(frame, condition)
    needed = c.All(tuple(need for _, need in needs))
    common = common_needs(
        frame, needed, owner, possible, items_of(frame, needed, condition, to_root, owner)
    )
    unmet = {items.of(frame, s) for s in possible.states if not holds(frame, s, needed, owner)}
    rests: dict[bool, set[Box]] = {False: set(), True: set()}
    boxes = all_ways(frame, condition, possible, items)
    if not to_root:
        given = {s: p for s, p in possible.came_from.items() if holds(frame, s, needed, owner)}
        boxes = [box for box in boxes if any(inside(values, box) for values in unmet)]
        within = all_ways(frame, condition, Possible(given), items)
        rests[False] |= set(within)
    for box in boxes:
        bare = any(inside(values, box) for values in unmet)
        rests[bare].add(box if bare else without_needs(items, box, common))
    bare = largest(rests[True])
    needing = largest(rests[False])
    besides = [box for box in needing if not any(lies_in(box, other) for other in bare)]
    # those that do without the needs stand apart, even if told as one that does not
    kept = [*dict.fromkeys(plainer(items, box) for box in besides)]
    kept += dict.fromkeys(plainer(items, box) for box in bare)
    cubes = sorted((as_text(frame, items, box) for box in kept), key=str)
    return Ways(tuple(cubes), tuple(text for text, _ in needs))


def uninhibited(frame: Frame, condition: c.Condition, possible: Possible) -> Possible:
    """The possible states in which the indication asked for is not inhibited."""
    match condition:
        case c.State(name, "shown"):
            indication = frame.things[name]
            assert isinstance(indication, Indication)
            owner = Owner(name)
            inhibits = [s.condition for s in indication.inhibits]
            states = [
                state
                for state in possible.states
                if not any(holds(frame, state, inhibit, owner) for inhibit in inhibits)
            ]
            return possible.only(states)
    return possible


def needs_of(frame: Frame, condition: c.Condition) -> tuple[list[tuple[str, c.Condition]], Owner]:
    """What the unit or indication asked for needs, as text and condition, and whose needs it is."""
    match condition:
        case c.State(name, "running"):
            unit = frame.things[name]
            assert isinstance(unit, Unit)
            return [*map(plainly, unit.needs), *map(denied, unit.shed)], Owner(name)
        case c.State(name, "shown"):
            indication = frame.things[name]
            assert isinstance(indication, Indication)
            return [*map(plainly, indication.needs)], Owner(name)
    return [], NOBODY


def plainly(statement: Statement) -> tuple[str, c.Condition]:
    """A need, as text and condition."""
    return statement.text, statement.condition


def denied(statement: Statement) -> tuple[str, c.Condition]:
    """What takes it off or keeps it off, denied."""
    single = isinstance(statement.condition, c.State | c.Not | c.Compare)
    text = f"not {statement.text}" if single else f"not ({statement.text})"
    return text, c.Not(statement.condition)


def items_of(
    frame: Frame, condition: c.Condition, asked: c.Condition, to_root: bool, owner: Owner
) -> Answerable:
    """The items of a condition that is all or part of what is asked."""
    if to_root:
        return root_items(frame, condition, owner)
    return seen_items(frame, condition, asked, owner)


def common_needs(
    frame: Frame, needed: c.Condition, owner: Owner, possible: Possible, items: Answerable
) -> dict[str, frozenset[Value]]:
    """What all the needs say of each item, if there is but one way to meet them."""
    boxes = all_ways(frame, needed, possible, items, owner)
    return dict(zip(items.domains, boxes[0], strict=True)) if len(boxes) == 1 else {}


def without_needs(items: Answerable, box: Box, common: dict[str, frozenset[Value]]) -> Box:
    """The box without the literals that the needs imply."""
    return tuple(
        frozenset(domain) if item in common and common[item] <= side else side
        for side, (item, domain) in zip(box, items.domains.items(), strict=True)
    )


def plainer(items: Answerable, box: Box) -> Box:
    """The box without the literals `not failed`."""
    return tuple(
        frozenset(domain) if item.startswith(failure_of("")) and OK in side else side
        for side, (item, domain) in zip(box, items.domains.items(), strict=True)
    )


def as_text(frame: Frame, items: Answerable, box: Box) -> Cube:
    """The literals that say something, each item with its values in order."""
    result: Cube = {}
    for (item, domain), side in zip(items.domains.items(), box, strict=True):
        if len(side) < len(domain):
            chosen = tuple(value for value in domain if value in side)
            is_number = item in frame.regions
            result[item] = (interval(frame, item, chosen),) if is_number else chosen  # type: ignore[assignment]
    return result


def interval(frame: Frame, reading: str, chosen: tuple[Value, ...]) -> str:
    """The regions as words: `below 20 kt`, `at 20 kt`, `between 20 and 30 kt`."""
    regions = [region for region in frame.regions[reading] if region.number in chosen]
    first, last = regions[0], regions[-1]
    thing = frame.things[reading]
    assert isinstance(thing, Reading)
    unit = f" {thing.unit}" if thing.unit else ""
    if first.low == last.high:
        return f"at {first.low:g}{unit}"
    lowest, highest = first == frame.regions[reading][0], last == frame.regions[reading][-1]
    if not lowest and not highest and first.low_included and last.high_included:
        return f"between {first.low:g} and {last.high:g}{unit}"
    low = f"{'at least' if first.low_included else 'above'} {first.low:g}{unit}"
    high = f"{'at most' if last.high_included else 'below'} {last.high:g}{unit}"
    return " and ".join(words for words, bare in ((low, lowest), (high, highest)) if not bare)


def failure_sets(frame: Frame, state: State, order: int) -> Iterator[FailureSet]:
    """Up to `order` things that have not failed yet, each with one mode; small sets first."""
    items = frame.named(state)
    good = [t for t in frame.book.things if t.fails and items[failure_of(t.name)] == OK]
    for size in range(order + 1):
        for things in combinations(good, size):
            for modes in product(*(thing.fails for thing in things)):
                yield frozenset((t.name, mode) for t, mode in zip(things, modes, strict=True))


def minimal_sets(sets: Iterable[Chosen], does: Callable[[Chosen], bool]) -> list[Chosen]:
    """The sets that do it while no smaller set within them does; small ones must come first."""
    found: list[Chosen] = []
    for candidate in sets:
        if not any(smaller <= candidate for smaller in found) and does(candidate):
            found.append(candidate)
    return found


def struck(frame: Frame, moment: Moment, failed: FailureSet) -> Moment | None:
    """The moment when all these failures have struck at once; None if it is impossible."""
    changes: dict[str, Value] = {failure_of(name): mode for name, mode in failed}
    after = happens(frame, moment, changes)
    return None if is_impossible(frame, after.state) else after


def losses(
    frame: Frame, condition: c.Condition, moment: Moment, order: int, *, free: bool = False
) -> list[FailureSet]:
    """Minimal sets of failures after which the condition is not so, once settled.

    The controls stand as they are; `free`: whatever setting of the controls, none makes it so.
    """

    def lost(failed: FailureSet) -> bool:
        after = struck(frame, moment, failed)
        if after is None:
            return False
        if not free:
            end = end_of(frame, after)
            return end is not None and not holds(frame, end.state, condition)
        outcomes = all_settings(frame, after)
        return not any(holds(frame, settled(frame, m).state, condition) for m in outcomes)

    return minimal_sets(failure_sets(frame, moment.state, order), lost)


def all_settings(frame: Frame, moment: Moment) -> Iterator[Moment]:
    """What comes of every setting of the controls, moved at once; those barred are left out."""
    items = frame.named(moment.state)
    controls: list[Control] = frame.of(Control)
    choices = [
        (items[control.name],)
        if is_stuck(frame, moment.state, control)
        else [p for p in control.positions if not is_barred(frame, moment.state, control, p)]
        for control in controls
    ]
    for positions in product(*choices):
        changes = {control.name: p for control, p in zip(controls, positions, strict=True)}
        after = happens(frame, moment, changes)
        if not is_impossible(frame, after.state):
            yield after


def is_barred(frame: Frame, state: State, control: Control, position: str) -> bool:
    """A `cannot go to` forbids the position, and the control is not there already."""
    barred = [s for p, s in control.barred if p == position]
    there = frame.named(state)[control.name] == position
    return not there and any(holds(frame, state, s.condition) for s in barred)


def fits(frame: Frame, seen: dict[str, bool], moment: Moment, order: int) -> list[FailureSet]:
    """Minimal sets of failures after which, settled, the indications are shown or not as seen."""

    def fit(failed: FailureSet) -> bool:
        after = struck(frame, moment, failed)
        end = end_of(frame, after) if after else None
        return end is not None and all(
            holds(frame, end.state, c.State(name, "shown")) == shown for name, shown in seen.items()
        )

    return minimal_sets(failure_sets(frame, moment.state, order), fit)


def counterexamples(frame: Frame, claim: Claim, possible: Possible) -> list[State]:
    """The possible states that meet what is given and not the claim; none: it is proved.

    If the claim is about runs from one starting state, `possible` must be of those.
    """
    return [
        state
        for state in possible.states
        if meets(frame, claim, state) and not holds(frame, state, claim.condition)
    ]


def meets(frame: Frame, claim: Claim, state: State) -> bool:
    """The state has no more failures than given, and the given conditions hold."""
    few = claim.failures is None or number_of_failures(frame, state) <= claim.failures
    return few and all(holds(frame, state, given) for given in claim.given)


def settled_from(frame: Frame, state: State) -> Moment:
    """The moment that a steady state settles to, every clock at its start."""
    return settled(frame, moment_of(frame, state))
