"""What acts on each fact of a run: the way that holds, the feeder, the drive, the event.

The rules are those of `docs/meaning.md`, under “Why”.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tellback.book.model import (
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
    Why,
)
from tellback.logic.formula import Formula, Key, Lit, Neg, Ref, conj, disj, neg, references
from tellback.logic.instants import Instants
from tellback.logic.picture import Picture
from tellback.logic.reasons import At, Part, Rank, Reasons
from tellback.logic.speech import Fact
from tellback.logic.translate import failure_name


@dataclass(frozen=True, slots=True)
class Acting:
    """What acts on a fact at an instant: the formula that made it so, and its smallest part then.

    `by` is the statement's own name, with its source and its reasons. Where it `keeps` nothing, it
    only moves nothing: a memory is as it was in the starting state.
    """

    formula: Formula
    part: Part
    at: At
    by: str = ""
    source: str = ""
    whys: tuple[Why, ...] = ()
    keeps: bool = True


@dataclass(frozen=True, slots=True)
class _Tried:
    """A part of a definition that may act, and what states it."""

    formula: Formula
    owner: Key | None
    by: str = ""
    source: str = ""
    whys: tuple[Why, ...] = ()


class Acts:
    """Finds what acts on each fact of a run."""

    def __init__(self, picture: Picture, instants: Instants) -> None:
        self.picture = picture
        self.system = picture.system
        self.instants = instants
        self.reasons = Reasons(picture, instants)
        self.speech = self.reasons.speech

    def of_condition(self, formula: Formula, at: At) -> Acting | None:
        """What makes a condition so."""
        return self._acting([_Tried(formula, None)], at)

    def on(self, fact: Fact, at: int) -> Acting | None:
        """What acts on a fact, or acted when it came to be so; None if its cause lies outside."""
        if fact.name in self.system.variables:
            return self._on_variable(fact, at)
        return self._acting(self._defined(fact, at), At(at))

    def _acting(self, several: Iterable[_Tried], at: At) -> Acting | None:
        """Of several that act, that which has for longest, and then that of the fewest facts."""
        found: list[tuple[Rank, Acting]] = []
        for one in several:
            if self.reasons.holds(one.formula, at):
                part = self.reasons.part(one.formula, at, one.owner)
                if part is not None:
                    acting = Acting(one.formula, part, at, one.by, one.source, one.whys)
                    found.append((self.reasons.rank(part, at.index), acting))
        return min(found, key=lambda pair: pair[0])[1] if found else None

    # -- what follows at once ---------------------------------------------------------------

    def _defined(self, fact: Fact, at: int) -> Iterator[_Tried]:
        """The parts of a definition by which a fact may be so at an instant."""
        thing = self.speech.things[fact.name]
        so = fact.values == {1} and not self._has_failed(thing, at)
        match thing:
            case Supply() if 0 not in fact.values:
                yield from self._fed(thing, fact, at)
            case Unit(ways=(_, *_)) if so:
                available: Formula = Ref((thing.name, "available"))
                yield from self._ways(thing, (thing.name, "running"), [available])
            case Means() if so:
                yield from self._ways(thing, (thing.name, "yes"), [])
            case Indication(ways=(_, *_)) if so:
                yield from self._ways(thing, (thing.name, "shown"), self._lit(thing))
            case Reading():
                region = thing.name, f"region {self.reasons.now(thing.name, At(at))}"
                yield _Tried(self.system.values[region], region)
            case _:
                formula = self.speech.formula(fact.name, fact.values)
                denied = isinstance(formula, Neg)
                key = next(key for key, _ in references(formula))
                opened = self.system.values[key]
                yield _Tried(neg(opened) if denied else opened, key)

    def _has_failed(self, thing: Thing, at: int) -> bool:
        return bool(self.instants.passed[at].state.get(failure_name(thing.name)))

    def _ways(
        self, thing: Unit | Means | Indication, owner: Key, besides: Sequence[Formula]
    ) -> Iterator[_Tried]:
        """Each way that the book states, with what must be so besides."""
        for way in thing.ways:
            formula = self.picture.formula(way.condition, thing.name)
            yield _stated(conj([formula, *besides]), owner, way, thing)

    def _lit(self, indication: Indication) -> list[Formula]:
        """What an indication that is on needs to be shown."""
        name = indication.name
        needs = [self.picture.formula(s.condition, name) for s in indication.needs]
        inhibits = [neg(self.picture.formula(s.condition, name)) for s in indication.inhibits]
        cancelled = [neg(Lit(f"{name} cancelled", frozenset({1})))] if indication.resets else []
        return [*needs, *inhibits, *cancelled]

    def _fed(self, supply: Supply, fact: Fact, at: int) -> Iterator[_Tried]:
        """The first row that delivers the level; with that, that no other delivers more."""
        low, high = min(fact.values), max(fact.values)
        owner = supply.name, f"at least {low}"
        over = self.system.values.get((supply.name, f"at least {high + 1}"))
        below = [] if over is None else [neg(over)]
        intact = [neg(self.picture.formula(s.condition, supply.name)) for s in supply.shed]
        for i, feed in enumerate(supply.feeds):
            row: list[Formula] = [Ref((supply.name, f"row {i}"))]
            source = self.speech.things[feed.source]
            if isinstance(source, Supply) and source.levels == supply.levels:
                row.append(Ref((source.name, f"at least {low}")))
            tried = _Tried(
                conj([*row, *intact, *below]),
                owner,
                f"fed by {feed.source}",
                feed.statement.source or supply.source,
                feed.statement.whys,
            )
            enough = supply.levels.index(feed.level) >= low
            if enough and self._acting([tried], At(at)) is not None:
                yield tried
                return

    # -- what a memory remembers ------------------------------------------------------------

    def _on_variable(self, fact: Fact, at: int) -> Acting | None:
        """What brought an input or memory there; None if nothing of the aeroplane did."""
        variable = self.system.variables[fact.name]
        if variable.kind == "delay":
            return self._of_delay(fact, at)
        came = self.reasons.since(fact.name, fact.values, at)
        if variable.is_input and (not came or self.instants.passed[came].begins):
            return None
        before = came - 1 if came else at  # what keeps it as it was in the starting state
        tried = list(self._moving(fact, self.instants.passed[came].state[fact.name], before))
        if not came and not any(self.reasons.holds(one.formula, At(at)) for one in tried):
            return self._left_alone(fact.name, at)
        return self._acting(tried, At(before, quiet=True)) or self._acting(tried, At(before))

    def _left_alone(self, name: str, at: int) -> Acting | None:
        """That nothing moves a memory away from where it is; None if something does."""
        here = self.instants.passed[at].state[name]
        away: list[Formula] = [
            rule.condition
            for rule in self.system.steps
            if rule.variable == name and rule.value != here
        ]
        for surface in self.system.surfaces:
            if surface.variable == name:
                away += [sent for target, sent in surface.targets if target != here]
        for number in self.system.numbers:
            if number.variable == name:
                away += [applies for applies, _, _ in number.rows]
        left_alone = self._acting([_Tried(neg(disj(away)), None)], At(at))
        return left_alone and replace(left_alone, keeps=False)

    def _of_delay(self, fact: Fact, at: int) -> Acting | None:
        key = fact.name, "held"
        held = self.system.values[key]
        so = self.reasons.holds(held, At(at))
        return self._acting([_Tried(held if so else neg(held), key)], At(at))

    def _moving(self, fact: Fact, value: int, before: int) -> Iterator[_Tried]:
        """What may have moved a variable to a value, or kept it there: a drive, a rate, a rule."""
        variable = self.system.variables[fact.name]
        thing = self.speech.things[variable.thing]
        if isinstance(thing, Surface):
            yield from self._sent(thing, value, before)
        elif variable.kind == "number":
            yield from self._drifted(fact.name, value, before)
        elif isinstance(thing, Latch):
            yield from self._latched(thing, value)
        elif isinstance(thing, Control):
            for position, statement in thing.drops:
                if thing.positions.index(position) == value:
                    formula = self.picture.formula(statement.condition, thing.name)
                    yield _stated(formula, None, statement, thing)
        else:
            for rule in self.system.steps:
                if (rule.variable, rule.value) == (fact.name, value):
                    yield _Tried(rule.condition, None)

    def _latched(self, latch: Latch, value: int) -> Iterator[_Tried]:
        acting, other = (latch.sets, latch.clears) if value else (latch.clears, latch.sets)
        beaten = latch.set_wins != bool(value)
        against = [neg(self.picture.formula(s.condition, latch.name)) for s in other]
        for statement in acting:
            formula = self.picture.formula(statement.condition, latch.name)
            yield _stated(conj([formula, *(against if beaten else [])]), None, statement, latch)

    def _sent(self, surface: Surface, value: int, before: int) -> Iterator[_Tried]:
        """The drive that sent a surface toward where it is."""
        rule = next(rule for rule in self.system.surfaces if rule.variable == surface.name)
        here = self.instants.passed[before].state[surface.name]
        for target, sent in rule.targets:
            if _is_toward(target, value, here) and self.reasons.holds(sent, At(before)):
                acts = (d.name for d in rule.drives if self.reasons.holds(d.acts, At(before)))
                name = next(acts)
                drive = next(drive for drive in surface.drives if drive.name == name)
                yield _stated(sent, None, drive.statement, surface, name)

    def _drifted(self, name: str, value: int, before: int) -> Iterator[_Tried]:
        """The row that moved a reading toward where it is."""
        rule = next(rule for rule in self.system.numbers if rule.variable == name)
        reading = self.speech.things[name]
        assert isinstance(reading, Reading)
        here = self.instants.passed[before].state[name]
        earlier: list[Formula] = []
        for row, (applies, goal, _) in zip(reading.moves, rule.rows, strict=True):
            if _is_toward(rule.regions.index(goal), value, here):
                formula = conj([applies, *map(neg, earlier)])
                if row.when is None:
                    yield _Tried(formula, None)
                else:
                    yield _stated(formula, None, row.when, reading)
            earlier.append(applies)


def _is_toward(target: int, value: int, here: int) -> bool:
    """Whether what goes from here to a target comes by the value, or is there and stays."""
    return target == value if value == here else (target - here) * (value - here) > 0


def _stated(
    formula: Formula, owner: Key | None, statement: Statement, thing: Thing, name: str = ""
) -> _Tried:
    return _Tried(
        formula,
        owner,
        name or statement.name,
        statement.source or thing.source,
        statement.whys,
    )
