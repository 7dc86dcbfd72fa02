"""The chain of causes keeps what `docs/meaning.md` says of it, on drawn books.

Each link is so at its time; what it rests on is enough for what defines it, whatever else is, and
no link of that could be left out; a memory is explained by the instant before it changed; no
reason goes round in a circle; and each chain ends at what was moved, failed, came from outside, or
was so in the starting state.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from tellback.logic.acting import Acting, Acts
from tellback.logic.answers.why import why
from tellback.logic.chain import FAILED, ITSELF, MOVED, OUTSIDE, START
from tellback.logic.formula import Formula, Key, Lit, Ref, leaves, neg
from tellback.logic.instants import instants_of
from tellback.logic.reasons import At
from tellback.logic.scene import settings_of
from tellback.logic.solve import Valuation
from tellback.logic.speech import Fact, Speech
from tests.oracle.changes import may_happen
from tests.oracle.steps import moves, steps
from tests.oracle.timed import starting_moments
from tests.scenes import drawn_scene
from tests.strategies import BookText, books
from tests.test_answers_against_oracle import drawn, quickly
from tests.twins import Twins, twins_of

several = settings(quickly, max_examples=40)
MOST = 150
"""So many settings of what a definition speaks of are tried."""


@several
@given(drawn, st.data())
def test_the_instants_of_the_first_event_are_the_steps_of_the_oracle(
    text: BookText, data: st.DataObject
) -> None:
    twins = twins_of(text)
    start, moment = data.draw(st.sampled_from(list(starting_moments(twins.frame).items())))
    event = data.draw(st.sampled_from(moves(twins.frame, moment.state)))
    changed = twins.frame.with_items(moment.state, {event.item: event.value})
    trail = steps(twins.frame, changed, moment.state)
    expected = without_repeats([seen(twins, twins.state(state)) for state in trail])
    change = {twins.names[event.item]: twins.frame.items[event.item].index(event.value)}
    passed = instants_of(twins.picture, twins.picture.starts[start], change).passed[1:]
    later = next((i for i, one in enumerate(passed) if i and one.begins), len(passed))
    assert without_repeats([seen(twins, one.state) for one in passed[:later]]) == expected


def seen(twins: Twins, state: Mapping[str, int]) -> dict[str, int]:
    """A state without what was so in the last steady state, which the oracle keeps elsewhere."""
    return {n: v for n, v in state.items() if twins.picture.system.variables[n].kind != "last"}


def without_repeats(states: list[dict[str, int]]) -> list[dict[str, int]]:
    return [state for i, state in enumerate(states) if i == 0 or state != states[i - 1]]


@several
@given(drawn, st.data())
def test_each_link_is_so_and_rests_on_enough_and_no_more(
    text: BookText, data: st.DataObject
) -> None:
    twins = twins_of(text)
    scene = drawn_scene(data, twins)
    picture = twins.picture
    changes = settings_of(picture, scene.changes)
    acts = Acts(picture, instants_of(picture, picture.starts[scene.start], changes))
    now = At(acts.instants.last)
    formula = twins.picture.formula(data.draw(st.sampled_from(twins.questions)))
    true = formula if acts.reasons.holds(formula, now) else neg(formula)
    fact = acts.reasons.fact(true, now)
    if fact is None:
        acting = acts.of_condition(true, now)
        assert acting is not None
        check_part(acts, true, acting)
        check_founded(acts, true, now)
        work = facts_of(acting)
    else:
        work = [(fact, now.index)]
    done = set()
    while work:
        one = work.pop()
        if one not in done:
            done.add(one)
            work += check_link(acts, *one)


with_memories = st.one_of(books(memories=True), books(memories=True, circles="positive"))


@several
@given(with_memories)
def test_each_memory_that_changed_is_explained_by_the_instant_before(text: BookText) -> None:
    """After every single move from every starting state."""
    twins = twins_of(text)
    picture = twins.picture
    for start, moment in starting_moments(twins.frame).items():
        for event in moves(twins.frame, moment.state):
            if not may_happen(twins.frame, moment, frozenset({(event.item, event.value)})):
                continue
            value = twins.frame.items[event.item].index(event.value)
            change = {twins.names[event.item]: value}
            acts = Acts(picture, instants_of(picture, picture.starts[start], change))
            first, last = acts.instants.passed[0].state, acts.instants.passed[-1].state
            for name, variable in picture.system.variables.items():
                kept = variable.is_input or variable.kind in ("delay", "last")
                if not kept and first[name] != last[name]:
                    fact = Fact(name, frozenset({last[name]}))
                    assert acts.on(fact, acts.instants.last) is not None
                    check_link(acts, fact, acts.instants.last)


def facts_of(acting: Acting) -> list[tuple[Fact, int]]:
    return [(Fact(n, values), acting.at.index) for n, values in acting.part.items()]


def check_link(acts: Acts, fact: Fact, at: int) -> list[tuple[Fact, int]]:
    """The link is so, and what acts on it did bring it about; what that rests on."""
    so = acts.speech.formula(fact.name, fact.values)
    assert acts.reasons.holds(so, At(at)), fact
    acting = acts.on(fact, at)
    variable = acts.system.variables.get(fact.name)
    if variable is None:
        assert acting is not None
        assert acting.at == At(at)
        check_part(acts, acting.formula, acting)
        assert is_enough(acts, defined(acts.speech, fact), acting.part, acting.at)
        check_founded(acts, so, acting.at)
    elif acting is not None:
        check_part(acts, acting.formula, acting)
        if variable.kind != "delay":
            check_change(acts, fact, at, acting)
    return facts_of(acting) if acting else []


def check_change(acts: Acts, fact: Fact, at: int, acting: Acting) -> None:
    """The part was there in the instant before the fact came to be, and was enough for that."""
    came = acts.instants.since(acts.speech.formula(fact.name, fact.values), at)
    if not acting.keeps:
        assert not came
        assert all(is_enough(acts, neg(f), acting.part, acting.at) for f in leaving(acts, fact, at))
        return
    assert acting.at.index == (came - 1 if came else at)
    value = acts.instants.passed[came].state[fact.name]
    here = acts.instants.passed[acting.at.index].state[fact.name]
    enough = [r.condition for r in acts.system.steps if (r.variable, r.value) == (fact.name, value)]
    for place in acts.system.surfaces:
        if place.variable == fact.name:
            enough += [sent for t, sent in place.targets if toward(t, value, here)]
    for number in acts.system.numbers:
        if number.variable == fact.name:
            for row, (applies, goal, _) in enumerate(number.rows):
                earlier = (r[0] for r in number.rows[:row])
                first = not any(acts.reasons.holds(r, acting.at) for r in earlier)
                if first and toward(number.regions.index(goal), value, here):
                    enough.append(applies)
    holding = [f for f in enough if acts.reasons.holds(f, acting.at)]
    assert any(is_enough(acts, f, acting.part, acting.at) for f in holding), (fact, acting)


def leaving(acts: Acts, fact: Fact, at: int) -> Iterator[Formula]:
    """All that would move a memory from where it is."""
    here = acts.instants.passed[at].state[fact.name]
    for rule in acts.system.steps:
        if rule.variable == fact.name and rule.value != here:
            yield rule.condition
    for surface in acts.system.surfaces:
        if surface.variable == fact.name:
            yield from (sent for target, sent in surface.targets if target != here)
    for number in acts.system.numbers:
        if number.variable == fact.name:
            yield from (applies for applies, _, _ in number.rows)


def toward(target: int, value: int, here: int) -> bool:
    return target == value if value == here else (target > here) == (value > here)


def defined(speech: Speech, fact: Fact) -> Formula:
    """The definition of a fact that follows from others, one step of it."""
    formula = speech.formula(fact.name, fact.values)
    return opened(speech, formula)


def opened(speech: Speech, formula: Formula) -> Formula:
    match formula:
        case Ref(key):
            return speech.system.values[key]
    if hasattr(formula, "part"):
        return neg(opened(speech, formula.part))
    return type(formula)(tuple(opened(speech, part) for part in formula.parts))  # type: ignore[union-attr, call-arg]


def check_part(acts: Acts, formula: Formula, acting: Acting) -> None:
    """The part is so, is enough for the formula, and is not without any of its facts."""
    for name, values in acting.part.items():
        assert acts.reasons.holds(acts.speech.formula(name, values), acting.at), name
    assert is_enough(acts, formula, acting.part, acting.at)
    for name in acting.part:
        fewer = {n: values for n, values in acting.part.items() if n != name}
        assert not is_enough(acts, formula, fewer, acting.at), (formula, name)


def is_enough(acts: Acts, formula: Formula, part: Mapping[str, frozenset[int]], at: At) -> bool:
    """Whether the formula is so however all else stands that it speaks of, failures apart."""
    quiet = frozenset(acts.system.edges() if at.quiet else ())
    names = list(dict.fromkeys([*spoken_of(acts.speech, formula, quiet), *part]))
    state = acts.instants.passed[at.index].state
    free = []
    for name in names:
        variable = acts.system.variables.get(name)
        kind = variable.kind if variable else ""
        granted = kind == "last" or (kind == "failure" and name not in part and not state[name])
        every = range(acts.speech.size(name))
        free.append([state[name]] if granted else sorted(part.get(name, every)))
    return all(
        value_with(acts, formula, dict(zip(names, chosen, strict=True)), quiet)
        for chosen in some(free)
    )


def some(free: list[list[int]]) -> Iterator[tuple[int, ...]]:
    """All choices if they are few, else many of them."""
    count = 1
    for values in free:
        count *= len(values)
    if count <= MOST:
        yield from product(*free)
    else:
        chance = random.Random(count)
        for _ in range(MOST):
            yield tuple(chance.choice(values) for values in free)


def spoken_of(speech: Speech, formula: Formula, quiet: frozenset[Key]) -> Iterator[str]:
    """The facts that a formula speaks of, through all that makes up a thing inside."""
    work, met = [formula], set(quiet)
    while work:
        for leaf, _ in leaves(work.pop()):
            if isinstance(leaf, Lit):
                yield leaf.variable
            elif (told := speech.told(leaf.key)) is not None:
                yield told[0]
            elif leaf.key not in met:
                met.add(leaf.key)
                if leaf.key[1] != "held":
                    work.append(speech.system.values[leaf.key])


def value_with(
    acts: Acts, formula: Formula, chosen: Mapping[str, int], quiet: frozenset[Key]
) -> bool:
    """The formula where these facts have these values, each as if by itself."""
    known: dict[Key, int] = {(d.variable, "held"): 1 for d in acts.system.delays}
    known |= dict.fromkeys(quiet, 0)
    for key in acts.system.values:
        told = acts.speech.told(key)
        if told is not None:
            known[key] = int(chosen.get(told[0], 0) in told[1])

    def literal(lit: Lit) -> int:
        return int(chosen[lit.variable] in lit.values)

    return bool(Valuation(acts.picture.graph, 1, 0, lambda b: 1 - b, literal, known).of(formula))


def check_founded(acts: Acts, so: Formula, at: At) -> None:
    """The memories and inputs at which the reasons end are enough for the whole, at that instant.

    A reason that went round in a circle would leave it open.
    """
    fact = acts.reasons.fact(so, at)
    first = acts.on(fact, at.index) if fact else acts.of_condition(so, at)
    if first is None or first.at != at:
        return
    ends: dict[str, frozenset[int]] = {}
    work, done = facts_of(first), set()
    while work:
        one, index = work.pop()
        if one in done:
            continue
        done.add(one)
        variable = acts.system.variables.get(one.name)
        if variable is not None and variable.kind != "delay":
            ends[one.name] = ends.get(one.name, one.values) & one.values
            continue
        if variable is not None:
            ends[one.name] = one.values
        acting = acts.on(one, index)
        assert acting is not None
        work += facts_of(acting)
    chance = random.Random(len(ends))
    state = acts.instants.passed[at.index].state
    for _ in range(60):
        other = {}
        for name, variable in acts.system.variables.items():
            granted = variable.kind in ("last", "failure") and not state[name]
            values = sorted(ends.get(name, range(len(variable.values))))
            other[name] = state[name] if granted and name not in ends else chance.choice(values)
        assert acts.picture.aeroplane.values(other).of(so), (so, ends)


@several
@given(drawn, st.data())
def test_each_chain_ends_where_it_may(text: BookText, data: st.DataObject) -> None:
    twins = twins_of(text)
    scene = drawn_scene(data, twins)
    condition = data.draw(st.sampled_from(twins.questions))
    question = twins.picture.phrase(condition)
    answer = why(twins.book, question, start=scene.start, changes=scene.changes)
    moved = {change.partition(": ")[0] for change in scene.changes}
    for link in answer.chain:
        assert bool(link.causes) != bool(link.end)
        assert all(0 <= place < len(answer.chain) for place in link.causes)
        assert link.end in ("", MOVED, FAILED, OUTSIDE, START, ITSELF)
        if link.end in (MOVED, FAILED, OUTSIDE):
            assert link.item.thing in moved
            assert link.seconds == 0
        if link.end == START:
            assert link.seconds is None
    told = {place for link in answer.chain for place in link.causes}
    told |= {place for place, link in enumerate(answer.chain) if link.depth == 0}
    assert told == set(range(len(answer.chain)))
    assert list(answer.because) == [link.item for link in answer.chain if link.depth == 0]
