"""What ends X, what a failure shows and what a move does equal what the naive twin enumerates."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tellback.book import conditions as c
from tellback.book.model import Supply
from tellback.logic.answers.effects import Effect, Effects, effects
from tellback.logic.answers.signs import signs
from tellback.logic.answers.stops import Stop, stops
from tellback.logic.facts import Change, kind_of, said
from tellback.logic.items import ORDERED
from tellback.logic.primes import Cube
from tests.oracle import changes as naive
from tests.oracle.answers import failure_sets
from tests.oracle.changes import Inputs, may_happen
from tests.oracle.frame import State, Value, failure_of
from tests.oracle.items import level_of
from tests.oracle.moves import Moved, brings, move_items, move_ways, moved, words
from tests.oracle.reach import possible_states
from tests.oracle.steps import Event, due, moves, steps
from tests.oracle.values import holds
from tests.scenes import Scene, cube_of, drawn_scene, in_words, setting
from tests.strategies import BookText
from tests.test_answers_against_oracle import drawn, quickly
from tests.twins import Twins, twins_of

Told = tuple[float, str, str, str]


@quickly
@given(drawn, st.data())
def test_stops_up_to_two_changes(text: BookText, data: st.DataObject) -> None:
    twins = twins_of(text)
    scene = drawn_scene(data, twins)
    order = data.draw(st.sampled_from([1, 2]))
    runs = naive.outcomes(twins.frame, scene.moment, order)
    for question in twins.questions:
        text_of = twins.picture.phrase(question)
        answer = stops(twins.book, text_of, start=scene.start, changes=scene.changes, order=order)
        assert answer.so_now == holds(twins.frame, scene.moment.state, question)
        expected = naive.stops(twins.frame, question, runs) if answer.so_now else {}
        mine = {inputs: stop.seconds for stop in answer.stops for inputs in inputs_of(twins, stop)}
        assert len(mine) == sum(len(inputs_of(twins, stop)) for stop in answer.stops)
        assert mine == pytest.approx({c: float(t) for c, t in expected.items()}), text_of
        assert not answer.left


def inputs_of(twins: Twins, stop: Stop) -> list[Inputs]:
    """The changes as the oracle writes them, one for each choice of a state that is listed."""
    found: list[list[tuple[str, Value]]] = []
    for item in stop.changes:
        name = failure_of(item.thing) if item.kind == "failure" else item.thing
        states: Iterable[Value] = item.states
        if item.kind == "reading":
            states = [twins.frame.items[name][int(state)] for state in item.states]
        found.append([(name, state) for state in states])
    return [frozenset(choice) for choice in product(*found)]


@quickly
@given(drawn, st.data())
def test_signs_of_one_or_two_failures(text: BookText, data: st.DataObject) -> None:
    twins = twins_of(text)
    scene = drawn_scene(data, twins)
    for failed in failure_sets(twins.frame, scene.moment.state, 2):
        changed: dict[str, Value] = {failure_of(name): mode for name, mode in failed}
        if failed and may_happen(twins.frame, scene.moment, frozenset(changed.items())):
            told = [f"{name}: {mode}" for name, mode in failed]
            answer = signs(twins.book, told, start=scene.start, changes=scene.changes)
            assert sorted(as_told(answer.changes)) == sorted(run_of(twins, scene, changed)), told
            assert_causes_first(answer.changes)


def as_told(found: Iterable[Change]) -> list[Told]:
    """What an answer says changes."""
    return [(round(f.seconds, 6), f.thing, f.before, f.after) for f in found]


def assert_causes_first(found: Iterable[Change]) -> None:
    """Each change comes in order of time, and through what has changed before it.

    Only in a circle, where each comes through another, is one told before what it comes through.
    """
    changes = list(found)
    assert [c.seconds for c in changes] == sorted(c.seconds for c in changes)
    for i, change in enumerate(changes):
        told = {c.thing for c in changes[:i] if c.seconds == change.seconds}
        now = [c for c in changes[i + 1 :] if c.seconds == change.seconds]
        later = {c.thing: c for c in now if c.thing not in told}
        work = [name for name in change.through if name in later]
        behind: set[str] = set()
        while work:
            name = work.pop()
            if name not in behind:
                behind.add(name)
                comes_through = later[name].through if name in later else ()
                work += [n for n in comes_through if n in later or n == change.thing]
        assert not later.keys() & set(change.through) or change.thing in behind, change


def run_of(twins: Twins, scene: Scene, changed: dict[str, Value]) -> list[Told]:
    """What the oracle sees change, in the words of the program."""
    return [
        (round(float(time), 6), name, in_words(twins, name, was), in_words(twins, name, now))
        for time, name, was, now in naive.changes(twins.frame, scene.moment, changed)
    ]


@quickly
@given(drawn, st.data())
def test_effects_of_every_move(text: BookText, data: st.DataObject) -> None:
    twins = twins_of(text)
    scene = drawn_scene(data, twins)
    intact = possible_states(twins.frame, most_failures=0)
    for event in moves(twins.frame, scene.moment.state):
        name = event.item
        if twins.picture.system.variables[name].kind == "control":
            move = setting(twins, name, event.value)
            answer = effects(
                twins.book, move, start=scene.start, changes=scene.changes, elsewhere=True
            )
            expected = [t for t in run_of(twins, scene, {name: event.value}) if t[1] != name]
            assert sorted(as_told(e.change for e in answer.effects)) == sorted(expected), move
            assert_causes_first(e.change for e in answer.effects)
            before = twins.frame.named(scene.moment.state)[name]
            pairs = moved(twins.frame, intact, name, before, event.value)
            for effect in answer.effects:
                judged_rightly(twins, scene, event, effect, pairs)
            elsewhere_rightly(twins, event, answer, pairs)
            assert [(d.seconds, d.position) for d in answer.drops] == gone(twins, scene, event)
            assert set_off(twins, event, pairs) <= {name, *answer.may_change, *told_in(answer)}


def judged_rightly(twins: Twins, scene: Scene, event: Event, effect: Effect, pairs: Moved) -> None:
    """Whether it follows always, and if not, the smallest condition for it that is met here."""
    change = effect.change
    condition = condition_of(twins, change)
    if condition is None or change.seconds > 0:
        assert (effect.always, effect.when) == (False, None), change
        return
    if effect.always:
        assert all(brings(twins.frame, condition, pair) for pair in pairs), change
        assert effect.when == (), change
        return
    if effect.when is None and has_failures(twins, scene):
        return
    assert not all(brings(twins.frame, condition, p) and is_alone(twins, event, p) for p in pairs)
    met = [
        cube
        for cube in cubes_of(twins, event, scene, condition, pairs)
        if meets(twins, scene.moment.state, cube)
    ]
    if effect.when is None:
        assert not met, change
        return
    mine = cube_of(twins, effect.when)
    assert meets(twins, scene.moment.state, mine), change
    assert all(len(mine) <= len(cube) for cube in met), change
    assert_minimal(twins, event, condition, mine, pairs)


def condition_of(twins: Twins, change: Change) -> c.Condition | None:
    """What a change brings about, as a condition; None of what is no state that follows."""
    if change.kind == "feeder":
        return c.FedBy(change.thing, change.after)
    return words(twins.frame.things[change.thing]).get(change.after)


def has_failures(twins: Twins, scene: Scene) -> bool:
    """Whether something has failed here: what holds without failures may not hold then."""
    here = twins.state(scene.moment.state)
    return any(here[variable.name] for variable in twins.picture.system.failures())


def is_alone(twins: Twins, event: Event, pair: tuple[State, State]) -> bool:
    """Nothing but the control has changed: the move sets off no memory, not for an instant."""
    before, after = pair
    at_first = twins.frame.with_items(before, {event.item: event.value})
    return steps(twins.frame, at_first, before) == [after]


def meets(twins: Twins, state: State, cube: Cube) -> bool:
    """Whether the state lies in a cube of the program."""
    now = seen_state(twins, state)
    return all(now[name] in values for name, values in cube.items())


def seen_state(twins: Twins, state: State) -> dict[str, int]:
    """A state as values of the program's variables, and the levels of the supplies."""
    frame = twins.frame
    supplies = [thing for thing in frame.book.things if isinstance(thing, Supply)]
    levels = {s.name: s.levels.index(level_of(frame, state, s.name)) for s in supplies}
    return {**twins.state(state), **levels}


