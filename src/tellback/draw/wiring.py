"""What a schematic shows: things as nodes, wires for what feeds, is needed by or moves what."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from tellback.book.conditions import All, Any, AtLeast, Condition, Not, State, things
from tellback.book.model import (
    Book,
    Control,
    Means,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)

FEEDS, NEEDS, MOVES = "feeds", "needs", "moves"

SWITCHES = frozenset({"contactor", "relay", "solenoid", "valve"})
"""What such a component needs is for its coil or motor: nothing passes on from there."""


class Meant(NamedTuple):
    """A condition as the thing that states it means it."""

    owner: str
    condition: Condition


class Delivers(NamedTuple):
    """A source, by its place in the list of those that feed a supply, is feeding it."""

    supply: str
    row: int


Carries = tuple[Meant | Delivers, ...]
"""What must all be so for a wire to carry something."""


@dataclass(frozen=True, slots=True)
class Wire:
    """A line from one thing to another; `carries` and `live` are alternatives.

    Something passes along it where it `carries`; it is `live` where it is joined to what is live,
    though nothing may pass. A wire that `moves` leads from a control, or from what must not be so,
    and carries nothing. One that feeds may do so either way, as by a tie between two buses. One to
    a `coil` only works a switch.
    """

    source: str
    target: str
    kind: str
    carries: tuple[Carries, ...] = ()
    live: tuple[Carries, ...] = ()
    either_way: bool = False
    coil: bool = False


@dataclass(frozen=True, slots=True)
class Wiring:
    """What is drawn: the nodes asked for and the wires to them, whose other ends may be elsewhere.

    `outlets` are the chapters in which each supply has consumers that are not drawn.
    """

    nodes: tuple[str, ...]
    wires: tuple[Wire, ...]
    outlets: dict[str, tuple[str, ...]]


def is_drawn(thing: Thing) -> bool:
    """Whether a thing is a node of the schematic; controls come with what they move."""
    return isinstance(thing, Unit | Supply | Surface)


def wiring(book: Book, names: Collection[str]) -> Wiring:
    """The wiring of the things of these names, as far as they are nodes."""
    by_name = {thing.name: thing for thing in book.things}
    nodes = tuple(t.name for t in book.things if t.name in names and is_drawn(t))
    found = _Wires(by_name)
    for name in nodes:
        found.add_all(by_name[name])
    return Wiring(nodes, tuple(found.wires.values()), dict(_outlets(book, nodes)))


@dataclass(slots=True)
class _Wires:
    """Gathers wires; between two things there is one, whichever way it leads."""

    by_name: dict[str, Thing]
    wires: dict[frozenset[str], Wire] = field(default_factory=dict)

    def add_all(self, thing: Thing) -> None:
        match thing:
            case Supply(feeds=feeds):
                for row in range(len(feeds)):
                    self._feed(thing, row)
            case Unit(needs=needs, ways=ways, shed=shed):
                self._needs(thing, needs)
                self._controls(thing, (*ways, *shed))
            case Surface(drives=drives):
                for drive in drives:
                    self._needs(thing, drive.needs)
                    self._controls(thing, (drive.when,) if drive.when else ())
                    if drive.to_control:
                        self._add(Wire(drive.to_control, thing.name, MOVES))

    def _feed(self, supply: Supply, row: int) -> None:
        """The path of a feed, piece by piece.

        Each carries if the whole of it delivers. Each is live as far as all before it lets through;
        what lies behind the last contactor or valve, if the supply there is live.
        """
        feed = supply.feeds[row]
        word = "live" if isinstance(self.by_name[feed.source], Supply) else "running"
        delivers = Delivers(supply.name, row), Meant(supply.name, State(supply.name, "live"))
        so_far: Carries = (Meant(supply.name, State(feed.source, word)),)
        last = feed.source
        for statement in feed.through:
            for name in self._connected(statement.condition):
                self._add(Wire(last, name, FEEDS, (delivers,), (so_far,)))
                last = name
            so_far = (*so_far, Meant(supply.name, statement.condition))
        behind = delivers if last == feed.source else delivers[1:]
        self._add(Wire(last, supply.name, FEEDS, (delivers,), (behind,)))

    def _needs(self, thing: Thing, needs: Iterable[Statement]) -> None:
        for statement in needs:
            for name in self._connected(statement.condition):
                part = _about(statement.condition, name)
                if isinstance(part, Not):
                    self._add(Wire(name, thing.name, MOVES))
                else:
                    coil = isinstance(thing, Unit) and bool(SWITCHES & {*thing.form.split()})
                    had = ((Meant(thing.name, part),),)
                    self._add(Wire(name, thing.name, NEEDS, had, had, coil=coil))

    def _controls(self, thing: Thing, statements: Iterable[Statement]) -> None:
        for statement in statements:
            for name in self._moved_by(statement.condition, thing.place.file):
                self._add(Wire(name, thing.name, MOVES))

    def _connected(self, condition: Condition) -> Iterator[str]:
        """What a condition speaks of that can be at the end of a wire."""
        for name in things(condition):
            if isinstance(self.by_name[name], Unit | Supply | Surface | Means):
                yield name

    def _moved_by(self, condition: Condition, file: str) -> Iterator[str]:
        """The controls that a condition speaks of, also through means of the same chapter."""
        for name in things(condition):
            thing = self.by_name[name]
            if isinstance(thing, Control):
                yield name
            elif isinstance(thing, Means) and thing.place.file == file:
                for way in thing.ways:
                    yield from self._moved_by(way.condition, file)

    def _add(self, wire: Wire) -> None:
        if wire.source == wire.target:
            return
        ends = frozenset({wire.source, wire.target})
        known = self.wires.get(ends)
        if known is None or (known.kind, wire.kind) == (NEEDS, FEEDS):
            live = known.live if known else ()
            self.wires[ends] = replace(wire, live=(*live, *wire.live))
        elif known.kind != MOVES:
            # What a component needs itself does not pass through it.
            more = wire.carries if wire.kind == known.kind else ()
            back = wire.kind == FEEDS and known.source == wire.target
            self.wires[ends] = replace(
                known,
                carries=tuple(dict.fromkeys((*known.carries, *more))),
                live=tuple(dict.fromkeys((*known.live, *wire.live))),
                either_way=known.either_way or back,
            )


def _about(condition: Condition, name: str) -> Condition:
    """What a condition asks of one thing: of `A running or B live` asks of B that it is live."""
    match condition:
        case All(parts) | Any(parts) | AtLeast(_, parts):
            mine = tuple(_about(part, name) for part in parts if name in things(part))
            return mine[0] if len(mine) == 1 else replace(condition, parts=mine)
        case Not(part):
            return Not(_about(part, name))
    return condition


def _outlets(book: Book, nodes: Collection[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """For each supply drawn, the chapters of what it feeds or serves and that is not drawn."""
    chapter = {c.place.file: c.number for c in book.chapters}
    served: dict[str, dict[str, None]] = {}
    by_name = {thing.name: thing for thing in book.things}
    for thing in book.things:
        if thing.name in nodes:
            continue
        found = _Wires(by_name)
        found.add_all(thing)
        for wire in found.wires.values():
            if wire.source in nodes and isinstance(by_name[wire.source], Supply):
                served.setdefault(wire.source, {})[str(chapter[thing.place.file])] = None
    for name, chapters in served.items():
        yield name, tuple(sorted(chapters))
