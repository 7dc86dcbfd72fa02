"""Whether what is stated differently makes a difference, and the smallest state in which it does.

A difference is looked for where it is made: with everything that the statement looks at taken as
it is, so that what only follows from another difference is not told again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from tellback.logic.differences.cases import Departures, beyond, in_words
from tellback.logic.differences.distance import Distance
from tellback.logic.differences.joint import SIDES, Joint
from tellback.logic.differences.parts import Part
from tellback.logic.differences.reaching import Reached, Reaching, at_one_time
from tellback.logic.differences.replaced import Two, row_change, with_replaced
from tellback.logic.differences.seen import Seen
from tellback.logic.path import Event, Witness
from tellback.logic.run import State
from tellback.logic.space import Node
from tellback.logic.words import listed

WORDING = "wording only"
DIFFERS = "differs"
UNDECIDED = "differs, not known to be possible"
NOWHERE = "no difference in any state that can be"
OPEN = "what it does then does not follow from the book"

TRIES = 8
"""How many states, nearest first, are looked at: for a run there, then, if need be, by a search."""

MOST_UNDECIDED = 2
"""After so many that a search could not decide, no more are searched."""

PATIENCE = 5_000
"""The effort of search that one such state may take."""


class _Nearest(NamedTuple):
    """A state near to a starting state: whether it can be, and whether no nearer one might be."""

    start: str
    state: dict[str, int]
    possible: bool
    smallest: bool
    runs: tuple[Witness, ...] = ()


class Told(NamedTuple):
    """An outcome as either book has it."""

    so: str
    not_so: str
    a: Node
    b: Node


Change = Callable[[Seen], list[tuple[Node, Node]]]
"""What becomes what: pairs of functions of what is looked at."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict, and for a difference a smallest state: from which start it departs by what.

    `state` gives the joint variables that the difference looks at, `whole` all of them; `a_does`
    and `b_does` tell what either then does, `only` the side (0 or 1) that alone can be in it: the
    other has not one of the positions, or never comes to it. `smallest` if no nearer state could
    show it; `after` is what is done from the start to come to it, where that is not plain from the
    departures.
    """

    verdict: str
    start: str = ""
    departures: tuple[str, ...] = ()
    a_does: str = ""
    b_does: str = ""
    only: int | None = None
    state: Mapping[str, int] | None = None
    whole: Mapping[str, int] | None = None
    smallest: bool = False
    after: tuple[str, ...] = ()


class Judge:
    """Judges parts of two books of one joint space."""

    def __init__(self, joint: Joint) -> None:
        self.joint = joint

    @cached_property
    def _starts(self) -> dict[str, Mapping[str, int]]:
        """The starting states that both have; if there is none, those of either."""
        named = [list(picture.starts) for picture in self.joint.pictures]
        both = [name for name in named[1] if name in named[0]]
        return {name: self.joint.start(name) for name in both or (*named[1], *named[0])}

    def part(self, a: Part, b: Part, limited: bool = True) -> Judgement:
        """Whether a part as a whole makes a difference; not `limited` to what can be at all."""

        def change(seen: Seen) -> list[tuple[Node, Node]]:
            return [(told.a, told.b) for told in _whole_of(seen, a, b)]

        return self._judge(change, a, b, limited)

    def rows(self, a: Part, b: Part, pairs: Sequence[Two]) -> list[Judgement]:
        """The same where the order counts: a state in which the very row differs, and the whole."""
        if len(pairs) == 1:
            return [self.part(a, b)]
        if self._equal(a, b):
            return [Judgement(WORDING) for _ in pairs]

        def change(two: Two) -> Change:
            return lambda seen: row_change(seen, two, a.own | b.own)

        return [self._judge(change(two), a, b) for two in pairs]

    def _equal(self, a: Part, b: Part) -> bool:
        return all(told.a == told.b for told in _whole_of(self.joint.local, a, b))

    def entries(
        self, a: Part, b: Part, pairs: Sequence[Two], limited: bool = True
    ) -> list[Judgement]:
        """For each pair whether putting the second in the place of the first makes a difference.

        The first ones are in their places already; where no order counts, that is no matter.
        """
        if self._equal(a, b):
            return [Judgement(WORDING) for _ in pairs]

        def change(number: int) -> Change:
            return lambda seen: [
                (
                    with_replaced(seen, a, b, pairs[:number]),
                    with_replaced(seen, a, b, pairs[: number + 1]),
                )
            ]

        return [self._judge(change(i), a, b, limited) for i in range(len(pairs))]

    def _judge(self, change: Change, a: Part, b: Part, limited: bool = True) -> Judgement:
        """Where it is to be seen, if it can: all else that is needed for that is met.

        And where no delay is running, and both books say what comes of it, unless that is nowhere.
        """
        if all(old == new for old, new in change(self.joint.local)):
            return Judgement(WORDING)
        joint, space = self.joint, self.joint.space
        changed = space.any_of(_unlike(old, new) for old, new in change(joint.seen))
        told = [
            Told(t.so, t.not_so, joint.actual(0, t.a), joint.actual(1, t.b))
            for t in _whole_of(joint.seen, a, b)
        ]
        here = joint.actual(0, changed) | joint.actual(1, changed)
        seen = self._is_shown(0, a) & self._is_shown(1, b)
        unlike = _unlike(joint.open(0), joint.open(1))
        states = (space.any_of(_unlike(t.a, t.b) for t in told) | unlike) & here
        clear = states & ~joint.open(0) & ~joint.open(1)
        judgement = Judgement(NOWHERE)
        for within in dict.fromkeys((clear & seen & joint.calm(clear), clear & seen, clear)):
            judgement = self._smallest(within, told, b.memory, limited)
            if judgement.verdict == DIFFERS:
                break
        if judgement.verdict == NOWHERE and clear != states:
            judgement = self._smallest(states & ~clear, told, b.memory, limited)
        return judgement

    def _is_shown(self, side: int, part: Part) -> Node:
        """When what the part comes to can be seen."""
        seen = self.joint.seen
        return self.joint.actual(side, seen.of(side, part.matters, part.own))

    # -- the smallest state -------------------------------------------------------------------

    def _smallest(self, states: Node, told: list[Told], memory: str, limited: bool) -> Judgement:
        names = self.joint.space.support(states)
        limits = list(self.joint.limits(names, memory)) if limited else []
        for only in (None, 1, 0):
            sides = SIDES if only is None else (only,)
            wanted = [*limits, *self.joint.known(sides, names)]
            found = self._nearest_possible(states, wanted, memory, sides if limited else ())
            if found is not None:
                return self._told(found, told, only)
        return Judgement(NOWHERE)

    def _nearest_possible(
        self, states: Node, limits: list[Node], memory: str, sides: Sequence[int]
    ) -> _Nearest | None:
        """The nearest state of the set within the limits that can be; None if none can.

        It must be possible in these books: by a run, looked for in the nearest few, or else by a
        search. If that does not decide it, the nearest not known to be impossible.
        """
        found = self._by_a_run(states, limits, memory, sides)
        return found or self._by_search(states, limits, memory, sides)

    def _by_a_run(
        self, states: Node, limits: list[Node], memory: str, sides: Sequence[int]
    ) -> _Nearest | None:
        for number in range(TRIES):
            nearest, states = self._nearest_within(states, limits)
            if nearest is None:
                return None
            runs = self._runs(nearest[1], memory, sides)
            if runs is not None:
                return _Nearest(*nearest, possible=True, smallest=number == 0, runs=runs)
            states = states & ~self.joint.space.point(nearest[1])
        return None

    def _runs(
        self, state: Mapping[str, int], memory: str, sides: Sequence[int]
    ) -> tuple[Witness, ...] | None:
        """A run to the state in each of these books, the same if may be; None if one has none.

        It must be the same, and the state at the same time, if something is not over yet in it.
        """
        own = {side: self._own(side, state, memory) for side in sides}
        found: dict[int, Reached] = {}
        for side in sides:
            reached = self._reaching[side].run(own[side], memory)
            if reached is None:
                return None
            found[side] = reached
            for other in sides:
                same = self._same_run(side, reached, other, own[other], memory)
                if same is not None and other != side:
                    runs = (reached.run, same) if side < other else (same, reached.run)
                    if at_one_time(self._reaching, runs, own):
                        return runs
        if len(found) > 1 and self._waits(state):
            return None
        return tuple(reached.run for reached in found.values())

    def _waits(self, state: Mapping[str, int]) -> bool:
        """Whether a delay that is not over yet is part of the state."""
        return any(not value and self._distance.is_delay(n) for n, value in state.items())

    def _same_run(
        self, side: int, reached: Reached, other: int, own: State, memory: str
    ) -> Witness | None:
        """What was done in one book to come to a state, done in the other."""
        events: list[Event | None] = []
        for event in reached.events:
            if event is not None:
                joint = self.joint.joint_state(side, {event.variable: event.value})
                there = self.joint.own_state(other, joint)
                events += [Event(name, value, False) for name, value in there.items()]
            else:
                events.append(None)
        return self._reaching[other].replay(reached.run.start, events, own, memory)

    def _by_search(
        self, states: Node, limits: list[Node], memory: str, sides: Sequence[int]
    ) -> _Nearest | None:
        undecided: list[tuple[str, dict[str, int]]] = []
        for _ in range(TRIES):
            nearest, states = self._nearest_within(states, limits)
            if nearest is None or len(undecided) == MOST_UNDECIDED:
                break
            can_be = {side: self._can_be(side, nearest[1], memory) for side in sides}
            together = len(sides) < 2 or not self._waits(nearest[1])
            if all(can_be.values()) and together:
                return _Nearest(*nearest, possible=True, smallest=not undecided)
            barred = [side for side, found in can_be.items() if found is False]
            for side in barred:
                states = states & ~self.joint.space.point(self._of_side(side, nearest[1], memory))
            if not barred:
                undecided.append(nearest)
                states = states & ~self.joint.space.point(nearest[1])
        left = undecided[0] if undecided else self._nearest_within(states, limits)[0]
        return None if left is None else _Nearest(*left, possible=False, smallest=False)

    def _nearest_within(
        self, states: Node, limits: list[Node]
    ) -> tuple[tuple[str, dict[str, int]] | None, Node]:
        """The nearest state of the set that keeps within the limits, and the set as it is then.

        A limit is put to the set only when the nearest state breaks it: all at once would be much.
        """
        holds = self.joint.space.holds
        while (nearest := self._nearest(states)) is not None:
            whole = {**self._starts[nearest[0]], **nearest[1]}
            broken = next((limit for limit in limits if not holds(limit, whole)), None)
            if broken is None:
                break
            states = states & broken
        return nearest, states

    def _nearest(self, states: Node) -> tuple[str, dict[str, int]] | None:
        """The state with the fewest departures from a start, as far as the set looks at it."""
        best: tuple[int, str, dict[str, int]] | None = None
        for name, start in self._starts.items():
            cost = self._distance.cost_from(start)
            state = self.joint.space.nearest(states, cost)
            if state is None:
                return None
            away = sum(cost(n, v) for n, v in state.items())
            if best is None or away < best[0]:
                best = away, name, state
        return best[1:] if best else None

    def _can_be(self, side: int, state: Mapping[str, int], memory: str) -> bool | None:
        """Whether one book can be so, whatever the memory that is just about to change."""
        picture = self.joint.pictures[side]
        own = self._own(side, state, memory)
        return picture.possible(own).meets(picture.symbols.space.point(own), PATIENCE)

    def _own(self, side: int, state: Mapping[str, int], memory: str) -> dict[str, int]:
        return self.joint.own_state(side, self._of_side(side, state, memory))

    @cached_property
    def _distance(self) -> Distance:
        return Distance(self.joint)

    @cached_property
    def _reaching(self) -> tuple[Reaching, Reaching]:
        a, b = self.joint.pictures
        return Reaching(a), Reaching(b)

    def _of_side(self, side: int, state: Mapping[str, int], memory: str) -> dict[str, int]:
        known = {joint: own for own, joint in self.joint.names[side].items()}
        return {n: v for n, v in state.items() if n in known and known[n] != memory}

    # -- in words -----------------------------------------------------------------------------

    def _told(self, found: _Nearest, told: list[Told], only: int | None) -> Judgement:
        begun = {run.start for run in found.runs}
        start = begun.pop() if len(begun) == 1 and begun <= set(self._starts) else found.start
        first = self._starts[start]
        departures = Departures(self.joint).of(first, found.state)
        whole = {**self._starts[found.start], **found.state}
        holds = self.joint.space.holds
        is_open = [holds(self.joint.open(side), whole) for side in SIDES]
        unlike = [(t, holds(t.a, whole), holds(t.b, whole)) for t in told]
        unlike = [(t, in_a, in_b) for t, in_a, in_b in unlike if in_a != in_b or any(is_open)]
        return Judgement(
            DIFFERS if found.possible else UNDECIDED,
            start,
            tuple(in_words(departures)),
            OPEN if is_open[0] else _does([(t, in_a) for t, in_a, _ in unlike]),
            OPEN if is_open[1] else _does([(t, in_b) for t, _, in_b in unlike]),
            only,
            found.state,
            whole,
            found.smallest and start == found.start,
            tuple(beyond(departures, found.runs[-1])) if found.runs else (),
        )


def _does(outcomes: Sequence[tuple[Told, bool]]) -> str:
    """What comes about, or if nothing does, what does not."""
    so = [told.so for told, holds in outcomes if holds]
    return listed(so or [told.not_so for told, _ in outcomes])


def _whole_of(seen: Seen, a: Part, b: Part) -> list[Told]:
    """The outcomes of a part as either book has them."""
    own = a.own | b.own
    sides = [{outcome.so: outcome for outcome in part.outcomes} for part in (a, b)]
    found = []
    for so, outcome in (sides[0] | sides[1]).items():
        nodes = [
            seen.of(side, known[so].when, own) if so in known else seen.space.false
            for side, known in enumerate(sides)
        ]
        found.append(Told(so, outcome.not_so, nodes[0], nodes[1]))
    return found


def _unlike(one: Node, other: Node) -> Node:
    return (one & ~other) | (other & ~one)
