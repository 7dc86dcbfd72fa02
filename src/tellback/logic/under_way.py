"""What is under way, for all choices at once: when it is due, toward what, and in which choices."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from tellback.logic.run import Moment, Pending
from tellback.logic.solve import Valuation
from tellback.logic.space import Node, Space
from tellback.logic.system import DelayRule, NumberRule, PlaceRule, System
from tellback.logic.travel import after, gone_on

Choice = tuple[Node, ...]
"""A variable as a function of the choices: for each of its values, where it has that value."""

Values = Valuation[Node]
Begun = dict[Pending, Node]
"""What a thing has under way, each with the choices in which it has."""


class UnderWay:
    """The running delays, travelling surfaces and moving readings among `bearing`.

    The rules are those of `tellback.logic.run.Aeroplane`, where one moment has one of each.
    """

    def __init__(
        self, system: System, space: Space, moment: Moment, bearing: Collection[str]
    ) -> None:
        self.space = space
        self.time = moment.time
        self.delays = [rule for rule in system.delays if rule.variable in bearing]
        self.surfaces = [rule for rule in system.surfaces if rule.variable in bearing]
        self.numbers = [rule for rule in system.numbers if rule.variable in bearing]
        names = [rule.variable for rule in self.delays]
        names += [rule.variable for rule in self.surfaces]
        names += [rule.variable for rule in self.numbers]
        self.begun: dict[str, Begun] = {name: {} for name in names}
        for name, pending in moment.under_way.items():
            if name in self.begun:
                self.begun[name][pending] = space.true
        self.readings = {r.variable: {moment.numbers[r.variable]: space.true} for r in self.numbers}
        self.beyond = {
            r.variable: {moment.beyond.get(r.variable, 0.0): space.true} for r in self.surfaces
        }
        self.state: Mapping[str, Choice] = {}

    # -- time ------------------------------------------------------------------------------

    def pass_time(self, values: Values) -> str | None:
        """Let time pass to what is due first, in the order of the book; None if nothing is."""
        first = {n: min(p.due for p in begun) for n, begun in self.begun.items() if begun}
        if not first:
            return None
        name = min(first, key=lambda n: first[n])
        for rule in self.numbers:
            self._move(rule, values, first[name] - self.time)
        for surface in self.surfaces:
            if self.begun[surface.variable] or self._is_beyond(surface):
                self._go_on(surface, values, first[name] - self.time)
        self.time = first[name]
        return name

    def _move(self, rule: NumberRule, values: Values, seconds: float) -> None:
        """Each reading as far on as it gets in that time."""
        moved: dict[float, Node] = {}
        for number, where in self.readings[rule.variable].items():
            left = where
            for condition, goal, rate in rule.rows:
                here = left & values.of(condition)
                left = left & ~here
                way = goal - number
                step = min(abs(way), rate * seconds)
                self._add(moved, number + (step if way > 0 else -step), here)
            self._add(moved, number, left)
        self.readings[rule.variable] = moved

    def _go_on(self, rule: PlaceRule, values: Values, seconds: float) -> None:
        """A surface as far beyond its place as it gets in that time."""
        left = self.space.true
        moved: dict[float, Node] = {}
        for _, way, step, going in self._going(rule, values, self.state):
            left = left & ~going
            for beyond, where in self.beyond[rule.variable].items():
                self._add(moved, gone_on(beyond, way, step, seconds), where & going)
        for beyond, where in self.beyond[rule.variable].items():
            self._add(moved, beyond, where & left)
        self.beyond[rule.variable] = moved

    def _is_beyond(self, rule: PlaceRule) -> bool:
        return any(self.beyond[rule.variable])

    def _going(
        self, rule: PlaceRule, values: Values, state: Mapping[str, Choice]
    ) -> Iterator[tuple[int, int, float, Node]]:
        """From which place a surface goes which way, in how long to the next, and where.

        1 or -1; 0 where it has been sent there.
        """
        left = self.space.true
        for target, sent in rule.targets:
            here = left & values.of(sent)
            left = left & ~here
            for place, at in enumerate(state[rule.variable]):
                if (there := here & at) != self.space.false:
                    way = (target > place) - (target < place)
                    for drive in rule.drives:
                        yield place, way, drive.step, there & values.of(drive.acts)

    def _add(self, parts: dict[float, Node], number: float, where: Node) -> None:
        if where != self.space.false:
            parts[number] = parts.get(number, self.space.false) | where

    def arrive(self, name: str, state: Choice) -> Choice:
        """The variable after what it has due now."""
        begun = self.begun[name]
        moved = list(state)
        for pending in [p for p in begun if p.due == self.time]:
            where = begun.pop(pending)
            moved = [node & ~where for node in moved]
            moved[pending.value] = moved[pending.value] | where
        return tuple(moved)

    # -- what begins, goes on and breaks ----------------------------------------------------

    def interrupt(self, values: Values) -> None:
        """Delays end where their condition does not hold, were it for no time at all."""
        for rule in self.delays:
            if self.begun[rule.variable]:
                self._keep(rule.variable, values.of(rule.condition))

    def _keep(self, name: str, where: Node) -> None:
        kept = {pending: node & where for pending, node in self.begun[name].items()}
        self.begun[name] = {p: node for p, node in kept.items() if node != self.space.false}

    def note(self, values: Values, state: Mapping[str, Choice]) -> None:
        """What is under way in a steady state: what was goes on, the rest begins."""
        for delay in self.delays:
            self._renew(delay.variable, self._waiting(delay, values, state[delay.variable]))
        for surface in self.surfaces:
            if self._is_beyond(surface):
                self._put_right(surface, values, state)
            self.begun[surface.variable] = dict(self._travelling(surface, values, state))
        for number in self.numbers:
            self.begun[number.variable] = dict(self._drifting(number, values, state))
        self.state = {rule.variable: state[rule.variable] for rule in self.surfaces}

    def _put_right(self, rule: PlaceRule, values: Values, state: Mapping[str, Choice]) -> None:
        """A surface that has come to a place, or moves at once, is not beyond it."""
        name = rule.variable
        stayed = self.space.true
        if self.state:
            pairs = zip(self.state[name], state[name], strict=True)
            stayed = self.space.any_of(old & new for old, new in pairs)
        for _, _, step, where in self._going(rule, values, state):
            stayed = stayed if step else stayed & ~where
        beyond: dict[float, Node] = {}
        for part, where in self.beyond[name].items():
            self._add(beyond, part, where & stayed)
        self._add(beyond, 0.0, ~stayed)
        self.beyond[name] = beyond

    def _renew(self, name: str, wanted: Iterator[tuple[Pending, Node]]) -> None:
        """Keep what goes on, and begin the rest."""
        new: Begun = {}
        for pending, where in wanted:
            for old, begun in self.begun[name].items():
                both = begun & where
                where = where & ~begun
                if both != self.space.false:
                    new[old] = new.get(old, self.space.false) | both
            if where != self.space.false:
                new[pending] = new.get(pending, self.space.false) | where
        self.begun[name] = new

    def _waiting(
        self, rule: DelayRule, values: Values, state: Choice
    ) -> Iterator[tuple[Pending, Node]]:
        yield Pending(after(self.time, rule.seconds), 1), state[0] & values.of(rule.condition)

    def _travelling(
        self, rule: PlaceRule, values: Values, state: Mapping[str, Choice]
    ) -> Iterator[tuple[Pending, Node]]:
        found: Begun = {}
        for place, way, step, going in self._going(rule, values, state):
            for part, where in self.beyond[rule.variable].items():
                travelling = going & where
                if way and travelling != self.space.false:
                    pending = Pending(after(self.time, (1 - way * part) * step), place + way)
                    found[pending] = found.get(pending, self.space.false) | travelling
        yield from found.items()

    def _drifting(
        self, rule: NumberRule, values: Values, state: Mapping[str, Choice]
    ) -> Iterator[tuple[Pending, Node]]:
        found: Begun = {}
        for number, where in self.readings[rule.variable].items():
            left = where
            for condition, goal, rate in rule.rows:
                here = left & values.of(condition)
                left = left & ~here
                wanted = rule.regions.index(goal)
                for region, at in enumerate(state[rule.variable]):
                    drifting = here & at
                    if region != wanted and drifting != self.space.false:
                        toward = region + (1 if wanted > region else -1)
                        away = abs(rule.regions.cuts[min(region, toward)][0] - number)
                        due = after(self.time, away / rate if rate else 0.0)
                        pending = Pending(due, toward)
                        found[pending] = found.get(pending, self.space.false) | drifting
        yield from found.items()
