"""Which failures no setting of the controls makes up for: the minimal sets of a few of them.

For every set of failures up to an order one of three things is shown. A setting that saves what is
asked for, by a run; it mostly saves many sets, so all are tried with those that saved another. Or
that whatever is selected it may never be so, by `tellback.logic.abstraction`. Or, of what is left,
the outcome of all settings at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from time import thread_time
from typing import NamedTuple

from tellback.logic.abstraction import Abstraction
from tellback.logic.all_sets import AT_ONCE, Change, Set, at_once, sets_without
from tellback.logic.formula import Formula, disj
from tellback.logic.limits import TooLarge, TooLong, within
from tellback.logic.outcome import Outcome, free
from tellback.logic.picture import Picture
from tellback.logic.row import Row, Runs, any_of, bits, changes_of
from tellback.logic.run import Moment
from tellback.logic.space import Node, Space
from tellback.logic.symbols import bearing_on

Setting = tuple[Change, ...]
"""Controls that are moved, each with the position to which it is."""

TOGETHER = 16
"""For so many sets at a time settings are tried one by one."""

ALL_TOGETHER = 64
"""Of so many sets at a time the outcome of all settings is worked out."""

SECONDS = 3.0
"""The processor time for all such outcomes of one answer; what is left then is not decided."""

BEST_SETTINGS = 12
"""Of so many settings, those that saved most, the nearest others are tried as well."""

CASE = "case"
"""The variable that tells which of several sets of failures it is."""


@dataclass(frozen=True, slots=True)
class Decided:
    """The minimal sets, and those of which it could not be decided; none of them contains another.

    No set is told that contains one that is not decided. `restless` counts the sets that were left
    out as after some setting it does not come to rest, where no other setting makes it so.
    """

    lost: tuple[Set, ...]
    undecided: tuple[Set, ...]
    restless: int


@dataclass(frozen=True, slots=True)
class _Found:
    """Sets that are lost, those not decided, and those of which some setting never ends."""

    lost: set[Set]
    undecided: list[Set]
    endless: list[Set]


class FreeControls:
    """Failures that strike at a settled moment, and the controls then set as is best.

    The controls are moved at once when the failures have struck, before any time has passed, as far
    as the locks then allow it. `failures` are those that may strike, `controls` those that are set;
    `asked` are the formula, and what is stated impossible unless that can be left aside.
    """

    def __init__(
        self,
        picture: Picture,
        moment: Moment,
        formula: Formula,
        asked: Sequence[Formula],
        failures: Sequence[Change],
        controls: Sequence[str],
    ) -> None:
        self.picture, self.moment, self.formula = picture, moment, formula
        self.failures, self._asked, self._controls = failures, asked, controls
        self._bearing = bearing_on(picture.graph, disj(asked))
        self._abreast = picture.abreast.following(self._bearing)
        self._saved_by: Counter[Setting] = Counter({(): 0})
        self._seconds = SECONDS

    def losing(self, order: int) -> Decided:
        """The minimal sets of up to `order` failures after which no setting makes it so.

        Sets that lead at once to what is stated impossible do not count, nor do settings that lead
        to it at any time.
        """
        lost: list[Set] = []
        undecided: list[Set] = []
        restless: list[frozenset[Change]] = []
        for size in range(min(order, len(self.failures)) + 1):
            sets = list(sets_without(self.failures, size, [*lost, *undecided]))
            found = self._decide(sets)
            counting, unknown = self._counting([one for one in sets if one in found.lost])
            lost += counting
            undecided += [*found.undecided, *unknown]
            endless = map(frozenset, found.endless)
            restless += [one for one in endless if not any(less < one for less in restless)]
        return Decided(tuple(lost), tuple(undecided), len(restless))

    def _decide(self, sets: Sequence[Set]) -> _Found:
        """Which of the sets no setting makes up for, and of which that is not known."""
        left = self._unsaved(sets, [setting for setting, _ in self._saved_by.most_common()])
        surely, left = self._surely_lost(left)
        found = _Found(set(surely), [], [])
        while left:
            some = left[:TOGETHER]
            saved = self._saved_by_near(some)
            if not saved:
                some, left = left[:ALL_TOGETHER], left[ALL_TOGETHER:]
                try:
                    saved, endless = self._saved_in_time(some)
                except (TooLarge, TooLong):
                    found.undecided.extend(some)
                else:
                    found.endless.extend(endless)
                    found.lost.update(set(some) - saved.keys() - set(endless))
            left = self._unsaved(left, dict.fromkeys(saved.values()))
        return found

    def _counting(self, sets: Sequence[Set]) -> tuple[list[Set], list[Set]]:
        """The sets after which, if nothing is moved, no run comes to what is stated impossible.

        And the others: of them it is not decided whether after any setting none does.
        """
        counting: list[Set] = []
        left: list[Set] = []
        for some in at_once(sets):
            _, possible = self._abreast.settle_possibly(self._struck(some))
            for run, one in enumerate(some):
                (counting if possible >> run & 1 else left).append(one)
        return counting, left

    # -- runs -------------------------------------------------------------------------------

    def _struck(self, sets: Sequence[Set]) -> Row:
        """The sets of failures, a run each, when they have struck."""
        row = self._abreast.row([self.moment] * len(sets))
        return self._abreast.move(row, changes_of(map(dict, sets)))

    def _saving(self, sets: Sequence[Set], settings: Sequence[Setting]) -> Runs:
        """For which of the sets the setting beside it makes it so, or which do not count."""
        row = self._struck(sets)
        impossible = self._abreast.impossible(row)
        changes = changes_of(map(dict, settings))
        barred = self._abreast.barred(row, changes)
        row, possible = self._abreast.settle_possibly(self._abreast.move(row, changes))
        so = self._abreast.values(row).of(self.formula)
        return impossible | (so & possible & ~barred & ~row.lost)

    def _unsaved(self, sets: Sequence[Set], settings: Iterable[Setting]) -> list[Set]:
        """The sets that none of the settings saves."""
        left = list(sets)
        for setting in settings:
            before = len(left)
            left = [
                some[run]
                for some in at_once(left)
                for run in bits(~self._saving(some, [setting] * len(some)) & (1 << len(some)) - 1)
            ]
            self._saved_by[setting] += before - len(left)
        return left

    def _saved_by_near(self, sets: Sequence[Set]) -> dict[Set, Setting]:
        """Settings that save some of the sets, one or two moves away from one that saved others."""
        deciding = self._deciding(sets)
        sizes = {name: len(self.picture.system.variables[name].values) for name in self._controls}
        moves = [
            (name, position)
            for name in self._controls
            if name in deciding
            for position in range(sizes[name])
        ]
        best = [setting for setting, _ in self._saved_by.most_common(BEST_SETTINGS)]
        near: Iterable[Setting] = (_moved(setting, [move]) for setting in best for move in moves)
        saved = self._saved_by_some(sets, near)
        pairs = list(combinations(moves, 2))
        if not saved and len(sets) * len(pairs) <= AT_ONCE:
            saved = self._saved_by_some(sets, (_moved(best[0], pair) for pair in pairs))
        return saved

    def _saved_by_some(self, sets: Sequence[Set], near: Iterable[Setting]) -> dict[Set, Setting]:
        saved: dict[Set, Setting] = {}
        for tries in at_once(product(sets, dict.fromkeys(near))):
            for run in bits(self._saving([one for one, _ in tries], [by for _, by in tries])):
                saved.setdefault(*tries[run])
        return saved

    # -- what may be at all -----------------------------------------------------------------

    def _surely_lost(self, sets: Sequence[Set]) -> tuple[list[Set], list[Set]]:
        """The sets after which it may never be so, whatever is selected, and the others."""
        lost: list[Set] = []
        others: list[Set] = []
        for some in at_once(sets):
            may = self._abstraction([self._struck(some)]).may_settle(self.formula)
            for run, one in enumerate(some):
                (others if may >> run & 1 else lost).append(one)
        return lost, others

    def _abstraction(self, rows: Sequence[Row]) -> Abstraction:
        """What may be after any of these rows, the controls moved as the last one's locks allow."""
        struck = rows[-1]
        places = self._abreast.places
        begin = {
            name: [any_of(row.state[place] for row in rows) for place in places[name]]
            for name in self._bearing
        }
        begin |= {name: [struck.all] * len(places[name]) for name in self._controls}
        for rule in self.picture.system.bars:
            if rule.variable in self._controls:
                there = struck.state[places[rule.variable][rule.value]]
                barred = self._abreast.found(struck, rule.condition)
                begin[rule.variable][rule.value] &= there | ~barred
        return Abstraction(self.picture.graph, struck.all, begin)

    def _deciding(self, sets: Sequence[Set]) -> set[str]:
        """The variables that may decide, from the instant in which these failures strike."""
        state = self.moment.state
        striking = [replace(self.moment, state={**state, **dict(one)}) for one in sets]
        rows = [self._abreast.row(striking), self._struck(sets)]
        return self._abstraction(rows).deciding(self._asked)

    # -- all settings at once ---------------------------------------------------------------

    def _saved_in_time(self, sets: Sequence[Set]) -> tuple[dict[Set, Setting], list[Set]]:
        """The same as by any setting; TooLong if the time for such outcomes is spent."""
        begun = thread_time()
        try:
            with within(self._seconds, "the outcome of all settings"):
                return self._saved_by_any(sets)
        finally:
            self._seconds -= thread_time() - begun

    def _saved_by_any(self, sets: Sequence[Set]) -> tuple[dict[Set, Setting], list[Set]]:
        """The sets that some setting saves, each with the nearest that does.

        Also those of the others that after some setting do not come to rest.
        """
        deciding = self._deciding(sets)
        sizes = {n: len(self.picture.system.variables[n].values) for n in self._bearing}
        controls = [name for name in self._controls if name in deciding]
        space = Space([(CASE, max(2, len(sets))), *((name, sizes[name]) for name in controls)])
        cases = [space.literal(CASE, [case]) for case in range(len(sets))]
        chosen = {
            name: tuple(
                space.any_of(
                    case
                    for case, one in zip(cases, sets, strict=True)
                    if dict(one).get(name, 0) == mode
                )
                for mode in range(sizes[name])
            )
            for name in {name for one in sets for name, _ in one}
        }
        outcome = Outcome(self.picture.graph, space, self.moment, chosen, deciding)
        endings = endings_of(outcome, controls, self.formula)
        saved: dict[Set, Setting] = {}
        for one, case in zip(sets, cases, strict=True):
            nearest = space.nearest_to(
                endings.saving & case, {CASE: sets.index(one), **self.moment.state}
            )
            if nearest is not None:
                saved[one] = tuple(nearest.items())
        endless = [
            one
            for one, case in zip(sets, cases, strict=True)
            if one not in saved and endings.endless & case != space.false
        ]
        return saved, endless


