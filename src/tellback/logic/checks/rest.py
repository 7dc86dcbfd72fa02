"""Memories that never come to rest: what they set in motion undoes what set them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from tellback.book.conditions import things
from tellback.logic.checks.found import Found, error, undecided
from tellback.logic.checks.ground import Ground
from tellback.logic.path import Witness
from tellback.logic.run import Barred, State, Unsettled
from tellback.logic.space import Node, Space
from tellback.logic.symbols import variables_of
from tellback.logic.system import System
from tellback.logic.words import listed, literal_text

MOST_RUNS = 400
"""How many single moves are tried in search of a run that does not come to rest."""


def never_at_rest(ground: Ground) -> Iterator[Found]:
    """A possible event after which changes repeat without end."""
    for circle in _circles(_looks_at(ground)):
        turning = _turning(ground, circle)
        edges = any(ground.picture.system.variables[name].kind == "last" for name in circle)
        if turning == ground.space.false and not edges:
            continue
        found = _run_without_end(ground, circle) or _run_toward(ground, circle, turning)
        if found is not None or not _comes_to_rest(ground, circle):
            yield _told(ground, circle, found)


def _told(ground: Ground, circle: list[str], found: tuple[Witness, str, list[str]] | None) -> Found:
    names = _owners(ground, circle)
    who = listed(f"`{name}`" for name in names)
    # The thing of a delay is its own text: then it is one of those that it looks at.
    near = [*names, *sorted(_support(ground, circle))]
    thing = next(ground.things[name] for name in near if name in ground.things)
    if found is None:
        return undecided(thing.place, f"whether {who} can always come to rest", thing.name)
    run, move, changes = found
    repeated = ", then ".join(changes) or "each change makes the next"
    return error(
        "never-at-rest", thing.place,
        f"{who} cannot come to rest after {move} ({run}): {repeated}, and so on without end",
        "Make what sets it and what clears it exclude one another, or let a delay part them.",
        thing.name,
    )  # fmt: skip


def _comes_to_rest(ground: Ground, circle: Iterable[str]) -> bool:
    """Whether the search of all possible states ended, and so met no repetition."""
    possible = ground.picture.possible(circle)
    return possible.finish() and not possible.rooms.never_rests


# -- which memories look at one another -----------------------------------------------------


def _looks_at(ground: Ground) -> dict[str, set[str]]:
    """For each memory that changes at once, those that its changes look at."""
    system, graph = ground.picture.system, ground.picture.graph
    rules = [(rule.variable, rule.condition) for rule in system.steps]
    rules += [(rule.variable, rule.condition) for rule in system.lasts]
    looks: dict[str, set[str]] = {}
    for name, condition in rules:
        looks.setdefault(name, set()).update(variables_of(graph, [condition]))
    return {name: seen & looks.keys() for name, seen in looks.items()}


def _circles(looks: Mapping[str, set[str]]) -> list[list[str]]:
    """The memories that look at one another or at themselves, by circle."""
    reach = {name: _reached(looks, name) for name in looks}
    circles: dict[str, list[str]] = {}
    for name in looks:
        if name in reach[name] and name not in {n for c in circles.values() for n in c}:
            circles[name] = [n for n in looks if n in reach[name] and name in reach[n]]
    return list(circles.values())


def _reached(looks: Mapping[str, set[str]], name: str) -> set[str]:
    found: set[str] = set()
    work = list(looks[name])
    while work:
        one = work.pop()
        if one not in found:
            found.add(one)
            work += looks[one]
    return found


def _owners(ground: Ground, circle: Iterable[str]) -> list[str]:
    """The things whose memories are in a circle, or else those that its delays speak of."""
    system = ground.picture.system
    found = dict.fromkeys(
        system.variables[name].thing
        for name in circle
        if system.variables[name].kind not in ("last", "delay")
    )
    return list(found or _waited_for(system, circle))


def _waited_for(system: System, circle: Iterable[str]) -> dict[str, None]:
    waited = (system.delayed[name] for name in circle if name in system.delayed)
    return {thing: None for condition in waited for thing in things(condition)}


# -- states from which no rest is reached ---------------------------------------------------


def _turning(ground: Ground, circle: list[str]) -> Node:
    """The states, possible or not, that lie on a repetition of a circle (edges not counted).

    What the circle looks at outside itself stands still: where that turns, it is a circle too.
    """
    rules = {name: _rules(ground, name) for name in circle}
    turning = ground.space.true
    while True:
        after = _stepped(ground, turning, rules) & turning
        if after == turning:
            return turning
        turning = after


def _rules(ground: Ground, name: str) -> list[tuple[int, Node]]:
    """The values that a memory is due to take, each with where it is."""
    steps = ground.picture.system.steps
    return [(r.value, ground.symbols.of(r.condition)) for r in steps if r.variable == name]


def _stepped(ground: Ground, states: Node, rules: Mapping[str, list[tuple[int, Node]]]) -> Node:
    """The states that follow, from those in which something of the circle is due."""
    space = ground.space
    split: list[tuple[Node, dict[str, int]]] = [(states, {})]
    for name, due in rules.items():
        split = [piece for part in split for piece in _split(space, part, name, due)]
    return space.any_of(
        space.exists(part, changes) & space.point(changes) for part, changes in split if changes
    )


def _split(
    space: Space, part: tuple[Node, dict[str, int]], name: str, rules: list[tuple[int, Node]]
) -> Iterator[tuple[Node, dict[str, int]]]:
    """Split by what is due for one memory; the first of its rules that applies counts."""
    left, changes = part
    still = left
    for value, condition in rules:
        moving = left & condition & ~space.literal(name, (value,))
        if moving != space.false:
            yield moving, {**changes, name: value}
        still = still & ~moving
        left = left & ~condition
    if still != space.false:
        yield still, changes


# -- a run to such a state ------------------------------------------------------------------


def _run_without_end(ground: Ground, circle: list[str]) -> tuple[Witness, str, list[str]] | None:
    """A run, the move after it, and the changes that then repeat; None if none was found."""
    moves = _moves(ground, circle)
    begun = [Witness(name, (), moment, 0) for name, moment in ground.picture.starts.items()]
    tries, waiting = 0, list(begun)
    while waiting and tries < MOST_RUNS:
        run = waiting.pop(0)
        for name, value in moves:
            tries += 1
            after = _after(ground, run, name, value)
            if isinstance(after, list):
                return run, literal_text(ground.picture.system, name, [value]), after
            if after is not None and len(after.steps) < 2:
                waiting.append(after)
    return None


def _run_toward(
    ground: Ground, circle: list[str], turning: Node
) -> tuple[Witness, str, list[str]] | None:
    """The same, the inputs moved as the nearest state has them that lies on a repetition."""
    system = ground.picture.system
    for name, moment in ground.picture.starts.items():
        goal = ground.space.nearest_to(turning & ground.allowed, moment.state)
        moves = [
            (n, v)
            for n, v in (goal or {}).items()
            if system.variables[n].is_input and moment.state[n] != v
        ]
        for ordered in (moves, moves[::-1]):
            run = Witness(name, (), moment, 0)
            for move, value in ordered:
                after = _after(ground, run, move, value)
                if isinstance(after, list):
                    return run, literal_text(system, move, [value]), after
                run = after or run
    return None


def _moves(ground: Ground, circle: list[str]) -> list[tuple[str, int]]:
    """Every move of an input that the circle looks at."""
    system = ground.picture.system
    bearing = ground.picture.possible(circle).names | set(_support(ground, circle))
    return [
        (v.name, value)
        for v in system.variables.values()
        if v.is_input and v.name in bearing
        for value in range(len(v.values))
    ]


def _support(ground: Ground, circle: list[str]) -> set[str]:
    rules = [r.condition for r in ground.picture.system.steps if r.variable in circle]
    return variables_of(ground.picture.graph, rules)


def _after(ground: Ground, run: Witness, name: str, value: int) -> Witness | list[str] | None:
    """The run with one more move; the changes that repeat, if it does not come to rest."""
    runner = ground.picture.aeroplane
    if run.end.state[name] == value:
        return None
    try:
        moment = runner.move(run.end, {name: value})
    except Barred:
        return None
    except Unsettled:
        return repetition(ground, {**run.end.state, name: value})
    if not ground.space.holds(ground.allowed, moment.state):
        return None
    text = literal_text(ground.picture.system, name, [value])
    return Witness(run.start, (*run.steps, (moment.time, text)), moment, run.events + 1)


def repetition(ground: Ground, state: State) -> list[str]:
    """The changes that repeat without end from a state; none if only edges keep them going."""
    changes: list[dict[str, int]] = []
    seen: list[State] = []
    while state not in seen:
        seen.append(state)
        due = ground.picture.aeroplane.due(state)
        if not due:
            return []
        changes.append(due)
        state = {**state, **due}
    system = ground.picture.system
    return [
        listed(literal_text(system, name, [value]) for name, value in due.items())
        for due in changes[seen.index(state) :]
    ]
