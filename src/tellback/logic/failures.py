"""Minimal sets of failures from a scene: shared by losses and by what fits the signs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from tellback.logic.all_sets import few_enough, minimal_ending
from tellback.logic.formula import Formula, disj
from tellback.logic.minimal import FailureSet, minimal_sets
from tellback.logic.outcome import Outcome, free
from tellback.logic.picture import Picture
from tellback.logic.run import Moment, Unsettled
from tellback.logic.solve import Valuation
from tellback.logic.space import Node, Space
from tellback.logic.symbols import bearing_on, diagram_order
from tellback.logic.under_way import Choice
from tellback.logic.words import fault_text

MOST_ALONE = 2
"""Up to this size sets are sought one by one, where none is asked for."""


@dataclass(frozen=True, slots=True)
class Sought:
    """The minimal sets of up to `order` failures (None: complete), and their number by size.

    `restless` counts the sets that were left out, as the aeroplane does not come to rest after
    them.
    """

    sets: Iterable[FailureSet]
    counts: tuple[tuple[int, int], ...]
    order: int | None
    restless: int


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

    Free controls are set when the failures have struck, as far as the locks then allow it. The
    diagrams are ordered for what they are `about`.
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
        order = diagram_order(picture.graph, about)
        bearing = self._bearing = bearing_on(picture.graph, disj([about, system.impossible]))
        self.names = [
            n
            for n in order
            if n in bearing and system.variables[n].kind == "failure" and moment.state[n] == 0
        ]
        self.controls = [
            n
            for n in order
            if n in bearing and free_controls and system.variables[n].kind == "control"
        ]
        chosen = [n for n in order if n in {*self.names, *self.controls}]
        sizes = {n: len(system.variables[n].values) for n in chosen}
        self.space = Space([(n, sizes[n]) for n in chosen])

    @cached_property
    def outcome(self) -> Outcome:
        """What follows from every choice at once, from the moment on."""
        choices: Mapping[str, Choice] = {
            n: free(self.space, n, self.space.size(n)) for n in self.names
        }
        outcome = Outcome(self.picture.graph, self.space, self.moment, choices, self._bearing)
        outcome.put(self._settings(outcome.values))
        return outcome

    @cached_property
    def values(self) -> Valuation[Node]:
        """The values once all has settled; Unsettled if after some failures it never does."""
        return self.outcome.settle()

    def _settings(self, values: Valuation[Node]) -> dict[str, Choice]:
        """The controls as they may be set; where a lock (or being stuck) forbids it, they stay."""
        settings: dict[str, Choice] = {}
        for name in self.controls:
            here = self.moment.state[name]
            setting = list(free(self.space, name, self.space.size(name)))
            for rule in self.picture.system.bars:
                if rule.variable == name and rule.value != here:
                    held = setting[rule.value] & values.of(rule.condition)
                    setting[rule.value] = setting[rule.value] & ~held
                    setting[here] = setting[here] | held
            settings[name] = tuple(setting)
        return settings

    def ending(self, formula: Formula, order: int | None) -> Sought:
        """The minimal sets of failures after which the formula is not so.

        Each in a run of its own as far as these are not too many; else all sets at once, unless
        after some of them nothing comes to rest.
        """
        if order is not None and self._can_be_run(order):
            return self._run(formula, order)
        try:
            lost = self._losing(formula)
        except Unsettled:
            if order is not None or not self._can_be_run(MOST_ALONE):
                raise
            return self._run(formula, MOST_ALONE)
        sets = minimal_sets(self.space, lost, dict.fromkeys(self.names, 0), order)
        return Sought(sets, tuple(sets.by_order().items()), order, 0)

    @cached_property
    def _changes(self) -> list[tuple[str, int]]:
        return [(n, mode) for n in self.names for mode in range(1, self.space.size(n))]

    def _can_be_run(self, order: int) -> bool:
        """Whether all sets of up to so many failures can be run, the controls standing."""
        return not self.controls and few_enough(len(self._changes), order)

    def _run(self, formula: Formula, order: int) -> Sought:
        """The minimal sets as runs of all sets of up to `order` failures end."""
        found, restless = minimal_ending(self.picture, self.moment, formula, self._changes, order)
        return Sought(found, tuple(Counter(map(len, found)).items()), order, restless)

    def _losing(self, formula: Formula) -> Node:
        """The failures after which the formula is not so, whatever the free controls.

        Outcomes that the book states to be impossible do not count.
        """
        impossible = self.values.of(self.picture.system.impossible)
        gone = ~self.values.of(formula)
        if not self.controls:
            return gone & ~impossible
        some = self.space.for_all(impossible, self.controls)
        return self.space.for_all(gone | impossible, self.controls) & ~some

    def history(self, failures: FailureSet) -> list[Moment]:
        """The moments from these failures on to the settled one; Unsettled if there is none."""
        aeroplane = self.picture.aeroplane
        return aeroplane.history(aeroplane.move(self.moment, dict(failures)))

    def said(self, failures: FailureSet) -> tuple[Failure, ...]:
        """A set of failures in words."""
        return tuple(failure(self.picture, name, mode) for name, mode in failures)


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


def settles(failures: Failures, chosen: FailureSet) -> Moment | None:
    """The settled moment after these failures, or None if the aeroplane does not come to rest."""
    try:
        return failures.history(chosen)[-1]
    except Unsettled:
        return None
