"""From the book of one aeroplane to a `System`: the meaning of each kind of thing, once.

The rules are those of `docs/meaning.md`; a section there has a function here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

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
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.book.names import Names
from tellback.book.phrases import phrase
from tellback.logic.formula import (
    FALSE,
    TRUE,
    Formula,
    Key,
    Lit,
    Ref,
    Some,
    conj,
    disj,
    neg,
)
from tellback.logic.statements import all_conditions, statements_of
from tellback.logic.system import (
    DelayRule,
    DriveRule,
    LastRule,
    MoveRule,
    NumberRule,
    PlaceRule,
    Regions,
    System,
    Variable,
)

CONTACTS = frozenset({"contactor", "relay"})


def failure_name(thing: str) -> str:
    """The name of the variable that holds how a thing has failed."""
    return f"failure of {thing}"


class Lowering:
    """Makes the system of a book of one aeroplane; `extra` conditions may be asked of it as well.

    It gathers variables, values and rules while it walks through the book once, and then gives
    the formula of any condition whose numbers and times the book (or `extra`) has.
    """

    def __init__(self, book: Book, names: Names, extra: tuple[c.Condition, ...]) -> None:
        self.book = book
        self.names = names
        self.things = {thing.name: thing for thing in book.things}
        self.regions = _regions_of(book, extra)
        self.extra = extra
        self.variables: dict[str, Variable] = {}
        self.values: dict[Key, Formula] = {}
        self.delays: dict[str, DelayRule] = {}
        self.delayed: dict[str, c.Condition] = {}
        self.lasts: dict[str, LastRule] = {}
        self.steps: list[MoveRule] = []
        self.bars: list[MoveRule] = []
        self.surfaces: list[PlaceRule] = []
        self.numbers: list[NumberRule] = []
        self.owner = ""

    def system(self) -> System:
        for thing in self.book.things:
            self._declare(thing)
        for thing in self.book.things:
            self.owner = thing.name
            self._define(thing)
        self.owner = ""
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
            case Reading() if not thing.follows:
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

    def _variable(
        self, name: str, kind: str, thing: str, words: tuple[str, ...], normal: int
    ) -> None:
        self.variables[name] = Variable(name, kind, thing, words, normal)

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
            true = [Lit(reading.name, frozenset({i})) for i in range(count)]
        if reading.moves:
            rows = tuple((self.row(r), r.value, r.rate) for r in reading.moves)
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
            delivered = disj(self._row_at(supply, i, level) for i in rows)
            self.values[name, f"at least {level}"] = conj([delivered, intact])
        self.values[name, "live"] = Ref((name, "at least 1"))
        for source in {feed.source: None for feed in supply.feeds}:
            self.values[name, f"fed by {source}"] = conj(
                [Ref((name, "live")), disj(self._feeder(supply, i) for i in rows
                                           if supply.feeds[i].source == source)]
            )

    def _define_feed(self, supply: Supply, i: int, feed: Feed) -> None:
        source = self.things[feed.source]
        on = Ref((source.name, "running" if isinstance(source, Unit) else "live"))
        path = [self.formula(s.condition) for s in feed.through]
        owner, self.owner = self.owner, f"{supply.name} row {i}"
        when = self.formula(feed.when.condition) if feed.when else TRUE
        self.owner = owner
        base = conj([on, *path, when])
        if isinstance(source, Unit) and supply.name in source.feeds_one:
            self.values[supply.name, f"ready {i}"] = base
            self.values[supply.name, f"calls {i}"] = conj(
                [Ref((supply.name, f"ready {i}")), self._lost_before(supply, i)]
            )
            base = conj([Ref((supply.name, f"calls {i}")), *self._not_called_before(source, supply)])
        self.values[supply.name, f"row {i}"] = base

    def _not_called_before(self, source: Unit, supply: Supply) -> Iterable[Formula]:
        for name in source.feeds_one[: source.feeds_one.index(supply.name)]:
            other = self.things.get(name)
            if isinstance(other, Supply):
                for i, feed in enumerate(other.feeds):
                    if feed.source == source.name:
                        yield neg(Ref((name, f"calls {i}")))

    def _row_at(self, supply: Supply, i: int, level: int) -> Formula:
        """Row i delivers at least this level."""
        feed = supply.feeds[i]
        if level > supply.levels.index(feed.level):
            return FALSE
        row: Formula = Ref((supply.name, f"row {i}"))
        source = self.things[feed.source]
        if isinstance(source, Supply) and source.levels == supply.levels:
            return conj([row, Ref((source.name, f"at least {level}"))])
        return row

    def _feeder(self, supply: Supply, i: int) -> Formula:
        return conj([Ref((supply.name, f"row {i}")), self._lost_before(supply, i)])

    def _lost_before(self, supply: Supply, i: int) -> Formula:
        return conj(neg(Ref((supply.name, f"row {j}"))) for j in range(i))

    def _otherwise_lost(self, supply: Supply) -> Formula:
        for i, feed in enumerate(supply.feeds):
            on_path = {n for s in feed.through for n in c.things(s.condition)}
            if self.owner in {feed.source, f"{supply.name} row {i}"} | on_path:
                return self._lost_before(supply, i)
        return self._lost_before(supply, len(supply.feeds))

    def _paralleled(self, supply: Supply) -> Formula:
        roots = self._roots(supply, {})
        return Some(2, tuple(self._reaches(root, supply) for root in roots))

    def _roots(self, supply: Supply, seen: dict[str, None]) -> list[str]:
        """The units from which power may come to the supply, directly or through others."""
        seen[supply.name] = None
        roots: dict[str, None] = {}
        for feed in supply.feeds:
            source = self.things[feed.source]
            if isinstance(source, Unit):
                roots[source.name] = None
            elif isinstance(source, Supply) and source.name not in seen:
                roots |= dict.fromkeys(self._roots(source, seen))
        return list(roots)

    def _reaches(self, root: str, supply: Supply) -> Formula:
        key = (supply.name, f"reached from {root}")
        if key not in self.values:
            self.values[key] = FALSE
            self.values[key] = disj(
                Ref((supply.name, f"row {i}"))
                if feed.source == root
                else conj([Ref((supply.name, f"row {i}")), self._reaches(root, source)])
                for i, feed in enumerate(supply.feeds)
                if isinstance(source := self.things[feed.source], Supply) or feed.source == root
            )
        return Ref(key)

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
        self.values[name, "on"] = self.any_of(indication.ways)
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

    # -- conditions -------------------------------------------------------------------------

    def fault(self, thing: Thing, mode: str) -> Formula:
        """The thing has failed in that mode (or `ok`); never, if it has no such mode."""
        modes = ("ok", *thing.fails)
        if not thing.fails or mode not in modes:
            return TRUE if mode == "ok" else FALSE
        return Lit(failure_name(thing.name), frozenset({modes.index(mode)}))

    def any_of(self, statements: Iterable[Statement]) -> Formula:
        """Some statement holds."""
        return disj(self.formula(s.condition) for s in statements)

    def row(self, row: Row) -> Formula:
        """The condition of a row of a reading."""
        return self.formula(row.when.condition) if row.when else TRUE

    def formula_for(self, condition: c.Condition, owner: str) -> Formula:
        """The formula of a condition as the thing of that name means it."""
        self.owner = owner
        formula = self.formula(condition)
        self.owner = ""
        return formula

    def formula(self, condition: c.Condition) -> Formula:
        """The formula of a condition, as the present owner means it."""
        match condition:
            case c.All(parts):
                return conj(self.formula(p) for p in parts)
            case c.Any(parts):
                return disj(self.formula(p) for p in parts)
            case c.AtLeast(count, parts):
                return Some(count, tuple(self.formula(p) for p in parts))
            case c.Not(part):
                return neg(self.formula(part))
            case c.State(name, state):
                return self._state(self.things[name], state)
            case c.FedBy(supply, source):
                key = (supply, f"fed by {source}")
                return Ref(key) if key in self.values or self._feeds(supply, source) else FALSE
            case c.Compare(name, low, low_in, high, high_in, true):
                word = "true" if true else "region"
                regions = self.regions[name].within(low, low_in, high, high_in)
                return disj(Ref((name, f"{word} {i}")) for i in sorted(regions))
            case c.Between():
                return self._between(condition)
            case c.Held(part, seconds):
                return self._held(condition, part, seconds)
            case c.Edge(part, rising):
                return self._edge(part, rising)

    def _feeds(self, supply: str, source: str) -> bool:
        thing = self.things[supply]
        return isinstance(thing, Supply) and any(f.source == source for f in thing.feeds)

    def _state(self, thing: Thing, state: str) -> Formula:
        match thing:
            case Control():
                if state.startswith("at "):
                    index = thing.positions.index(state.removeprefix("at "))
                    return Lit(thing.name, frozenset({index}))
            case Situation():
                return Lit(thing.name, frozenset({1}))
            case Latch():
                return Lit(thing.name, frozenset({1}))
            case Surface() if state.startswith("at "):
                index = 2 * thing.points.index(state.removeprefix("at "))
                return Lit(thing.name, frozenset({index}))
            case Supply():
                if state == "otherwise lost":
                    return self._otherwise_lost(thing)
                if state == "paralleled":
                    return self._paralleled(thing)
                if state.startswith("at "):
                    return self._level(thing, state.removeprefix("at "))
        if state == "failed" and not thing.fails:
            return FALSE
        return Ref((thing.name, state))

    def _level(self, supply: Supply, word: str) -> Formula:
        level = supply.levels.index(word)
        reached = self._at_least(supply, level)
        return conj([reached, neg(self._at_least(supply, level + 1))])

    def _at_least(self, supply: Supply, level: int) -> Formula:
        if level <= 0:
            return TRUE
        return FALSE if level >= len(supply.levels) else Ref((supply.name, f"at least {level}"))

    def _between(self, between: c.Between) -> Formula:
        thing = self.things[between.thing]
        if isinstance(thing, Supply):
            low = 0 if between.low is None else thing.levels.index(between.low)
            low += 0 if between.low is None or between.low_included else 1
            top = len(thing.levels) if between.high is None else thing.levels.index(between.high)
            top += 1 if between.high is not None and between.high_included else 0
            return conj([self._at_least(thing, low), neg(self._at_least(thing, top))])
        assert isinstance(thing, Surface)
        last = 2 * len(thing.points) - 2
        first = 0 if between.low is None else 2 * thing.points.index(between.low)
        first += 0 if between.low is None or between.low_included else 1
        end = last if between.high is None else 2 * thing.points.index(between.high)
        end -= 0 if between.high is None or between.high_included else 1
        return Lit(thing.name, frozenset(range(first, end + 1))) if first <= end else FALSE

    def _held(self, whole: c.Condition, part: c.Condition, seconds: float) -> Formula:
        name = phrase(whole, self.names)
        if _speaks_of_owner(part):
            name = f"{name} ({self.owner})"
        if name not in self.variables:
            self._variable(name, "delay", name, ("running", "elapsed"), 1)
            self.values[name, "held"] = self.formula(part)
            self.delays[name] = DelayRule(name, Ref((name, "held")), seconds)
            self.delayed[name] = part
        return conj([Ref((name, "held")), Lit(name, frozenset({1}))])

    def _edge(self, part: c.Condition, rising: bool) -> Formula:
        name = f"last {phrase(part, self.names)}"
        now = self.formula(part)
        if name not in self.variables:
            self._variable(name, "last", name, ("no", "yes"), 0)
            self.lasts[name] = LastRule(name, now)
            before = Lit(name, frozenset({1}))
            self.values[name, "comes on"] = conj([now, neg(before)])
            self.values[name, "goes out"] = conj([neg(now), before])
        return Ref((name, "comes on" if rising else "goes out"))


def place_words(points: Sequence[str]) -> tuple[str, ...]:
    """The names of a surface's places: its points and the gaps between them."""
    words = [points[0]]
    for before, after in zip(points, points[1:], strict=False):
        words += [f"between {before} and {after}", after]
    return tuple(words)


