"""Values that depend on themselves: without an answer, with two, or feeding one another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tellback.book.model import Supply
from tellback.logic.checks.found import Found, error, undecided
from tellback.logic.checks.ground import Ground
from tellback.logic.checks.words import plainest, value_text
from tellback.logic.formula import Formula, Key, Lit, Ref
from tellback.logic.run import State
from tellback.logic.solve import Valuation
from tellback.logic.space import Node
from tellback.logic.words import listed

MOST_GUESSES = 10
"""How many values of a circle are guessed at most when its answers are counted."""

MEND = (
    "Name the cause instead of its effect, say `otherwise lost` in the condition of a source, "
    "list the sources in order, or use a latch that its own effect does not clear."
)


def undecided_value(ground: Ground) -> Iterator[Found]:
    """A possible state in which a value has no answer, or two."""
    values, graph = ground.symbols.values, ground.picture.graph
    for circle in filter(graph.has_negation, graph.order):
        values.prepare(circle)
        members = set(circle) & values.undecided.keys()
        parts = {key: values.undecided[key] for key in graph.system.values if key in members}
        if parts:
            yield from _undecided_in(ground, parts)


def _undecided_in(ground: Ground, parts: dict[Key, Node]) -> Iterator[Found]:
    run = ground.run_to(ground.space.any_of(parts.values()))
    if run is False:
        return
    first = plainest(parts)[0]
    thing = ground.things[first[0]]
    names = list(dict.fromkeys(key[0] for key in parts))
    if not run or run is True:
        question = f"whether {listed(names)} always follow from the rest"
        yield undecided(thing.place, question, thing.name)
        return
    state = run.end.state
    here = [key for key in parts if ground.space.holds(parts[key], state)]
    told = plainest(here)[0]
    thing = ground.things[told[0]]
    subject = value_text(thing, told[1]) or thing.name
    answers = answers_in(ground, state, here)
    yield error(
        "undecided", thing.place,
        f"whether {subject} {_verdict(ground, answers)} in this state ({run}); "
        f"it depends on itself through {listed(dict.fromkeys(key[0] for key in here))}",
        MEND, thing.name,
    )  # fmt: skip


def _verdict(ground: Ground, answers: list[dict[Key, int]] | None) -> str:
    if answers is None:
        return "does not follow from the book"
    if not answers:
        return "has no answer: if it is so then it is not, and if not then it is,"
    told = dict.fromkeys(_answer(ground, answer) for answer in answers)
    if len(told) == 1:
        return f"does not follow from the rest, though only one answer fits ({next(iter(told))}),"
    count = "two answers" if len(told) == 2 else f"{len(told)} answers"
    return f"has {count} ({'; or '.join(list(told)[:4])})"


def _answer(ground: Ground, answer: dict[Key, int]) -> str:
    texts = dict.fromkeys(
        text if holds else f"not {text}"
        for key, holds in sorted(answer.items(), key=lambda pair: not pair[1])
        if (text := value_text(ground.things[key[0]], key[1]))
    )
    return listed(texts)


def answers_in(ground: Ground, state: State, keys: list[Key]) -> list[dict[Key, int]] | None:
    """Every assignment of the values of a circle in one state that satisfies all equations.

    Some values are guessed so that the rest follows, and a guess is kept if it comes true. None
    if that takes too many guesses.
    """
    guessed = _cut(ground, keys)
    if len(guessed) > MOST_GUESSES:
        return None
    found = []
    for number in range(1 << len(guessed)):
        guess = {key: number >> i & 1 for i, key in enumerate(guessed)}
        values = _values(ground, state, guess)
        if all(values.of(ground.picture.system.values[k]) == v for k, v in guess.items()):
            found.append({key: values[key] for key in plainest(keys)})
    return found


def _cut(ground: Ground, keys: Iterable[Key]) -> list[Key]:
    """Values of a circle without which no circle through `not` is left."""
    graph, keys = ground.picture.graph, list(keys)
    cut: dict[Key, int] = {}
    while True:
        circles = [c for c in graph.components(keys, cut) if graph.has_negation(c)]
        if not circles:
            return list(cut)
        members = set(circles[0])
        denied = (
            child for key in circles[0] for child, sign in graph.refs(key)
            if not sign and child in members
        )  # fmt: skip
        cut[next(denied)] = 0


def _values(ground: Ground, state: State, guess: dict[Key, int]) -> Valuation[int]:
    def literal(lit: Lit) -> int:
        return int(state[lit.variable] in lit.values)

    return Valuation(ground.picture.graph, 1, 0, lambda bit: 1 - bit, literal, guess)


def feeders_in_a_circle(ground: Ground) -> Iterator[Found]:
    """A possible state in which supplies feed one another in a circle."""
    told: set[str] = set()
    for supply in ground.book.things:
        if not isinstance(supply, Supply) or supply.name in told:
            continue
        back = _back_to(ground, supply)
        run = False if back is None else ground.run_to(back)
        if run is None or run is True:
            yield undecided(supply.place, f"whether `{supply.name}` ever feeds itself", supply.name)
        elif run:
            circle = _circle(ground, supply, run.end.state)
            told |= set(circle)
            pairs = zip(circle, [*circle[1:], circle[0]], strict=True)
            yield error(
                "feeders-in-a-circle", supply.place,
                f"{listed(f'{of} is fed by {by}' for of, by in pairs)} in this state ({run})",
                "List the source that does not depend on the others first, or let the tie feed "
                f"only `when` {supply.name} otherwise lost.",
                supply.name,
            )  # fmt: skip


def _back_to(ground: Ground, supply: Supply) -> Node | None:
    """Where the chain of feeders of a supply comes back to it; None if it has no such chain."""
    reach: dict[str, dict[str, Formula]] = {}
    work = [supply]
    while work:
        one = work.pop()
        if one.name in reach:
            continue
        sources = [ground.things[feed.source] for feed in one.feeds]
        supplies = [source for source in sources if isinstance(source, Supply)]
        reach[one.name] = {s.name: Ref((one.name, f"fed by {s.name}")) for s in supplies}
        work += supplies
    if not any(supply.name in fed for fed in reach.values()):
        return None
    return _chains(ground, supply.name, reach)


def _chains(ground: Ground, goal: str, reach: dict[str, dict[str, Formula]]) -> Node:
    """The least fixed point of: fed by the goal, or by what is fed by the goal in the end."""
    nodes = {of: {by: ground.symbols.of(f) for by, f in fed.items()} for of, fed in reach.items()}
    back = dict.fromkeys(nodes, ground.space.false)
    changed = True
    while changed:
        changed = False
        for of, fed in nodes.items():
            now = ground.space.any_of(f if by == goal else f & back[by] for by, f in fed.items())
            changed = changed or now != back[of]
            back[of] = now
    return back[goal]


def _circle(ground: Ground, supply: Supply, state: State) -> list[str]:
    """The supplies of the circle in that state, each fed by the next."""
    values = ground.picture.aeroplane.values(state)
    circle = [supply.name]
    while True:
        thing = ground.things[circle[-1]]
        assert isinstance(thing, Supply)
        fed = (f.source for f in thing.feeds if values[thing.name, f"fed by {f.source}"])
        by = next(fed)
        if by in circle:
            return circle
        circle.append(by)