class Endings(NamedTuple):
    """The choices of an outcome, with settings of the controls, by how they end.

    `saving`: with what is asked for so; `endless`: not at rest. `allowed` are all that count, these
    among them: none that a lock forbids or that lead to what is stated impossible.
    """

    saving: Node
    endless: Node
    allowed: Node


def endings_of(outcome: Outcome, controls: Sequence[str], formula: Formula) -> Endings:
    """How the choices of an outcome end, with all settings of the controls.

    The choices strike; then the controls are moved at once, as the locks allow it.
    """
    space, system = outcome.space, outcome.system
    outcome.steady()
    ruled_out = []
    for rule in system.bars:
        if rule.variable in controls:
            there = outcome.state[rule.variable][rule.value]
            moved = space.literal(rule.variable, [rule.value]) & ~there
            ruled_out.append(moved & outcome.values.of(rule.condition))
    outcome.put({name: free(space, name, space.size(name)) for name in controls})
    outcome.settle()
    allowed = ~space.any_of([*ruled_out, outcome.impossible])
    so = outcome.values.of(formula) & ~outcome.restless
    return Endings(so & allowed, outcome.restless & allowed, allowed)


def _moved(setting: Setting, moves: Iterable[Change]) -> Setting:
    """The setting with further controls moved."""
    return tuple({**dict(setting), **dict(moves)}.items())
