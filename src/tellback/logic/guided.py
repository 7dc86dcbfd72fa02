"""Runs in time toward a set of states; every moment on the way is kept, for it may show more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from tellback.logic.formula import Formula, literals, neg
from tellback.logic.path import Witness
from tellback.logic.run import Aeroplane, Barred, Moment, State, Unsettled
from tellback.logic.space import Node
from tellback.logic.symbols import Symbols
from tellback.logic.words import literal_text

Moves = list[tuple[str, int]]

TimedMoves = tuple[tuple[float, str, int], ...]
"""When what was moved, and to which of its values."""

MEMORY = 20
"""As many inputs are moved rather than a memory changed."""

FEW = 3
"""How many starting states are tried before the others, if any run will do."""

DEPTH = 3
"""How many causes in a row a run brings about before it is given up."""


class GuidedRuns:
    """The runs of one aeroplane toward what was asked for so far."""

    def __init__(self, symbols: Symbols, runner: Aeroplane, starts: Mapping[str, Moment]) -> None:
        self.symbols = symbols
        self.space = symbols.space
        self.runner = runner
        self.system = symbols.system
        self.variables = self.system.variables
        self._inputs = [v.name for v in self.variables.values() if v.is_input]
        self._memories = [v.name for v in self.variables.values() if not v.is_input]
        self.allowed = ~symbols.of(self.system.impossible)
        self.starts = [Witness(name, (), moment, 0) for name, moment in starts.items()]
        self.seen: dict[tuple[int, ...], Witness] = {}
        self._states: list[State] = []
        self._where = {v.name: [0] * len(v.values) for v in self.variables.values()}
        for run in self.starts:
            self._see(run)
        self._kept: list[Witness] = []
        self._known: dict[tuple[int, str, int], tuple[Witness, ...]] = {}
        self._moved_in: dict[int, TimedMoves] = {id(run): () for run in self.starts}
        self._of_use: list[Witness] = []

    def follow(self, other: GuidedRuns) -> None:
        """Make again, as far as it can be done, the runs of another aeroplane that were of use."""
        starts = {run.start: run for run in self.starts}
        for run in other._of_use:
            if run.start in starts:
                self._again(starts[run.start], other._moved_in[id(run)])

    def _again(self, run: Witness | None, moves: TimedMoves) -> None:
        for time, name, value in moves:
            variable = self.variables.get(name)
            if run is None or variable is None or value >= len(variable.values):
                return
            waited = [then for then in self._waiting(run) if then.end.time <= time]
            run = self._moved(waited[-1] if waited else run, name, value)
        if run is not None:
            self._waiting(run)

    def met(self, node: Node) -> bool:
        """Whether a run already made ends in the set."""
        return bool(self._ending(node))

    def at_hand(self, node: Node) -> State | None:
        """A state in the set in which a run already made ends."""
        ending = self._ending(node)
        return self._states[ending.bit_length() - 1] if ending else None

    def _ending(self, node: Node) -> int:
        """Some of the states, a bit each, in which runs end, that lie in the set."""
        return self.space.some_of(node, self._where, (1 << len(self.seen)) - 1)

    def into(self, node: Node) -> Witness | None:
        """A run already made that ends in the set, the one with the fewest moves."""
        runs = [run for run in self.seen.values() if self.space.holds(node, run.end.state)]
        return min(runs, key=lambda run: len(run.steps), default=None)

    def to(self, node: Node) -> Witness | None:
        """A run to the set from the starting state that is nearest to it, or from another one.

        What a memory must have become is brought about first, by what the book says changes it.
        """
        return self._to(node, self.starts)

    def quickly_to(self, node: Node) -> Witness | None:
        """The same without looking for the nearest of all starting states first."""
        few = self._few
        others = [run for run in self.starts if run not in few]
        return self._to(node, few) or self._to(node, others) or self._to(self._lasting(node), few)

    def soon_to(self, node: Node) -> Witness | None:
        """A run to the set from a few of the starting states."""
        return self._to(node, self._few)

    @property
    def _few(self) -> list[Witness]:
        """A few of the starting states, as unlike one another as they may be."""
        return self.starts[:: -max(1, len(self.starts) // FEW)][:FEW]

    def _lasting(self, node: Node) -> Node:
        """The states in which no surface moves for which a delay of the set waits.

        One that is only passed on the way does not last until the delay has elapsed.
        """
        of, system = self.symbols.of, self.system
        support = set(self.space.support(node))
        waits = [system.values[r.variable, "held"] for r in system.delays if r.variable in support]
        spoken_of = {lit.variable for waited in waits for lit in literals(waited)}
        return node & self.space.all_of(
            ~(of(sent) & ~self.space.literal(rule.variable, (place,)))
            for rule in system.surfaces
            if rule.variable in spoken_of
            for place, sent in rule.targets
        )

    def _to(self, node: Node, starts: list[Witness]) -> Witness | None:
        if node & self.allowed == self.space.false:
            return None
        ends = [(run, self._end(node, run)) for run in starts]
        for run, end in sorted(ends, key=lambda pair: self._away(*pair)):
            found = self._reached(node, run, end, DEPTH)
            if found is not None:
                self._of_use.append(found)
                return found
        return None

    def _reached(self, node: Node, run: Witness, end: State, depth: int) -> Witness | None:
        """The run carried on to the set; None if that takes more than `depth` causes in a row."""
        for _ in range(depth + 1):
            found = self._toward(node, run, self._moves(run, end))
            missing = [(n, v) for n, v in self._differing(run, end) if not self._is_input(n)]
            if found is not None or not missing or depth == 0:
                return found
            caused = self._caused(*missing[0], run, depth - 1)
            if caused is None:
                return None
            run, end = caused, self._end(node, caused)
        return None

    def _end(self, node: Node, run: Witness) -> State:
        """The allowed state of the set that is nearest to the end of a run, no lock in between."""
        wanted = node & self.allowed
        end = self._nearest(wanted, run.end.state)
        free = self._unbarred(self._moves(run, end))
        if free == self.space.true:
            return end
        return self._nearest(wanted & free, run.end.state) or end

    def _caused(self, memory: str, value: int, run: Witness, depth: int) -> Witness | None:
        """The run carried on until a memory has a value."""
        goal = self.space.literal(memory, (value,))
        for cause in self._causes(memory, value):
            node = self.symbols.of(cause)
            found = self._reached(node, run, self._end(node, run), depth)
            after = found and self._toward(goal, found, [])
            if after is not None:
                return after
        return None

    def _causes(self, memory: str, value: int) -> Iterator[Formula]:
        """What makes a memory take a value, or go where it passes through it."""
        system = self.system
        yield from (r.condition for r in system.steps if (r.variable, r.value) == (memory, value))
        held = [(rule.variable, rule.condition) for rule in system.delays]
        held += [(rule.variable, rule.condition) for rule in system.lasts]
        yield from (cause if value else neg(cause) for name, cause in held if name == memory)
        for surface in system.surfaces:
            if surface.variable == memory:
                targets = sorted(surface.targets, key=lambda target: abs(target[0] - value))
                yield from (sent for _, sent in targets)
        for number in system.numbers:
            if number.variable == memory:
                yield from (row for row, goal, _ in number.rows)

    # -- where to go ------------------------------------------------------------------------

    def _is_input(self, name: str) -> bool:
        return self.variables[name].is_input

    def _nearest(self, node: Node, state: State) -> State:
        """How the nearest state of a set differs from a given one, memories counting most."""
        held = {name: state[name] for name in self._memories}
        there = node & self.space.point(held)
        changed: State = {}
        if there == self.space.false:
            over = self.space.exists(node, self._inputs)
            changed = self.space.nearest_to(over, state) or {}
            there = node & self.space.point({**held, **changed})
        return {**changed, **(self.space.nearest_to(there, state) or {})}

    def _differing(self, run: Witness, end: State) -> Moves:
        return [(n, v) for n, v in end.items() if run.end.state[n] != v]

    def _away(self, run: Witness, end: State) -> int:
        """How much the end of a run differs from a state."""
        return sum(1 if self._is_input(n) else MEMORY for n, _ in self._differing(run, end))

    def _moves(self, run: Witness, end: State) -> Moves:
        return [(n, v) for n, v in self._differing(run, end) if self._is_input(n)]

    def _unbarred(self, moves: Moves) -> Node:
        """States in which no control is where one of the moves goes although a lock bars it."""
        bars = [r for r in self.system.bars if (r.variable, r.value) in moves]
        return self.space.all_of(
            ~(self.symbols.of(r.condition) & self.space.literal(r.variable, (r.value,)))
            for r in bars
        )

    # -- going there ------------------------------------------------------------------------

    def _toward(self, node: Node, run: Witness, moves: Moves) -> Witness | None:
        """The moves made from the end of a run, in either order, until the set is met."""
        if self.space.holds(node, run.end.state):
            return run
        crew_last = sorted(moves, key=lambda move: self.variables[move[0]].kind == "control")
        for order in (crew_last, crew_last[::-1]) if len(moves) > 1 else (moves,):
            for further in self.moments(run, order):
                if self.space.holds(node, further.end.state):
                    return further
        return None

    def moments(self, run: Witness, moves: Moves) -> Iterator[Witness]:
        """The moments after a run if the moves are made one after the other, and then nothing.

        It ends early where a move cannot be made, or leads to what is stated impossible.
        """
        for name, value in moves:
            further = self._moved(run, name, value)
            if further is None:
                return
            run = further
            yield run
        yield from self._waiting(run)

    def _moved(self, run: Witness, name: str, value: int) -> Witness | None:
        """The run with one more move; None if it cannot be made."""
        key = id(run), name, value
        if key not in self._known:
            self._known[key] = tuple(self._allowed_moves(run, name, value))
        return next(iter(self._known[key]), None)

    def _allowed_moves(self, run: Witness, name: str, value: int) -> Iterator[Witness]:
        try:
            after = self.runner.move(run.end, {name: value})
        except (Barred, Unsettled):
            return
        text = literal_text(self.system, name, [value])
        moved = replace(run, steps=(*run.steps, (run.end.time, text)), end=after)
        moves = self._moved_in[id(run)]
        yield from self._noted(moved, (*moves, (run.end.time, name, value)))

    def _waiting(self, run: Witness) -> tuple[Witness, ...]:
        """The moments that follow if nobody touches anything, as long as they are allowed."""
        key = id(run), "", 0
        if key not in self._known:
            self._known[key] = tuple(self._allowed_waits(run))
        return self._known[key]

    def _allowed_waits(self, run: Witness) -> Iterator[Witness]:
        try:
            history = self.runner.history(run.end)[1:]
        except Unsettled:
            return
        for after in history:
            noted = list(self._noted(replace(run, end=after), self._moved_in[id(run)]))
            if not noted:
                return
            yield from noted

    def _noted(self, run: Witness, moves: TimedMoves) -> Iterator[Witness]:
        """The run, kept for the next question, unless it ends in what is stated impossible."""
        if self.space.holds(self.allowed, run.end.state):
            self._kept.append(run)
            self._moved_in[id(run)] = moves
            self._see(run)
            yield run

    def _see(self, run: Witness) -> None:
        """Note where a run ends, if none has ended there."""
        mark = tuple(run.end.state.values())
        if mark not in self.seen:
            for name, value in run.end.state.items():
                self._where[name][value] |= 1 << len(self.seen)
            self.seen[mark] = run
            self._states.append(run.end.state)
