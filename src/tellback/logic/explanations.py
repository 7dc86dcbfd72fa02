"""What would explain what is seen: sets of failures, facts and readings from outside, controls.

A set is put from a settled moment; of failures also in the starting state, before the last move.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tellback.book.model import Control
from tellback.logic.abreast import Abreast
from tellback.logic.all_sets import Change, Set, at_once, most_at_a_time, sets_without
from tellback.logic.formula import Formula, disj
from tellback.logic.picture import Picture
from tellback.logic.row import Row, Runs, bits, changes_of
from tellback.logic.run import Moment
from tellback.logic.symbols import bearing_on, diagram_order

MOST_AT_A_TIME = 2
"""Where no number is asked, so many things together are sought at most."""


CONTROL = "a control"
OUTSIDE = "from outside"
FAILURE = "a failure"
FALSE_SIGN = "a false indication"
GUARDED = "a guarded control"
KINDS = (CONTROL, OUTSIDE, FAILURE, FALSE_SIGN, GUARDED)
"""What may explain something, the most ordinary first."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """A set of changes after which, settled, all is as seen; `before`: if before the last move."""

    changes: Set
    before: bool


@dataclass(frozen=True, slots=True)
class Explanations:
    """The minimal sets of up to `order` changes, the most ordinary first.

    `restless` counts the sets left out, as what is seen does not come to rest after them.
    """

    sets: tuple[Explanation, ...]
    order: int
    restless: int


class Explaining:
    """Seeks what explains a formula, from a settled moment to which a last move has led.

    `mending`: nothing new fails, but what has failed may work again.
    """

    def __init__(
        self,
        picture: Picture,
        first: Moment,
        last_move: Mapping[str, int],
        moment: Moment,
        mending: bool = False,
    ) -> None:
        self.picture = picture
        self.first, self.last_move, self.moment = first, last_move, moment
        self.mending = mending

    def of(self, formula: Formula, order: int | None) -> Explanations:
        """What makes the formula so; if no order is given, two only where not one thing does."""
        abreast = self._about(formula)
        changes = list(self._changes(formula))
        most = MOST_AT_A_TIME if order is None else order
        most = max(1, min(most, most_at_a_time(len(changes))))
        found: list[Explanation] = []
        restless: list[frozenset[Change]] = []
        sought = 0
        for size in range(1, most + 1):
            if found and order is None:
                break
            sought = size
            for some in at_once(sets_without(changes, size, [one.changes for one in found])):
                fitting, lost = self._fitting(abreast, formula, some)
                found += fitting
                again = [frozenset(some[run]) for run in bits(lost)]
                restless += [one for one in again if not any(less < one for less in restless)]
        return Explanations(tuple(sorted(found, key=self.rank)), sought, len(restless))

    def none(self) -> Explanations:
        """Where nothing need be explained."""
        return Explanations((), 1, 0)

    def _changes(self, formula: Formula) -> Iterator[Change]:
        """All single changes that may be made from the moment and bear on the formula.

        What the last move has put is known to be so.
        """
        system = self.picture.system
        barred = self.picture.aeroplane.barred
        bearing = self._bearing(formula)
        for name in diagram_order(self.picture.graph, formula):
            variable = system.variables[name]
            if name in bearing and variable.is_input and name not in self.last_move:
                here = self.moment.state[name]
                values = list(range(len(variable.values)))
                if variable.kind == "failure":
                    values = values[:1] if self.mending else values if not here else []
                for value in values:
                    if value != here and barred(self.moment, {name: value}) is None:
                        yield name, value

    def _fitting(
        self, abreast: Abreast, formula: Formula, sets: Sequence[Set]
    ) -> tuple[list[Explanation], Runs]:
        """Those sets after which the formula is so, and which never come to rest."""
        row, possible = self._put_now(abreast, sets)
        fits = possible & ~row.lost & abreast.values(row).of(formula)
        restless = possible & row.lost
        found = [Explanation(sets[i], False) for i in bits(fits)]
        early = [i for i, one in enumerate(sets) if self._may_be_early(one) and not fits >> i & 1]
        if early:
            row, possible = self._put_early(abreast, [sets[i] for i in early])
            fits = possible & ~row.lost & abreast.values(row).of(formula)
            found += (Explanation(sets[early[i]], True) for i in bits(fits))
            for i in bits(possible & row.lost):
                restless |= 1 << early[i]
            for i in bits(fits):
                restless &= ~(1 << early[i])
        return found, restless

    def _put_now(self, abreast: Abreast, sets: Sequence[Set]) -> tuple[Row, Runs]:
        return self._put(abreast, self.moment, sets)

    def _put(self, abreast: Abreast, moment: Moment, sets: Sequence[Set]) -> tuple[Row, Runs]:
        """The runs of the sets, once settled, and those that come to nothing impossible."""
        row = abreast.move(abreast.row([moment] * len(sets)), changes_of(map(dict, sets)))
        return abreast.settle_possibly(row)

    def _put_early(self, abreast: Abreast, sets: Sequence[Set]) -> tuple[Row, Runs]:
        """The same of the sets in the starting state, and then the last move, where it can be."""
        row, possible = self._put(abreast, self.first, sets)
        moves = changes_of([self.last_move] * len(sets))
        possible &= ~abreast.barred(row, moves)
        row, still = abreast.settle_possibly(abreast.move(row, moves))
        return row, possible & still

    def ends(self, formula: Formula, several: Sequence[Explanation]) -> list[Moment]:
        """Where each leads to, all settled; where something else never settles, without that."""
        found: dict[int, Moment] = {}
        for before in (False, True):
            left = [i for i, one in enumerate(several) if one.before == before]
            for abreast in (self.picture.abreast, self._about(formula)):
                if left:
                    sets = [several[i].changes for i in left]
                    put = self._put_early if before else self._put_now
                    row, _ = put(abreast, sets)
                    settled = [(run, i) for run, i in enumerate(left) if not row.lost >> run & 1]
                    found |= {i: abreast.moment(row, run) for run, i in settled}
                    left = [i for i in left if i not in found]
        return [found[i] for i in range(len(several))]

    def _about(self, formula: Formula) -> Abreast:
        """Many runs of what bears on the formula."""
        return self.picture.abreast.following(self._bearing(formula))

    def _bearing(self, formula: Formula) -> set[str]:
        return bearing_on(self.picture.graph, disj([formula, self.picture.system.impossible]))

    def _may_be_early(self, chosen: Set) -> bool:
        """Whether it is of failures alone, and there was a move that they may have come before."""
        variables = self.picture.system.variables
        return bool(self.last_move) and all(variables[n].kind == "failure" for n, _ in chosen)

    def rank(self, one: Explanation) -> tuple[int, list[int], bool]:
        """The less the more ordinary: few things before many, each more ordinary before rarer."""
        ranks = sorted((KINDS.index(self.kind(c)) for c in one.changes), reverse=True)
        return len(one.changes), ranks, one.before

    def kind(self, change: Change) -> str:
        """What a change is, one of the kinds."""
        variable = self.picture.system.variables[change[0]]
        if variable.kind == "control":
            control = self.picture.book.thing(variable.thing)
            return GUARDED if isinstance(control, Control) and control.guarded else CONTROL
        if variable.kind != "failure":
            return OUTSIDE
        mode = variable.values[change[1]]
        false = mode in ("shown", "not shown") or mode.startswith("reads ")
        return FALSE_SIGN if false else FAILURE
