"""Many runs of one aeroplane side by side, each a bit of an integer.

The rules are those of `tellback.logic.run.Aeroplane`, for all runs at once: each keeps its own
time and goes from its own event to the next. What takes a run a millisecond takes thousands of
them little more, so that a great many things can be tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from tellback.logic.clocks import Clocks
from tellback.logic.compiled import ManyStates, Program, conditions_of
from tellback.logic.formula import Formula, Lit, references
from tellback.logic.limits import look
from tellback.logic.row import (
    Begun,
    MovesOfRuns,
    Numbers,
    Row,
    Runs,
    add,
    any_of,
    each_once,
    other_in,
    passed_until,
)
from tellback.logic.run import Moment, Pending
from tellback.logic.solve import Graph, Valuation

ROUNDS = 60
"""How often steps may follow one another before a run is taken to repeat without end."""

EVENTS = 500
"""How many events may follow one another before a run is taken never to come to rest."""


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
        self._rules = Program(graph, needed, conditions, ManyStates)
        self._at = {f: self._rules.formulas[f] for f in map(id, conditions)}
        self._clocks = Clocks(self.system, self.places, self._at)
        self._steps: dict[str, list[tuple[int, int]]] = {}
        for rule in self.system.steps:
            self._steps.setdefault(rule.variable, []).append(
                (self._at[id(rule.condition)], rule.value)
            )

    # -- asking -----------------------------------------------------------------------------

    def found(self, row: Row, condition: Formula) -> Runs:
        """The runs in which the condition of a rule holds."""
        return row.found[self._at[id(condition)]]

    def values(self, row: Row, graph: Graph | None = None) -> Valuation[Runs]:
        """All values of a row, each the runs in which it is so.

        Or those of the `graph` of another aeroplane, whose rules look at the same.
        """

        def literal(lit: Lit) -> Runs:
            places = self.places[lit.variable]
            return any_of(row.state[places[value]] for value in lit.values)

        known = {key: row.found[at] for key, at in self._rules.keys.items()}
        return Valuation(
            graph or self.graph, row.all, 0, lambda runs: row.all & ~runs, literal, known
        )

    def moment(self, row: Row, run: int) -> Moment:
        """The moment of one run."""
        bit = 1 << run

        def of(numbers: Iterable[tuple[float, Runs]]) -> float:
            return next(number for number, runs in numbers if runs & bit)

        here = [place for place, runs in enumerate(row.state) if runs & bit]  # one of each variable
        return Moment(
            of(row.times.items()),
            {n: place - p.start for (n, p), place in zip(self.places.items(), here, strict=True)},
            {name: of(numbers.items()) for name, numbers in row.numbers.items()},
            {
                name: Pending(*what)
                for name, begun in row.under_way.items()
                for what, runs in begun.items()
                if runs & bit
            },
            {
                name: beyond
                for name, numbers in row.beyond.items()
                for beyond, runs in numbers.items()
                if runs & bit
            },
        )

    # -- beginning --------------------------------------------------------------------------

    def row(self, moments: Sequence[Moment]) -> Row:
        """Steady moments, one for each run."""
        everything = (1 << len(moments)) - 1
        state = [0] * sum(map(len, self.places.values()))
        numbers: dict[str, Numbers] = {rule.variable: {} for rule in self.system.numbers}
        under_way: dict[str, Begun] = {}
        beyond: dict[str, Numbers] = {}
        times: Numbers = {}
        for moment, runs in each_once(moments):
            for name, places in self.places.items():
                state[places[moment.state[name]]] |= runs
            for name in numbers:
                add(numbers[name], moment.numbers[name], runs)
            for name, pending in moment.under_way.items():
                begun = under_way.setdefault(name, {})
                what = pending.due, pending.value
                begun[what] = begun.get(what, 0) | runs
            for name, part in moment.beyond.items():
                add(beyond.setdefault(name, {}), part, runs)
            add(times, moment.time, runs)
        found = self._rules.values(state, quiet=False, everything=everything)
        return Row(everything, state, found, times, numbers, under_way, beyond, 0)

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
        state = list(row.state)
        for name, values in changes.items():
            for value, runs in values.items():
                self._put(state, name, value, runs)
        return self._steady(replace(row, state=state))

    def _put(self, state: list[Runs], name: str, value: int, runs: Runs) -> None:
        for place in self.places[name]:
            state[place] &= ~runs
        state[self.places[name][value]] |= runs

    def history(self, row: Row, events: int = EVENTS) -> Iterator[Row]:
        """All rows from this one to the settled one, each run with one event a row.

        Runs that take more events than that are lost.
        """
        yield row
        for _ in range(events):
            if not row.moving:
                return
            row = self.next_events(row)
            yield row
        yield replace(row, under_way={}, lost=row.lost | row.moving)

    def settle(self, row: Row, events: int = EVENTS) -> Row:
        """The settled row; runs that take more events than that are lost."""
        for further in self.history(row, events):
            row = further
        return row

    def next_events(self, row: Row) -> Row:
        """Time passes to the next event in each run that is not settled."""
        coming = sorted(
            ((what[0], self._clocks.order(name), name, what, runs)
             for name, begun in row.under_way.items()
             for what, runs in begun.items()),
            key=lambda one: one[:2],
        )  # fmt: skip
        left = row.moving
        state = list(row.state)
        under_way = {name: dict(begun) for name, begun in row.under_way.items()}
        now: Numbers = {}
        arrived: dict[str, Runs] = {}
        for due, _, name, what, runs in coming:
            hit = runs & left
            if hit:
                left &= ~hit
                arrived[name] = arrived.get(name, 0) | hit
                under_way[name][what] &= ~hit
                self._put(state, name, what[1], hit)
                add(now, due, hit)
        passed = passed_until(row, now)
        beyond = self._clocks.beyond_after(row, passed)
        for name in beyond.keys() & arrived.keys():
            beyond[name] = other_in(beyond[name], {}, arrived[name])
        return self._steady(
            replace(
                row,
                state=state,
                times=other_in(row.times, now, any_of(now.values())),
                numbers=self._clocks.numbers_after(row, passed),
                under_way=under_way,
                beyond=beyond,
            )
        )

    # -- steps ------------------------------------------------------------------------------

    def _steady(self, row: Row) -> Row:
        """Let all that is due change, edges last, and note what is under way then."""
        state = list(row.state)
        broken = dict.fromkeys((rule.variable for rule in self.system.delays), 0)
        live = row.all & ~row.lost
        rounds = 0
        while True:
            lost, found = self._rest(state, broken, row.all, live)
            live &= ~lost
            if found[-1] & live:
                found = self._rules.values(state, quiet=False, everything=row.all)
            due = self._due(found, state, live)
            for rule in self.system.lasts:
                now = found[self._at[id(rule.condition)]]
                zero, one = self.places[rule.variable]
                state[zero], state[one] = row.all & ~now, now
            if not due:
                break
            rounds += 1
            if rounds > ROUNDS:
                live &= ~any_of(runs for _, _, runs in due)
            self._apply(state, due)
        kept = {}
        for name, begun in row.under_way.items():
            unbroken = live & ~broken.get(name, 0)
            kept[name] = {what: on for what, runs in begun.items() if (on := runs & unbroken)}
        before = row.state
        row = replace(row, state=state, found=found, under_way=kept, lost=row.all & ~live)
        row = replace(row, beyond=self._clocks.still_beyond(row, before))
        return replace(row, under_way=self._clocks.under_way(row, live))

    def _rest(
        self, state: list[Runs], broken: dict[str, Runs], everything: Runs, live: Runs
    ) -> tuple[Runs, list[Runs]]:
        """Steps until nothing is due, edges not counted; the runs in which that never comes.

        Notes which delays break on the way, and gives the values at the end, without edges.
        """
        rounds = lost = 0
        while True:
            look()
            found = self._rules.values(state, quiet=True, everything=everything)
            for rule in self.system.delays:
                broken[rule.variable] |= ~found[self._at[id(rule.condition)]]
            due = self._due(found, state, live & ~lost)
            if not due:
                return lost, found
            rounds += 1
            if rounds > ROUNDS:
                lost |= any_of(runs for _, _, runs in due)
            self._apply(state, due)

    def _apply(self, state: list[Runs], due: list[tuple[str, int, Runs]]) -> None:
        for name, value, runs in due:
            self._put(state, name, value, runs)

    def _due(self, found: list[Runs], state: list[Runs], live: Runs) -> list[tuple[str, int, Runs]]:
        """Which variables are due to take which other value; the first rule that holds counts."""
        due = []
        for name, rules in self._steps.items():
            left, places = live, self.places[name]
            for at, value in rules:
                hit = found[at] & left
                if hit:
                    left &= ~hit
                    new = hit & ~state[places[value]]
                    if new:
                        due.append((name, value, new))
        return due
