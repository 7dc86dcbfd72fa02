"""Minimal sets of failures from a scene: shared by losses and by what fits the signs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tellback.logic.formula import Formula, disj
from tellback.logic.minimal import FailureSet, MinimalSets, minimal_sets
from tellback.logic.outcome import Outcome, free
from tellback.logic.picture import Picture
from tellback.logic.run import Moment, Unsettled
from tellback.logic.solve import Valuation
from tellback.logic.space import Node, Space
from tellback.logic.symbols import bearing_on, diagram_order
from tellback.logic.under_way import Choice
from tellback.logic.words import fault_text


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
        bearing = bearing_on(picture.graph, disj([about, system.impossible]))
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
        choices: Mapping[str, Choice] = {n: free(self.space, n, sizes[n]) for n in self.names}
        self.outcome = Outcome(picture.graph, self.space, moment, choices, bearing)
        self.outcome.put(self._settings())
        self.values: Valuation[Node] = self.outcome.settle()

    def _settings(self) -> dict[str, Choice]:
        """The controls as they may be set; where a lock (or being stuck) forbids it, they stay."""
        values = self.outcome.values
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

    def losing(self, formula: Formula) -> Node:
        """The failures after which the formula is not so, whatever the free controls.

        Outcomes that the book states to be impossible do not count.
        """
        impossible = self.values.of(self.picture.system.impossible)
        gone = ~self.values.of(formula)
        if not self.controls:
            return gone & ~impossible
        some = self.space.for_all(impossible, self.controls)
        return self.space.for_all(gone | impossible, self.controls) & ~some

    def explaining(self, formula: Formula) -> Node:
        """The failures after which the formula is so, in an outcome that is not impossible."""
        return self.values.of(formula) & ~self.values.of(self.picture.system.impossible)

    def sets(self, node: Node, order: int | None) -> MinimalSets:
        """The minimal sets of failures that make a function of them true."""
        return minimal_sets(self.space, node, dict.fromkeys(self.names, 0), order)

    def after(self, failures: FailureSet) -> Moment:
        """The settled moment after these failures; Unsettled if there is none."""
        aeroplane = self.picture.aeroplane
        return aeroplane.settle(aeroplane.move(self.moment, dict(failures)))

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


def settles(failures: Failures, chosen: FailureSet) -> Moment | None:
    """The settled moment after these failures, or None if the aeroplane does not come to rest."""
    try:
        return failures.after(chosen)
    except Unsettled:
        return None
