"""Minimal sets of failures from a scene: shared by losses and by what fits the signs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from tellback.logic.abstraction import Abstraction
from tellback.logic.all_sets import few_enough, minimal_ending, most_at_a_time
from tellback.logic.formula import Formula, disj
from tellback.logic.free_controls import FreeControls, endings_of
from tellback.logic.limits import TooLarge, TooLong, within
from tellback.logic.minimal import FailureSet, MinimalSets, minimal_sets, minimal_sets_of
from tellback.logic.outcome import Choice, Outcome, free
from tellback.logic.picture import Picture
from tellback.logic.run import Moment
from tellback.logic.space import Node, Space
from tellback.logic.structure import Structure
from tellback.logic.symbols import bearing_on, diagram_order
from tellback.logic.words import fault_text

MOST_ALONE = 2
"""Up to this size sets are sought one by one, where none is asked for."""

ALL_SECONDS = 60.0
"""The processor time for the outcome of all failures at once; then only a few are sought."""

MOST_SORTED = 20_000
"""So many sets are put in order."""

MOST_SETS_LEFT_OUT = 1000
"""Of what never comes to rest, it is not counted what includes one of so many sets found."""

MOST_CHOSEN = 30
"""With more failures and controls to be set than this, sets are sought one by one."""


@dataclass(frozen=True, slots=True)
class Sought:
    """The minimal sets of up to `order` failures (None: complete), and their number by size.

    `restless` counts the sets that were left out, as the aeroplane does not come to rest after
    them; `undecided` are those, left out with all that contain them, of which it was not decided.
    """

    sets: Iterable[FailureSet]
    counts: tuple[tuple[int, int], ...]
    order: int | None
    restless: int = 0
    undecided: tuple[FailureSet, ...] = ()


@dataclass(frozen=True, slots=True)
class Failure:
    """One failure: the thing, the mode, and how it is said."""

    thing: str
    mode: str
    text: str

    def __str__(self) -> str:
        return self.text


class Failures:
    """The outcomes of all choices of failures from a moment, the controls standing or free.

    Free controls are set when the failures have struck, as far as the locks then allow it. Only
    those failures and controls are chosen that may decide what all this is `about`.
    """

    def __init__(
        self,
        picture: Picture,
        moment: Moment,
        free_controls: bool = False,
        *,
        about: Formula,
    ) -> None:
        self.picture = picture
        self.moment = moment
        system = picture.system
        open_ones = {v.name for v in system.failures() if moment.state[v.name] == 0}
        if free_controls:
            open_ones |= {v.name for v in system.variables.values() if v.kind == "control"}
        bearing = bearing_on(picture.graph, disj([about, system.impossible]))
        may_be = Abstraction.of_one(picture.graph, moment.state, bearing, open_ones)
        self._asked = [about, *([system.impossible] if may_be.may_ever(system.impossible) else [])]
        self._deciding = may_be.deciding(self._asked)
        self.runner = picture.aeroplane.following(self._deciding)
        order = [n for n in diagram_order(picture.graph, about) if n in self._deciding & open_ones]
        self.names = [n for n in order if system.variables[n].kind == "failure"]
        self.controls = [n for n in order if system.variables[n].kind == "control"]
        self.space = Space([(n, len(system.variables[n].values)) for n in order])

    def ending(self, formula: Formula, order: int | None) -> Sought:
        """The minimal sets of failures after which the formula is not so.

        Each in a run of its own as far as these are not too many; else all sets at once, unless
        that takes too much. Then only those of a few.
        """
        if not self.controls and self._deciding <= set(self.names):
            for limit in (None, MOST_ALONE) if order is None else (order,):
                with suppress(TooLarge, TooLong), within(ALL_SECONDS, "all failures at once"):
                    found = self._by_structure(formula, limit)
                    if found is None:
                        break
                    return found
        few = MOST_ALONE if order is None else order
        can_be_run = few_enough(len(self._changes), few)
        if self.controls:
            try_all = len(self.names) + len(self.controls) <= MOST_CHOSEN
        else:
            try_all = order is None or not can_be_run
        if try_all:
            try:
                with within(ALL_SECONDS, "all failures at once"):
                    return self._all(formula, order)
            except (TooLarge, TooLong):
                pass
        few = few if can_be_run else most_at_a_time(len(self._changes))
        return self._free(formula, few) if self.controls else self._run(formula, few)

    @cached_property
    def _changes(self) -> list[tuple[str, int]]:
        return [(n, mode) for n in self.names for mode in range(1, self.space.size(n))]

    def _by_structure(self, formula: Formula, order: int | None) -> Sought | None:
        """The minimal sets where nothing but what has failed decides; None if it is not so."""
        system, sizes = self.picture.system, {n: self.space.size(n) for n in self.names}
        structure = Structure(self.picture.graph, self.moment.state, sizes)
        so, impossible = structure.of(formula), structure.of(system.impossible)
        if so is None or impossible is None:
            return None
        lost = structure.circuit.all_of([so ^ 1, impossible ^ 1])
        sets = minimal_sets_of(structure.circuit, lost, structure.modes, order)
        return Sought(self._in_order(sets), tuple(sets.by_order().items()), order)

    def _in_order(self, sets: MinimalSets) -> Iterator[FailureSet]:
        """The sets in the order of the failures, the smallest first; of very many, only roughly."""
        place = {name: i for i, name in enumerate(self.names)}
        each = (tuple(sorted(one, key=lambda m: place[m[0]])) for one in sets)
        if sets.count > MOST_SORTED:
            return each
        return iter(sorted(each, key=lambda one: (len(one), [(place[n], m) for n, m in one])))

    def _run(self, formula: Formula, order: int) -> Sought:
        """The minimal sets as runs of all sets of up to `order` failures end."""
        abreast = self.picture.abreast.following(self._deciding)
        found, restless = minimal_ending(abreast, self.moment, formula, self._changes, order)
        return Sought(found, _counts(found), order, restless)

    def _free(self, formula: Formula, order: int) -> Sought:
        """The minimal sets of up to `order` failures that no setting makes up for."""
        controls = FreeControls(
            self.picture, self.moment, formula, self._asked, self._changes, self.controls
        )
        found = controls.losing(order)
        return Sought(
            found.lost, _counts(found.lost), order, found.restless, undecided=found.undecided
        )

    def _all(self, formula: Formula, order: int | None) -> Sought:
        """The minimal sets by the outcome of all choices at once."""
        choices: Mapping[str, Choice] = {
            n: free(self.space, n, self.space.size(n)) for n in self.names
        }
        outcome = Outcome(self.picture.graph, self.space, self.moment, choices, self._deciding)
        endings = endings_of(outcome, self.controls, formula)
        saved, endless, allowed = (self.space.exists(of, self.controls) for of in endings)
        never = endless & ~saved
        lost = allowed & ~saved & ~never
        modes = dict.fromkeys(self.names, 0)
        sets = minimal_sets(self.space, lost, modes, order)
        if never != self.space.false:
            never = never & ~self._including(sets)
        left_out = minimal_sets(self.space, never, modes, order).count
        return Sought(sets, tuple(sets.by_order().items()), order, left_out)

    def _including(self, sets: MinimalSets) -> Node:
        """The choices of failures that include one of the sets, the first of them at least."""
        return self.space.any_of(
            self.space.cube({name: (mode,) for name, mode in chosen})
            for chosen in islice(sets, MOST_SETS_LEFT_OUT)
        )

    def history(self, failures: FailureSet) -> list[Moment]:
        """The moments from these failures on to the settled one, as far as they matter here.

        Unsettled if there is none.
        """
        return self.runner.history(self.runner.move(self.moment, dict(failures)))

    def said(self, failures: FailureSet) -> tuple[Failure, ...]:
        """A set of failures in words."""
        return tuple(failure(self.picture, name, mode) for name, mode in failures)


def _counts(sets: Sequence[FailureSet]) -> tuple[tuple[int, int], ...]:
    return tuple(Counter(map(len, sets)).items())


def failure(picture: Picture, name: str, mode: int) -> Failure:
    """A failure in words: `left pump stops`."""
    variable = picture.system.variables[name]
    regions = picture.system.regions.get(variable.thing)
    word = variable.values[mode]
    unit = regions.unit if regions else ""
    return Failure(variable.thing, word, fault_text(variable.thing, word, unit))


def left_out(restless: int) -> list[str]:
    """How many sets were left out, as a line of an answer; none if it is none."""
    told = f"  Left out, as the aeroplane does not come to rest after them: {restless}."
    return [told] if restless else []
