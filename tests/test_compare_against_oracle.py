"""A drawn book compared with itself, and with a copy in which one statement is denied.

The smallest state told must be one in which the naive twin, asked of either book, sees the thing
behave differently; where no difference is claimed, the twin must see none in any possible state.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tellback.book import conditions as c
from tellback.book.effectivity import for_aeroplane
from tellback.book.model import (
    Book,
    Drive,
    Feed,
    Indication,
    Latch,
    Means,
    Reading,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.stated import rewritten, statements_of
from tellback.logic.answers.compare import compare
from tellback.logic.differences.judging import DIFFERS, NOWHERE, OPEN, WORDING
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import Found, differences_of
from tellback.logic.run import Unsettled
from tests.oracle.frame import Owner, State
from tests.oracle.meaning import row_first, target_of
from tests.oracle.reach import TooManyStates, possible_states
from tests.oracle.steps import NeverSteady, acting, moving_row
from tests.oracle.values import FeederCircle, Undecided, holds, passes, values
from tests.small_books import book_of
from tests.strategies import BookText, books
from tests.twins import Twins

LITTLE = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
KEYS = ("when", "runs when", "shed when", "needs", "shown when", "inhibited when", "set when",
        "cleared when")  # fmt: skip


def key_of(statement: Statement) -> str:
    return statement.key.removesuffix(" any of")


def plain(statement: Statement) -> bool:
    return key_of(statement) in KEYS and not any(
        isinstance(node, c.Edge) for node in c.walk(statement.condition)
    )


def candidates(book: Book) -> list[tuple[str, Statement]]:
    """Statements that the twin can be asked about, with the things whose they are."""
    return [
        (thing.name, statement)
        for thing in book.things
        if isinstance(thing, Means | Unit | Indication | Latch)
        for statement in statements_of(thing)
        if all(plain(other) for other in same_part(thing, key_of(statement)))
    ]


def same_part(thing: Thing, key: str) -> list[Statement]:
    return [s for s in statements_of(thing) if key_of(s) == key]


def denied(book: Book, chosen: Statement) -> Book:
    """The book with that statement denied."""

    def deny(statement: Statement) -> Statement:
        if statement is not chosen:
            return statement
        text = f"not ({statement.text})"
        return replace(statement, condition=c.Not(statement.condition), text=text)

    return replace(book, things=tuple(rewritten(thing, deny) for thing in book.things))


def reordered(condition: c.Condition) -> c.Condition:
    """The same condition, its parts the other way round and denied twice."""
    match condition:
        case c.All(parts):
            return c.Not(c.Any(tuple(c.Not(reordered(p)) for p in reversed(parts))))
        case c.Any(parts):
            return c.Any(tuple(map(reordered, reversed(parts))))
        case c.Not(part):
            return c.Not(reordered(part))
        case c.Held(part, seconds):
            return c.Held(reordered(part), seconds)
    return c.Not(c.Not(condition))


def part_holds(twins: Twins, state: State, name: str, key: str) -> bool:
    """Whether the part comes to `so`, as the naive twin sees it."""
    thing = twins.book.thing(name)
    each = [holds(twins.frame, state, s.condition, Owner(name)) for s in same_part(thing, key)]
    return all(each) if key == "needs" else any(each)


def twin_state(twins: Twins, sides: Sides, side: int, whole: Mapping[str, int]) -> State:
    """A joint state as the twin of one book has it."""
    own = sides.joint.own_state(side, whole)
    return tuple(
        domain[own.get(twins.names[item], 0)] for item, domain in twins.frame.items.items()
    )


@given(drawn=books(memories=True, circles="positive", most_states=200))
@LITTLE
def test_a_book_does_not_differ_from_itself(drawn: BookText) -> None:
    one, other = (book_of(drawn.chapter, drawn.type_file) for _ in range(2))
    assert not list(compare(one, other).changes)


@given(data=st.data(), drawn=books(memories=True, circles="positive", most_states=200))
@LITTLE
def test_a_statement_worded_otherwise_is_proved_equal(data: st.DataObject, drawn: BookText) -> None:
    book = for_aeroplane(book_of(drawn.chapter, drawn.type_file))
    (_, chosen) = data.draw(st.sampled_from(candidates(book)))

    def reword(statement: Statement) -> Statement:
        if statement is not chosen:
            return statement
        return replace(statement, condition=reordered(statement.condition), text="otherwise worded")

    other = replace(book, things=tuple(rewritten(thing, reword) for thing in book.things))
    assert {change.verdict for change in compare(book, other).changes} == {WORDING}
    assert not compare(book, other).differences


@given(data=st.data(), drawn=books(memories=True, circles="positive", most_states=200))
@LITTLE
def test_a_denied_statement_is_found_and_the_state_tells(
    data: st.DataObject, drawn: BookText
) -> None:
    book = for_aeroplane(book_of(drawn.chapter, drawn.type_file))
    name, chosen = data.draw(st.sampled_from(candidates(book)))
    sides = Sides(book, denied(book, chosen))
    found = only_difference(sides)
    assert (found.item, found.key) == (name, key_of(chosen))
    assert_as_the_twins_see_it(sides, found)


@given(data=st.data(), drawn=books(memories=True, circles="positive", most_states=200))
@LITTLE
def test_changed_rows_and_drives_are_found_and_the_state_tells(
    data: st.DataObject, drawn: BookText
) -> None:
    book = for_aeroplane(book_of(drawn.chapter, drawn.type_file))
    changes = [(thing, new) for thing in book.things for new in with_other_rows(thing)]
    assume(changes)
    old, new = data.draw(st.sampled_from(changes))
    things = tuple(new if thing is old else thing for thing in book.things)
    sides = Sides(book, replace(book, things=things))
    found = only_difference(sides)
    assert found.item == old.name
    assert_as_the_twins_see_it(sides, found)


def only_difference(sides: Sides) -> Found:
    try:
        (found,) = differences_of(sides)
    except Unsettled:
        assume(False)
    return found


# -- books with other rows --------------------------------------------------------------------


def with_other_rows(thing: Thing) -> Iterator[Thing]:
    """The thing with one row, feed or drive otherwise, or with all in another order."""
    match thing:
        case Supply(feeds=feeds):
            others = map(other_feed, feeds)
            yield from (replace(thing, feeds=rows) for rows in other_rows(feeds, others))
        case Surface(drives=drives):
            others = map(other_drive, drives)
            yield from (replace(thing, drives=rows) for rows in other_rows(drives, others))
        case Reading(follows=rows) if rows:
            values = (replace(row, value=row.value + 7) for row in rows)
            yield from (replace(thing, follows=new) for new in other_rows(rows, values))
        case Reading(moves=rows) if rows:
            rates = (replace(row, rate=row.rate + 1) for row in rows)
            yield from (replace(thing, moves=new) for new in other_rows(rows, rates))


Row = TypeVar("Row")


def other_rows(rows: tuple[Row, ...], others: Iterable[Row]) -> Iterator[tuple[Row, ...]]:
    for i, other in enumerate(others):
        yield (*rows[:i], other, *rows[i + 1 :])
    if len(rows) > 1:
        yield rows[::-1]
        yield rows[1:]


def other_feed(feed: Feed) -> Feed:
    """The feed with its own condition denied, or with one that is never so."""
    when = feed.when or replace(feed.statement, condition=c.ALWAYS)
    parts = feed.statement.condition
    assert isinstance(parts, c.All)
    kept = parts.parts[:-1] if feed.when else parts.parts
    never = c.Not(when.condition)
    return replace(
        feed,
        when=replace(when, condition=never),
        statement=replace(feed.statement, condition=c.All((*kept, never)), text="denied"),
    )


def other_drive(drive: Drive) -> Drive:
    return replace(drive, takes=drive.takes + 4)


# -- what the twins see -----------------------------------------------------------------------


def comes_to(twins: Twins, state: State, name: str, key: str) -> Hashable:
    """What the part comes to, as the naive twin sees it; that it does not follow from the book."""
    try:
        values(twins.frame, state)
    except Undecided:
        return OPEN
    thing = twins.book.thing(name)
    frame = twins.frame
    match thing:
        case Supply(feeds=feeds) if key == "fed by":
            true = values(frame, state)
            rows = [i for i in range(len(feeds)) if ("delivers", name, i, 1) in true]
            levels = [n for n in range(len(thing.levels)) for i in rows
                      if ("delivers", name, i, n) in true]  # fmt: skip
            return feeds[rows[0]].source if rows else "", max(levels, default=0)
        case Surface():
            number = acting(frame, state, thing)
            if number is None:
                return None
            drive = thing.drives[number]
            return target_of(drive, frame.named(state)), drive.takes
        case Reading(moves=moving) if moving:
            number = moving_row(frame, state, thing)
            return None if number is None else (moving[number].value, moving[number].rate)
        case Reading():
            first = [i for i in range(len(thing.follows))
                     if passes(frame, state, row_first(frame, name, thing.follows, i))]  # fmt: skip
            return thing.follows[first[0]].value if first else thing.low
    return part_holds(twins, state, name, key)


def assert_as_the_twins_see_it(sides: Sides, found: Found) -> None:
    judgement = found.judgement
    assert judgement is not None
    twins = Twins(sides.book_a, ()), Twins(sides.book_b, ())
    if judgement.whole is not None:
        states = [twin_state(twin, sides, i, judgement.whole) for i, twin in enumerate(twins)]
        seen = [comes_to(t, s, found.item, found.key) for t, s in zip(twins, states, strict=True)]
        assert seen[0] != seen[1]
        for told, does in zip((judgement.a_does, judgement.b_does), seen, strict=True):
            assert (told == OPEN) == (does == OPEN)
            if isinstance(does, bool):
                assert does != told.startswith(NOT_SO)
    try:
        both = [possible_states(twin.frame).states for twin in twins]
    except (NeverSteady, TooManyStates, Undecided, FeederCircle):
        return
    if judgement.verdict == DIFFERS:
        assert can_be_in_each(sides, found, twins, both)
    elif judgement.verdict in (NOWHERE, WORDING) and same_delays(*twins):
        assert tells_apart_nowhere(twins, found, set(both[0]) & set(both[1]))


NOT_SO = ("it is not", "its needs are not", "it does not")


def can_be_in_each(
    sides: Sides, found: Found, twins: tuple[Twins, Twins], both: list[list[State]]
) -> bool:
    """Each book has a possible state like the one told, the memory that changes left aside.

    One of them alone, if it says so.
    """
    assert found.judgement is not None
    assert found.judgement.state is not None
    for side, (twin, possible) in enumerate(zip(twins, both, strict=True)):
        own = sides.joint.own_state(side, found.judgement.state)
        looked_at = {
            item: domain[own[twin.names[item]]]
            for item, domain in twin.frame.items.items()
            if twin.names[item] in own and item not in (found.item, f"{found.item} cancelled")
        }
        can_be = any(looked_at.items() <= twin.frame.named(state).items() for state in possible)
        if can_be != (found.judgement.only in (None, side)):
            return False
    return True


def same_delays(one: Twins, other: Twins) -> bool:
    return one.frame.delays == other.frame.delays


def tells_apart_nowhere(twins: tuple[Twins, Twins], found: Found, states: set[State]) -> bool:
    """The part comes to the same in each of these states."""
    return all(
        comes_to(twins[0], state, found.item, found.key)
        == comes_to(twins[1], state, found.item, found.key)
        for state in states
    )


def test_the_cases_are_not_all_of_one_kind() -> None:
    """What the drawn books are asked covers differing and not differing alike."""
    text = "controls: {s: {positions: [A, B]}}\nsituations: {x: {}}\n" \
        "means:\n  m: {when: s at A and x}\n  n: {when: m and s at B}\n"  # fmt: skip
    book = for_aeroplane(book_of(text))
    verdicts = []
    for _, statement in candidates(book):
        (found,) = differences_of(Sides(book, denied(book, statement)))
        assert found.judgement is not None
        verdicts.append(found.judgement.verdict)
    assert verdicts == [DIFFERS, DIFFERS]
