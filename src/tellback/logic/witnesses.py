"""States that runs came to, kept to show that a combination can be where one of them has it.

Where none has, a few inputs are moved in those that lack no more than that. What is shown by no run
may still be: that is for a search to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import islice

from tellback.logic.abreast import Abreast
from tellback.logic.kept import Kept
from tellback.logic.multitude import Multitude, Stage, Where
from tellback.logic.primes import Cube, primes_within
from tellback.logic.row import Row, Runs, any_of, bits, changes_of
from tellback.logic.run import Moment, State
from tellback.logic.solve import at_least, counted
from tellback.logic.space import Node, Space

MOVES = 1
"""So many things are moved in each run after the first one."""

FEW = 6
"""In so many runs of a stage what is missing is moved."""

FEW_STAGES = 2
"""Of so many stages runs are taken."""

MOST_MOVED = 4
"""So many inputs may be missing."""

FEW_CUBES = 3
"""So many of the shortest conditions for what is asked are tried to bring about."""

MOST_NODES = 1000
"""Of what takes a larger diagram the shortest conditions take too long to find."""

EVENTS = 2
"""So many events are waited for after the moves."""


class Witnesses:
    """The states of a multitude of runs of one aeroplane."""

    def __init__(self, abreast: Abreast, starts: Mapping[str, Moment], space: Space) -> None:
        self.abreast = abreast
        self.space = space
        self._runs = Multitude(abreast, starts, MOVES)
        self._moments: dict[tuple[int, int], Moment] = {}
        self._few: dict[int | None, Kept[tuple[Stage, Runs]]] = {}

    def find(self, node: Node, failures: int | None) -> State | None:
        """A possible state in which the node holds, or None if no run shows one.

        The node is over variables of the system and supplies, by their level. No more than so many
        things ever failed on the way to the state.
        """
        found = self.at_hand(node, failures)
        if found is None and self.space.weight(node) < MOST_NODES:
            return self._brought(node, failures)
        return found.state if found else None

    def at_hand(self, node: Node, failures: int | None) -> Moment | None:
        """The same, where the runs come to it by themselves; the moment when they do."""
        for number, (stage, allowed) in enumerate(self._allowed(failures)):
            hit = self.space.some_of(node, stage.where, allowed)
            if hit:
                key = number, next(bits(hit))
                if key not in self._moments:
                    self._moments[key] = self.abreast.moment(stage.row, key[1])
                return self._moments[key]
        return None

    def near(
        self,
        nodes: Sequence[Node],
        bases: Sequence[tuple[Moment, Mapping[str, int]]],
        failures: int | None,
    ) -> dict[int, Moment]:
        """For some of the nodes a possible moment in which it holds, by its place among them.

        They are come to from the bases, told with the values of the variables and supplies, by
        moving nothing but inputs.
        """
        fixed = [(base, now, self._but_for_inputs(now)) for base, now in bases]
        tried = [
            (i, base, order)
            for i, node in enumerate(nodes)
            for base, now, others in fixed
            for order in self._orders(self.space.nearest_to(node & others, now))
        ]
        found: dict[int, Moment] = {}
        moments = [base for _, base, _ in tried]
        for row, possible in self._after(moments, [order for *_, order in tried], failures):
            where = Where(row, self.abreast.values(row), self.abreast.places)
            for run, (i, _, _) in enumerate(tried):
                if i not in found and self.space.some_of(nodes[i], where, possible & 1 << run):
                    found[i] = self.abreast.moment(row, run)
        return found

    def _but_for_inputs(self, now: Mapping[str, int]) -> Node:
        """Where all but the inputs is as now."""
        others = {name: value for name, value in now.items() if name not in self._inputs}
        return self.space.point(others)

    def _orders(self, missing: Mapping[str, int] | None) -> Iterator[list[tuple[str, int]]]:
        """The order in which inputs that are missing are moved, one way round and the other."""
        if missing is None:
            return
        yield list(missing.items())
        if len(missing) > 1:
            yield list(missing.items())[::-1]

    def _allowed(self, failures: int | None) -> Kept[tuple[Stage, Runs]]:
        """Each stage with the runs that came there with no more failures."""
        if failures not in self._few:
            self._few[failures] = Kept(self._with_few(failures))
        return self._few[failures]

    def _with_few(self, failures: int | None) -> Iterator[tuple[Stage, Runs]]:
        few = -1
        for stage in self._runs.stages:
            few &= self._failed_at_most(stage.row, failures)
            yield stage, stage.possible & few

    def _failed_at_most(self, row: Row, failures: int | None) -> Runs:
        if failures is None:
            return row.all
        places = self.abreast.places
        failed = [
            row.all & ~row.state[places[variable.name][0]]
            for variable in self.abreast.system.failures()
        ]
        return row.all & ~at_least(failures + 1, failed, row.all, 0)

    def _state(self, row: Row, runs: Runs) -> State:
        """The state of the first of these runs."""
        return self.abreast.moment(row, next(bits(runs))).state

    # -- bringing it about ------------------------------------------------------------------

    def _brought(self, node: Node, failures: int | None) -> State | None:
        """The same, after moving what is missing in the runs that lack nothing else."""
        for cube in self._cubes(node):
            for stage, near in self._nearest(cube, failures):
                moments = [self.abreast.moment(stage.row, run) for run in islice(bits(near), FEW)]
                moves = [self._lacking(cube, moment.state) for moment in moments]
                for order in (moves, [several[::-1] for several in moves]):
                    found = self._moved(moments, order, node, failures)
                    if found is not None:
                        return found
        return None

    def _cubes(self, node: Node) -> list[Cube]:
        found = primes_within(self.space, node, self.space.true, lambda name: True, None)
        return list(islice(found, FEW_CUBES)) if found.count < 1000 else []

    @cached_property
    def _inputs(self) -> frozenset[str]:
        return frozenset(v.name for v in self.abreast.system.variables.values() if v.is_input)

    def _nearest(self, cube: Cube, failures: int | None) -> list[tuple[Stage, Runs]]:
        """The runs of a few stages that have all of a cube but the fewest inputs."""
        found: dict[int, list[tuple[Stage, Runs]]] = {}
        for stage, allowed in self._allowed(failures):
            holding = {n: any_of(stage.where[n][value] for value in cube[n]) for n in cube}
            near = allowed
            for name in holding.keys() - self._inputs:
                near &= holding[name]
            missing = [near & ~holding[name] for name in holding.keys() & self._inputs]
            lacking = counted(MOST_MOVED + 1, missing, near, 0)
            for fewest, more in enumerate(lacking[1:]):
                if near & ~more:
                    found.setdefault(fewest, []).append((stage, near & ~more))
                    break
        return found[min(found)][:FEW_STAGES] if found else []

    def _lacking(self, cube: Cube, state: State) -> list[tuple[str, int]]:
        """The moves of inputs after which a state has all of the cube."""
        return [
            (name, min(values))
            for name, values in cube.items()
            if name in self._inputs and state[name] not in values
        ]

    def _moved(
        self,
        moments: Sequence[Moment],
        moves: Sequence[Sequence[tuple[str, int]]],
        node: Node,
        failures: int | None,
    ) -> State | None:
        for row, possible in self._after(moments, moves, failures):
            where = Where(row, self.abreast.values(row), self.abreast.places)
            hit = self.space.some_of(node, where, possible)
            if hit:
                return self._state(row, hit)
        return None

    def _after(
        self,
        moments: Sequence[Moment],
        moves: Sequence[Sequence[tuple[str, int]]],
        failures: int | None,
    ) -> Iterator[tuple[Row, Runs]]:
        """What comes of the moves, one after the other, and of a few events after them."""
        row = self.abreast.row(moments)
        possible = row.all
        for nth in range(max(map(len, moves), default=0)):
            changes = changes_of(dict(several[nth : nth + 1]) for several in moves)
            possible &= ~self.abreast.barred(row, changes)
            row = self.abreast.move(row, changes)
            possible &= ~(self.abreast.impossible(row) | row.lost)
            possible &= self._failed_at_most(row, failures)
            yield row, possible
        for _ in range(EVENTS):
            if not row.moving & possible:
                return
            row = self.abreast.next_events(row)
            possible &= ~(self.abreast.impossible(row) | row.lost)
            yield row, possible