def _toward(surface: Surface, target: int, toward: int) -> Formula:
    """From where the surface is, the target lies toward that place (or is where it is)."""
    places = range(2 * len(surface.points) - 1)
    good = (x for x in places if x == target or (target - x) * (toward - x) > 0)
    return Lit(surface.name, frozenset(good))


def _speaks_of_owner(condition: c.Condition) -> bool:
    return any(isinstance(n, c.State) and n.state == "otherwise lost" for n in c.walk(condition))


def _regions_of(book: Book, extra: Iterable[c.Condition]) -> dict[str, Regions]:
    cuts: dict[str, set[tuple[float, int]]] = {}
    for condition in (*all_conditions(book), *extra):
        for node in c.walk(condition):
            if isinstance(node, c.Compare):
                marks = cuts.setdefault(node.reading, set())
                if node.low is not None:
                    marks.add((node.low, 0 if node.low_included else 1))
                if node.high is not None:
                    marks.add((node.high, 1 if node.high_included else 0))
    readings = [t for t in book.things if isinstance(t, Reading)]
    return {r.name: _regions(r, cuts.get(r.name, set())) for r in readings}


def _regions(reading: Reading, cuts: set[tuple[float, int]]) -> Regions:
    kept = sorted(
        (n, side)
        for n, side in cuts
        if (reading.low < n or (side == 1 and reading.low <= n))
        and (n < reading.high or (side == 0 and n <= reading.high))
    )
    return Regions(reading.low, reading.high, reading.unit, tuple(kept))