def assert_minimal(
    twins: Twins, event: Event, condition: c.Condition, cube: Cube, pairs: Moved
) -> None:
    """The move always brings it about in the cube; not in a wider one, or through a memory."""
    states = [(seen_state(twins, pair[0]), pair) for pair in pairs]

    def brought(wider: Cube) -> list[Moved]:
        here = [p for s, p in states if all(s[n] in values for n, values in wider.items())]
        return [here, [p for p in here if brings(twins.frame, condition, p)]]

    here, come = brought(cube)
    assert here
    assert here == come, cube
    for name, values in cube.items():
        others = frozenset(range(states_of(twins, name))) - values
        if is_ordered(twins, name):
            others &= {min(values) - 1, max(values) + 1}
        for other in others:
            here, come = brought({**cube, name: values | {other}})
            assert here != [p for p in come if is_alone(twins, event, p)], (cube, name)


def states_of(twins: Twins, name: str) -> int:
    """How many states an item has: the values of a variable, the levels of a supply."""
    thing = twins.frame.things.get(name)
    if isinstance(thing, Supply):
        return len(thing.levels)
    return len(twins.picture.system.variables[name].values)


def is_ordered(twins: Twins, name: str) -> bool:
    """Whether the states of an item lie in a row."""
    if isinstance(twins.frame.things.get(name), Supply):
        return True
    return twins.picture.system.variables[name].kind in ORDERED


