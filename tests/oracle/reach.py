"""Possible states, by explicit search, with time abstracted.

From each state any one input may move, any running delay may elapse next, any moving surface may
arrive next and any moving reading may enter its next region, whatever their times. So the states
found here include every state of the runs in time, and perhaps more: what holds in all of them is
proved; a state found here need not be reached in time.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

from tellback.book import conditions as c
from tests.oracle.frame import OK, Frame, State, failure_of
from tests.oracle.steps import Event, after_event, happenings, is_impossible, moves
from tests.oracle.timed import starting_moments
from tests.oracle.values import feeders, holds

MOST_STATES = 20_000


class TooManyStates(Exception):
    """The book has more possible states than the oracle is allowed to look at."""


@dataclass(frozen=True)
class Possible:
    """The states reached, each with how it was first reached: from which state, by what."""

    came_from: dict[State, tuple[State, Event] | None]

    @property
    def states(self) -> list[State]:
        """All states, in the order they were found."""
        return list(self.came_from)

    def only(self, states: Iterable[State]) -> Possible:
        """The same with only some of the states."""
        return Possible({state: self.came_from[state] for state in states})

    def run_to(self, state: State) -> list[Event]:
        """A shortest sequence of events from a starting state."""
        result: list[Event] = []
        while (step := self.came_from[state]) is not None:
            state, event = step
            result.append(event)
        return result[::-1]


def possible_states(
    frame: Frame, most: int = MOST_STATES, start: str = "", most_failures: int | None = None
) -> Possible:
    """Every state reached from a starting state, never entering an impossible one.

    `start` limits to runs from one starting state, `most_failures` to runs on which never more
    things fail at a time. Raises TooManyStates, and Undecided, FeederCircle or NeverSteady where
    the book has no meaning.
    """
    moments = starting_moments(frame)
    first = [moments[start]] if start else list(moments.values())
    came_from: dict[State, tuple[State, Event] | None] = {m.state: None for m in first}
    waiting = deque(came_from)
    while waiting:
        state = waiting.popleft()
        feeders(frame, state)
        for event in (*moves(frame, state), *happenings(frame, state)):
            after = after_event(frame, state, event)
            if after in came_from or not may_enter(frame, after, most_failures):
                continue
            came_from[after] = (state, event)
            waiting.append(after)
            if len(came_from) > most:
                raise TooManyStates(f"more than {most:,} possible states")
    return Possible(came_from)


def may_enter(frame: Frame, state: State, most_failures: int | None) -> bool:
    """The state is not impossible and has no more failures than allowed."""
    allowed = most_failures is None or number_of_failures(frame, state) <= most_failures
    return allowed and not is_impossible(frame, state)


def number_of_failures(frame: Frame, state: State) -> int:
    """How many things have failed."""
    items = frame.named(state)
    return sum(items[failure_of(t.name)] != OK for t in frame.book.things if t.fails)


def can(frame: Frame, condition: c.Condition, possible: Possible) -> list[Event] | None:
    """A shortest sequence of events to a state with the condition; None if there is none."""
    for state in possible.states:
        if holds(frame, state, condition):
            return possible.run_to(state)
    return None
