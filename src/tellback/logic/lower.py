"""From the book of one aeroplane to a `System`: the meaning of each kind of thing, once.

The rules are those of `docs/meaning.md`; a section there has a function here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from tellback.book import conditions as c
from tellback.book.model import (
    Book,
    Control,
    Drive,
    Feed,
    Indication,
    Latch,
    Means,
    Reading,
    Row,
    Situation,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.names import Names
from tellback.logic.formula import (
    FALSE,
    TRUE,
    Formula,
    Lit,
    Ref,
    conj,
    disj,
    neg,
)
from tellback.logic.system import (
    DriveRule,
    MoveRule,
    NumberRule,
    PlaceRule,
    Regions,
    System,
)
from tellback.logic.translate import NOBODY, Owner, Translator, failure_name


class Lowering(Translator):
    """Makes the system of a book of one aeroplane; `extra` conditions may be asked of it as well.

    It gathers variables, values and rules while it walks through the book once, and then gives
    the formula of any condition whose numbers and times the book (or `extra`) has.
    """

    def __init__(self, book: Book, names: Names, extra: tuple[c.Condition, ...]) -> None:
        super().__init__(book, names, extra)
        self.bars: list[MoveRule] = []
        self.surfaces: list[PlaceRule] = []
        self.numbers: list[NumberRule] = []

    def system(self) -> System:
        """The system of the whole book."""
        for thing in self.book.things:
            self._declare(thing)
        for thing in self.book.things:
            self.owner = Owner(thing.name)
            self._define(thing)
        self.owner = NOBODY
        for condition in self.extra:
            self.formula(condition)
        impossible = disj(self.formula(s.condition) for s in self.book.impossible)
        for claim in self.book.claims:
            for condition in (claim.condition, *claim.given):
                self.formula(condition)
        return System(
            book=self.book,
            variables=self.variables,
            values=self.values,
            steps=tuple(self.steps),
            delays=tuple(self.delays.values()),
            bars=tuple(self.bars),
            surfaces=tuple(self.surfaces),
            numbers=tuple(self.numbers),
            lasts=tuple(self.lasts.values()),
            impossible=impossible,
            regions=self.regions,
            delayed=self.delayed,
        )

    def row_at(self, supply: Supply, i: int, level: int) -> Formula:
        """Row i of the feeds delivers at least this level."""
        feed = supply.feeds[i]
        if level > supply.levels.index(feed.level):
            return FALSE
        row: Formula = Ref((supply.name, f"row {i}"))
        source = self.things[feed.source]
        if isinstance(source, Supply) and source.levels == supply.levels:
            return conj([row, Ref((source.name, f"at least {level}"))])
        return row

    # -- variables --------------------------------------------------------------------------

    def _declare(self, thing: Thing) -> None:
        match thing:
            case Control():
                normal = thing.positions.index(thing.normally)
                self._variable(thing.name, "control", thing.name, thing.positions, normal)
            case Situation():
                self._variable(
                    thing.name, "situation", thing.name, ("no", "yes"), int(thing.normally)
                )
            case Reading() if not thing.follows and self.regions[thing.name].cuts:
                kind = "number" if thing.moves else "reading"
                regions = self.regions[thing.name]
                words = tuple(str(i) for i in range(len(regions.cuts) + 1))
                normal = regions.index(thing.normally)
                self._variable(thing.name, kind, thing.name, words, normal)
            case Latch():
                self._variable(thing.name, "latch", thing.name, ("clear", "set"), 0)
            case Surface():
                words = place_words(thing.points)
                normal = 2 * thing.points.index(thing.starts_at)
                self._variable(thing.name, "place", thing.name, words, normal)
            case Indication() if thing.resets:
                name = f"{thing.name} cancelled"
                self._variable(name, "cancelled", thing.name, ("no", "yes"), 0)
        if thing.fails:
            name = failure_name(thing.name)
            self._variable(name, "failure", thing.name, ("ok", *thing.fails), 0)

    # -- values -----------------------------------------------------------------------------

    def _define(self, thing: Thing) -> None:
        if thing.fails:
            self.values[thing.name, "failed"] = neg(self.fault(thing, "ok"))
        match thing:
            case Control():
                self._define_control(thing)
            case Reading():
                self._define_reading(thing)
            case Means():
                self.values[thing.name, "yes"] = self.any_of(thing.ways)
            case Unit():
                self._define_unit(thing)
            case Supply():
                self._define_supply(thing)
            case Surface():
                self._define_surface(thing)
            case Latch():
                sets, clears = self.any_of(thing.sets), self.any_of(thing.clears)
                self._latch(thing.name, sets, clears, thing.set_wins)
            case Indication():
                self._define_indication(thing)

    def _define_control(self, control: Control) -> None:
        free = neg(self.fault(control, "stuck"))
        for position, statement in control.drops:
            condition = conj([self.formula(statement.condition), free])
            index = control.positions.index(position)
            self.steps.append(MoveRule(control.name, index, condition))
        for position, statement in control.barred:
            index = control.positions.index(position)
            self.bars.append(MoveRule(control.name, index, self.formula(statement.condition)))
        if "stuck" in control.fails:
            for index in range(len(control.positions)):
                self.bars.append(MoveRule(control.name, index, self.fault(control, "stuck")))

    def _define_reading(self, reading: Reading) -> None:
        regions = self.regions[reading.name]
        count = len(regions.cuts) + 1
        if reading.follows:
            true = self._following(reading, regions)
        else:
            true = [Lit(reading.name, frozenset({i})) if count > 1 else TRUE for i in range(count)]
        # The rows of one that nothing compares are spoken of all the same: by the check.
        rows = tuple((self.row(r), r.value, r.rate) for r in reading.moves)
        if reading.moves and count > 1:
            self.numbers.append(NumberRule(reading.name, rows, regions, reading.normally))
        for i in range(count):
            self.values[reading.name, f"true {i}"] = true[i]
            self.values[reading.name, f"region {i}"] = self._indicated(reading, regions, i)

    def _following(self, reading: Reading, regions: Regions) -> list[Formula]:
        cases: list[list[Formula]] = [[] for _ in range(len(regions.cuts) + 1)]
        earlier: list[Formula] = []
        for row in (*reading.follows, Row(reading.low, None)):
            applies = self.row(row)
            cases[regions.index(row.value)].append(conj([applies, *map(neg, earlier)]))
            earlier.append(applies)
        return [disj(case) for case in cases]

    def _indicated(self, reading: Reading, regions: Regions, index: int) -> Formula:
        true: Formula = Ref((reading.name, f"true {index}"))
        false_ways, falsified = [], []
        for mode in reading.fails:
            if mode.startswith("reads "):
                fault = self.fault(reading, mode)
                falsified.append(fault)
                if regions.index(float(mode.removeprefix("reads "))) == index:
                    false_ways.append(fault)
        return disj([conj([true, *map(neg, falsified)]), *false_ways])

    def _define_unit(self, unit: Unit) -> None:
        name = unit.name
        ok = self.fault(unit, "ok") if unit.fails else TRUE
        self.values[name, "enabled"] = conj(
            [*(self.formula(n.condition) for n in unit.needs), neg(self.any_of(unit.shed))]
        )
        enabled: Formula = Ref((name, "enabled"))
        self.values[name, "available"] = conj([enabled, ok])
        self.values[name, "called"] = self.any_of(unit.ways) if unit.ways else TRUE
        forced = "stuck open" if unit.form == "valve" else "stuck closed"
        self.values[name, "running"] = disj(
            [
                conj([Ref((name, "available")), Ref((name, "called"))]),
                conj([enabled, self.fault(unit, "keeps running")]),
                self.fault(unit, forced),
            ]
        )

    def _define_supply(self, supply: Supply) -> None:
        name = supply.name
        rows = range(len(supply.feeds))
        for i, feed in enumerate(supply.feeds):
            self._define_feed(supply, i, feed)
        intact = conj([neg(self.any_of(supply.shed)), neg(self.fault(supply, "lost"))])
        for level in range(1, len(supply.levels)):
            delivered = disj(self.row_at(supply, i, level) for i in rows)
            self.values[name, f"at least {level}"] = conj([delivered, intact])
        self.values[name, "live"] = Ref((name, "at least 1"))
        for source in {feed.source: None for feed in supply.feeds}:
            self.values[name, f"fed by {source}"] = conj(
                [
                    Ref((name, "live")),
                    disj(self._feeder(supply, i) for i in rows if supply.feeds[i].source == source),
                ]
            )

    def _define_feed(self, supply: Supply, i: int, feed: Feed) -> None:
        source = self.things[feed.source]
        delivers = self._ready(supply, i)
        if isinstance(source, Unit) and supply.name in source.feeds_one:
            delivers = conj([self._calls(supply, i), *self._not_called_before(source, supply)])
        self.values[supply.name, f"row {i}"] = delivers

    def _ready(self, supply: Supply, i: int) -> Formula:
        """Row i would deliver, apart from what its source chooses to feed."""
        feed, owner = supply.feeds[i], self.owner
        source = self.things[feed.source]
        on = Ref((source.name, "running" if isinstance(source, Unit) else "live"))
        self.owner = Owner(supply.name, i)
        path = [self.formula(s.condition) for s in feed.through]
        when = self.formula(feed.when.condition) if feed.when else TRUE
        self.owner = owner
        return conj([on, *path, when])

    def _calls(self, supply: Supply, i: int) -> Formula:
        """Row i would deliver, and no row before it does.

        Written out where it is needed: a value of its own would be one more `not` in a circle.
        """
        return conj([self._ready(supply, i), self._lost_before(supply, i)])

    def _not_called_before(self, source: Unit, supply: Supply) -> Iterable[Formula]:
        for name in source.feeds_one[: source.feeds_one.index(supply.name)]:
            other = self.things.get(name)
            if isinstance(other, Supply):
                for i, feed in enumerate(other.feeds):
                    if feed.source == source.name:
                        yield neg(self._calls(other, i))

    def _feeder(self, supply: Supply, i: int) -> Formula:
        return conj([Ref((supply.name, f"row {i}")), self._lost_before(supply, i)])

    def _latch(self, variable: str, sets: Formula, clears: Formula, set_wins: bool) -> None:
        due_set = sets if set_wins else conj([sets, neg(clears)])
        due_clear = conj([clears, neg(sets)]) if set_wins else clears
        self.steps += [MoveRule(variable, 1, due_set), MoveRule(variable, 0, due_clear)]

    def _define_surface(self, surface: Surface) -> None:
        name, stuck = surface.name, self.fault(surface, "stuck")
        earlier: list[Formula] = []
        sent: dict[int, list[Formula]] = {2 * i: [] for i in range(len(surface.points))}
        drives = []
        for drive in surface.drives:
            targets = self._targets(surface, drive.to, drive.to_control)
            applies = self._applies(surface, drive, targets)
            acts = (name, f"driven by {drive.name}")
            self.values[acts] = conj([applies, *map(neg, earlier), neg(stuck)])
            earlier.append(applies)
            step = drive.takes / (len(surface.points) - 1) / 2
            drives.append(DriveRule(drive.name, Ref(acts), step))
            for on, place in targets:
                sent[place].append(conj([Ref(acts), on]))
                if step == 0:
                    self.steps.append(MoveRule(name, place, sent[place][-1]))
        for place, ways in sent.items():
            self.values[name, f"sent to {place}"] = disj(ways)
        elsewhere = (
            conj([Ref((name, f"sent to {place}")), neg(Lit(name, frozenset({place})))])
            for place in sent
        )
        self.values[name, "moving"] = disj(elsewhere)
        targets_of = tuple((place, Ref((name, f"sent to {place}"))) for place in sent)
        self.surfaces.append(PlaceRule(name, targets_of, tuple(drives)))

    def _applies(
        self, surface: Surface, drive: Drive, targets: tuple[tuple[Formula, int], ...]
    ) -> Formula:
        needs = [self.formula(n.condition) for n in drive.needs]
        when = self.formula(drive.when.condition) if drive.when else TRUE
        somewhere = disj(on for on, _ in targets)
        if drive.only_toward:
            toward = 2 * surface.points.index(drive.only_toward)
            somewhere = disj(conj([on, _toward(surface, t, toward)]) for on, t in targets)
        return conj([when, *needs, somewhere])

    def _targets(
        self, surface: Surface, to: str, to_control: str
    ) -> tuple[tuple[Formula, int], ...]:
        if not to_control:
            return ((TRUE, 2 * surface.points.index(to)),)
        control = self.things[to_control]
        assert isinstance(control, Control)
        return tuple(
            (Lit(control.name, frozenset({i})), 2 * surface.points.index(position))
            for i, position in enumerate(control.positions)
            if position in surface.points
        )

    def _define_indication(self, indication: Indication) -> None:
        name = indication.name
        gauge = indication.shows and not indication.ways
        self.values[name, "on"] = TRUE if gauge else self.any_of(indication.ways)
        on: Formula = Ref((name, "on"))
        cancelled: Formula = FALSE
        if indication.resets:
            variable = f"{name} cancelled"
            cancelled = Lit(variable, frozenset({1}))
            resets = conj([on, self.any_of(indication.resets)])
            self._latch(variable, resets, neg(on), set_wins=False)
        self.values[name, "shown"] = disj(
            [
                self.fault(indication, "shown"),
                conj(
                    [
                        neg(self.fault(indication, "not shown")),
                        *(self.formula(n.condition) for n in indication.needs),
                        on,
                        neg(self.any_of(indication.inhibits)),
                        neg(cancelled),
                    ]
                ),
            ]
        )


def place_words(points: Sequence[str]) -> tuple[str, ...]:
    """The names of a surface's places: its points and the gaps between them."""
    words = [points[0]]
    for before, after in pairwise(points):
        words += [f"between {before} and {after}", after]
    return tuple(words)


def _toward(surface: Surface, target: int, toward: int) -> Formula:
    """From where the surface is, the target lies toward that place (or is where it is)."""
    places = range(2 * len(surface.points) - 1)
    good = (x for x in places if x == target or (target - x) * (toward - x) > 0)
    return Lit(surface.name, frozenset(good))
