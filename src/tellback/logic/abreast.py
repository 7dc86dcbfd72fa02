"""Many runs of one aeroplane side by side, each a bit of an integer.

The rules are those of `time_rules` and `progress`, for all runs at once: each keeps its own time
and goes from its own event to the next. What takes a run a millisecond takes thousands of them
little more, so that a great many things can be tried.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from copy import copy
from dataclasses import replace

from tellback.logic.compiled import ManyStates, Program, conditions_of
from tellback.logic.formula import Formula, Lit, references
from tellback.logic.row import MovesOfRuns, Row, Runs, any_of, each_once, other_in
from tellback.logic.run import Moment
from tellback.logic.solve import Graph, Valuation
from tellback.logic.time_rules import Change, Found, TimeRules
from tellback.logic.under_way import (
    EVENTS,
    Begun,
    Comings,
    Parts,
    UnderWay,
    add,
    changes_of_hits,
    renewed,
)


class ManyCases:
    """The states of many runs, as the rules of time take them."""

    none = 0

    def __init__(
        self, rules: Program, places: dict[str, range], everything: Runs, state: list[Runs]
    ) -> None:
        self.everything = everything
        self.state = state
        self._rules, self._places = rules, places

    def found(self) -> Found[Runs]:
        """Where each condition holds, nothing being seen to come on or go out."""
        return self._rules.values(self.state, quiet=True, everything=self.everything)

    def with_edges(self, found: Found[Runs], where: Runs) -> Found[Runs]:
        """The same with what comes on and goes out, if anything does in some of these runs."""
        if not found[-1] & where:
            return found
        return self._rules.values(self.state, quiet=False, everything=self.everything)

    def at(self, name: str, value: int) -> Runs:
        """The runs in which the variable has the value."""
        return self.state[self._places[name][value]]

    def held(self, name: str) -> Iterable[tuple[int, Runs]]:
        """The values that the variable has, each with its runs."""
        sets = (self.state[place] for place in self._places[name])
        return [(value, runs) for value, runs in enumerate(sets) if runs]

    def put(self, changes: Iterable[Change[Runs]]) -> None:
        """Variables take values, each in some runs."""
        for name, value, runs in changes:
            places = self._places[name]
            for place in places:
                self.state[place] &= ~runs
            self.state[places[value]] |= runs


class Abreast:
    """A system prepared for running many times at once."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.system = graph.system
        self.places: dict[str, range] = {}
        first = 0
        for variable in self.system.variables.values():
            self.places[variable.name] = range(first, first + len(variable.values))
            first += len(variable.values)
        conditions = conditions_of(self.system)
        needed = (key for condition in conditions for key, _ in references(condition))
        self._program = Program(graph, needed, conditions, ManyStates)
        self._rules = TimeRules(self.system, self._program.formulas)

    def following(self, bearing: Collection[str]) -> Abreast:
        """The same with only the memories that bear on something: the others stay as they are."""
        other = copy(self)
        other._rules = TimeRules(self.system, self._program.formulas, bearing)
        return other

    # -- asking -----------------------------------------------------------------------------

    def found(self, row: Row, condition: Formula) -> Runs:
        """The runs in which the condition of a rule holds."""
        return row.found[self._program.formulas[id(condition)]]

    def values(self, row: Row, graph: Graph | None = None) -> Valuation[Runs]:
        """All values of a row, each the runs in which it is so.

        Or those of the `graph` of another aeroplane, whose rules look at the same.
        """

        def literal(lit: Lit) -> Runs:
            places = self.places[lit.variable]
            return any_of(row.state[places[value]] for value in lit.values)

        known = {key: row.found[at] for key, at in self._program.keys.items()}
        return Valuation(
            graph or self.graph, row.all, 0, lambda runs: row.all & ~runs, literal, known
        )

    def moment(self, row: Row, run: int) -> Moment:
        """The moment of one run."""
        bit = 1 << run

        def of(numbers: Parts[Runs]) -> float:
            return next(number for number, runs in numbers.items() if runs & bit)

        here = [place for place, runs in enumerate(row.state) if runs & bit]  # one of each variable
        time = of(row.times)
        under_way = {
            name: pending
            for name, begun in row.now.begun.items()
            for pending, runs in begun.items()
            if runs & bit
        }
        numbers = {name: pending.at(time) for name, pending in under_way.items()}
        numbers |= {
            name: number
            for name, parts in row.now.numbers.items()
            for number, runs in parts.items()
            if runs & bit
        }
        surfaces = (surface.name for surface in self._rules.surfaces)
        return Moment(
            time,
            {n: place - p.start for (n, p), place in zip(self.places.items(), here, strict=True)},
            {reading.name: numbers[reading.name] for reading in self._rules.readings},
            under_way,
            {name: numbers[name] for name in surfaces if numbers.get(name)},
        )

    # -- beginning --------------------------------------------------------------------------

    def row(self, moments: Sequence[Moment]) -> Row:
        """Steady moments, one for each run."""
        everything = (1 << len(moments)) - 1
        state = [0] * sum(map(len, self.places.values()))
        numbers: dict[str, Parts[Runs]] = {}
        under_way: dict[str, Begun[Runs]] = {}
        times: Parts[Runs] = {}
        for moment, runs in each_once(moments):
            for name, places in self.places.items():
                state[places[moment.state[name]]] |= runs
            for name, pending in moment.under_way.items():
                add(under_way.setdefault(name, {}), pending, runs, 0)
            for standing in (moment.numbers, moment.beyond):
                for name, number in standing.items():
                    if name not in moment.under_way:
                        add(numbers.setdefault(name, {}), number, runs, 0)
            add(times, moment.time, runs, 0)
        found = self._program.values(state, quiet=False, everything=everything)
        return Row(everything, state, found, times, UnderWay(under_way, numbers), 0)

    def differing(self, one: Row, other: Row) -> Runs:
        """The runs in which the states of two rows are not the same."""
        return any_of(a ^ b for a, b in zip(one.state, other.state, strict=True))

    def impossible(self, row: Row) -> Runs:
        """The runs that are in what is stated impossible."""
        return self.found(row, self.system.impossible)

    def anew(self, row: Row) -> Row:
        """The row with the clocks of all settled runs set back to 0."""
        settled = row.settled
        return replace(row, times=other_in(row.times, {0.0: settled}, settled))

    # -- events -----------------------------------------------------------------------------

    def barred(self, row: Row, changes: MovesOfRuns) -> Runs:
        """The runs in which a lock forbids one of the changes."""
        return any_of(
            changes[rule.variable].get(rule.value, 0)
            & ~row.state[self.places[rule.variable][rule.value]]
            & self.found(row, rule.condition)
            for rule in self.system.bars
            if rule.variable in changes
        )

    def move(self, row: Row, changes: MovesOfRuns) -> Row:
        """Variables take other values in some runs; what a lock forbids is not looked at."""
        cases = self._cases(row)
        cases.put(
            (name, value, runs)
            for name, values in changes.items()
            for value, runs in values.items()
        )
        return self._steady(row, cases, row.times, row.now)

    def _cases(self, row: Row) -> ManyCases:
        return ManyCases(self._program, self.places, row.all, list(row.state))

    def history(self, row: Row, events: int = EVENTS) -> Iterator[Row]:
        """All rows from this one to the settled one, each run with one event a row.

        Runs that never settle, or not within so many events, are lost in the end.
        """
        yield row
        comings: Comings[Runs] = Comings(self.system.variables)
        for _ in range(events):
            if not row.moving:
                return
            row = self.next_events(row)
            if comings.are_many():
                cases = self._cases(row)
                again = comings.again(cases, row.now, row.times, row.all)
                row = _stopped(row, again, cases) if again else row
            yield row
        yield _stopped(row, row.moving, self._cases(row))

    def settle(self, row: Row) -> Row:
        """The settled row; runs that never settle are lost."""
        for further in self.history(row):
            row = further
        return row

    def settle_possibly(self, row: Row) -> tuple[Row, Runs]:
        """The settled row, and the runs that come there by what is not stated impossible."""
        possible = row.all
        for further in self.history(row):
            row = further
            possible &= ~self.impossible(row)
        return row, possible

    def next_events(self, row: Row) -> Row:
        """Time passes to the next event in each run that is not settled."""
        cases = self._cases(row)
        hits = row.now.next_of_each(self._rules, row.all & ~row.lost, cases)
        cases.put(changes_of_hits(hits))
        now: Parts[Runs] = {}
        for _, pending, runs in hits:
            add(now, pending.due, runs, 0)
        times = other_in(row.times, now, any_of(now.values()))
        return self._steady(row, cases, times, row.now.arrived(hits, self._rules, cases))

    def _steady(
        self, row: Row, cases: ManyCases, times: Parts[Runs], before: UnderWay[Runs]
    ) -> Row:
        """Let all that is due change, edges last, and note what is under way then."""
        steps = self._rules.steady(cases, row.all & ~row.lost, before.begun)
        assert isinstance(steps.found, list)
        now = renewed(self._rules, cases, steps, times, before)
        return Row(row.all, cases.state, steps.found, times, now, row.all & ~steps.live)


def _stopped(row: Row, runs: Runs, cases: ManyCases) -> Row:
    """The row in which some runs are lost, and nothing is under way in them."""
    return replace(row, now=row.now.without(runs, cases), lost=row.lost | runs)