def cubes_of(
    twins: Twins, event: Event, scene: Scene, condition: c.Condition, pairs: Moved
) -> list[Cube]:
    """Every minimal condition under which the move brings it about, through no memory."""
    before = twins.frame.named(scene.moment.state)[event.item]
    items = move_items(twins.frame, condition, event.item, before, event.value)
    come = {p for p in pairs if brings(twins.frame, condition, p) and is_alone(twins, event, p)}
    boxes = move_ways(twins.frame, come, pairs, items)
    return [twins.cube(items, box) for box in boxes]


def gone(twins: Twins, scene: Scene, event: Event) -> list[tuple[float, Value]]:
    """When a control that was moved goes elsewhere by itself, and where to."""
    frame, begin = twins.frame, scene.moment
    run = naive.history(frame, naive.happens(frame, begin, {event.item: event.value}))
    times = [round(float(moment.time - begin.time), 6) for moment in run]
    places = [event.value, *(frame.named(moment.state)[event.item] for moment in run)]
    steps_of = zip(times, pairwise(places), strict=True)
    return [(time, now) for time, (was, now) in steps_of if was != now]


def told_in(answer: Effects) -> set[str]:
    """The things that change here."""
    return {effect.change.thing for effect in answer.effects}


def set_off(twins: Twins, event: Event, pairs: Moved) -> set[str]:
    """The memories that the move makes due in some state or other; before it none is due."""
    found = set[str]()
    for before, _ in pairs:
        at_first = twins.frame.with_items(before, {event.item: event.value})
        found |= due(twins.frame, at_first).keys()
    return found & twins.frame.things.keys()


def elsewhere_rightly(twins: Twins, event: Event, answer: Effects, pairs: Moved) -> None:
    """Everything that the move brings about in other states alone, each with a condition for it."""
    told = told_in(answer)
    assert answer.elsewhere is not None
    mine = {(e.thing, e.text): cube_of(twins, e.when) for e in answer.elsewhere}
    for thing in twins.frame.book.things:
        for word, condition in {} if thing.name in told else words(thing).items():
            cube = mine.pop((thing.name, said(thing.name, kind_of(thing), word)), None)
            come = [pair for pair in pairs if brings(twins.frame, condition, pair)]
            alone = any(is_alone(twins, event, pair) for pair in come)
            assert not alone or thing.name in answer.may_change, (thing.name, word)
            if cube is None:
                assert not alone, (thing.name, word)
            else:
                assert_minimal(twins, event, condition, cube, pairs)
    assert not mine
