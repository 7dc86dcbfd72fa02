"""The possible states, sorted into rooms: one for each combination of what the memories hold.

Moving an input mostly changes no memory and so stays in the room, where a set of states is a
function of the inputs alone and stays small. Only what makes a memory change leads to another
room.

Times are left out: any delay, surface or moving reading under way may be the next to arrive.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tellback.logic.compiled import conditions_of
from tellback.logic.formula import Formula
from tellback.logic.limits import TooLarge
from tellback.logic.repeats import Marks
from tellback.logic.run import State
from tellback.logic.solve import Valuation
from tellback.logic.space import Node
from tellback.logic.symbols import variables_of
from tellback.logic.time_rules import Change, Found, TimeRules
from tellback.logic.world import World, by_variable

MOST_NODES_OF_ROOM = 50_000
"""A room whose states make a larger diagram is past searching."""

Memories = tuple[int, ...]
"""What each memory holds, in the order of `Rooms.memories`."""

Parts = dict[Memories, Node]
"""A set of states, by what the memories hold; each part is a function of the inputs."""


@dataclass(frozen=True, slots=True)
class Exit:
    """A way out of a room: a memory due to change after an input has moved, or one that arrives.

    It takes `variable` to `value`; more may change with it or in consequence. An input that is
    due to go back by itself leads back into the room.
    """

    variable: str
    value: int
    arrives: bool


@dataclass(slots=True)
class Room:
    """The states with the same memories: `reached` are known to be possible.

    `closed`: all that moving inputs leads to within the room is among them.
    """

    memories: Memories
    reached: Node
    closed: bool = False


class Slices:
    """A formula as a function of the inputs, for each combination of the memories it looks at."""

    def __init__(self, formula: Formula, values: Valuation[Node], memories: Sequence[str]) -> None:
        self._formula, self._values = formula, values
        behind = variables_of(values.graph, [formula])
        self._looked_at = [(i, name) for i, name in enumerate(memories) if name in behind]
        self._known: dict[Memories, Node] = {}

    def at(self, rooms: Rooms, memories: Memories) -> Node:
        """Where the formula holds when the memories hold this."""
        key = tuple(memories[i] for i, _ in self._looked_at)
        if key not in self._known:
            held = {name: memories[i] for i, name in self._looked_at}
            self._known[key] = rooms.with_memories(self._values.of(self._formula), held)
        return self._known[key]


class Rooms:
    """The rooms of a world entered so far, from its starting states on."""

    def __init__(self, world: World, starts: Sequence[State]) -> None:
        self.world, self.space = world, world.space
        kinds = world.system.variables
        here = [name for name in self.space.names if name in world.chosen]
        self.inputs = [name for name in here if kinds[name].is_input]
        self.memories = [name for name in here if not kinds[name].is_input]
        self.entered: dict[Memories, Room] = {}
        self._place = {name: i for i, name in enumerate(self.memories)}
        self._slices: dict[tuple[int, bool], Slices] = {}
        self.never_rests = False
        """Whether something was met after which changes repeat without end."""
        self._calm: Parts = {}
        self._laws: dict[Memories, list[Node]] = {}
        self._inputs_behind: dict[Node, frozenset[str]] = {}
        self._conditions = conditions_of(world.system)
        places = {id(formula): i for i, formula in enumerate(self._conditions)}
        self._rules = TimeRules(world.system, places, world.chosen)
        self._bars = by_variable(rule for rule in world.system.bars if rule.variable in here)
        self.starts = [tuple(state[name] for name in self.memories) for state in starts]
        for state in starts:
            self.enter(state)

    def enter(self, state: State) -> Room | None:
        """Note that this steady state is possible; its room, None if the world leaves it out."""
        memories = tuple(state[name] for name in self.memories)
        inputs = self.space.point({name: state[name] for name in self.inputs})
        self._enter(memories, inputs & self._allowed(memories))
        return self.entered.get(memories)

    def whole(self, room: Room) -> Node:
        """The reached states of a room, what the memories hold included."""
        return room.reached & self._holding(room.memories)

    def joined(self, parts: Parts) -> Node:
        """States of several rooms as one set, what the memories hold included."""
        return self.space.any_of(part & self._holding(held) for held, part in parts.items())

    def _holding(self, memories: Memories) -> Node:
        return self.space.point(dict(zip(self.memories, memories, strict=True)))

    def with_memories(self, node: Node, held: Mapping[str, int]) -> Node:
        """What is left of a function when these memories hold this."""
        return self.space.exists_both(node, self.space.point(held), held)

    def _enter(self, memories: Memories, states: Node) -> Room | None:
        """Note that these states are possible; their room if that was not known."""
        room = self.entered.get(memories)
        if states == self.space.false or (room and states & ~room.reached == self.space.false):
            return None
        if room is None:
            room = self.entered[memories] = Room(memories, self.space.false)
        room.reached, room.closed = room.reached | states, False
        return room

    # -- what holds in a room ---------------------------------------------------------------

    def holding(self, index: int, memories: Memories, quiet: bool) -> Node:
        """Where a condition of the rules holds in a room; `quiet` sees no edges."""
        return self._at(self._conditions[index], memories, quiet)

    def at(self, name: str, value: int, memories: Memories) -> Node:
        """Where a variable has a value in a room."""
        if name not in self._place:
            return self.world.literal(name, value)
        return self.space.true if memories[self._place[name]] == value else self.space.false

    def _at(self, formula: Formula, memories: Memories, quiet: bool = False) -> Node:
        """Where the formula of a rule holds in a room; `quiet` sees no edges."""
        # The formula lives as long as its system, so its identity may stand for it.
        key = id(formula), quiet
        if key not in self._slices:
            values = self.world.quiet_values if quiet else self.world.symbols.values
            self._slices[key] = Slices(formula, values, self.memories)
        return self._slices[key].at(self, memories)

    def laws(self, memories: Memories) -> list[Node]:
        """What together make the steady states of a room that are not stated impossible."""
        if memories not in self._laws:
            laws = [~where for _, where in self._troubles(memories)]
            laws.append(self._allowed(memories))
            self._laws[memories] = [law for law in laws if law != self.space.true]
        return self._laws[memories]

    def calm(self, memories: Memories) -> Node:
        """The steady states of a room that are not stated impossible."""
        if memories not in self._calm:
            self._calm[memories] = self.space.all_of(self.laws(memories))
        return self._calm[memories]

    def _allowed(self, memories: Memories) -> Node:
        held = dict(zip(self.memories, memories, strict=True))
        return self.with_memories(self.world.limit, held)

    # -- going on ---------------------------------------------------------------------------

    def close(self, room: Room) -> None:
        """Find all that moving inputs leads to within the room; TooLarge if that is past it."""
        self.widen(room, self.inputs)
        room.closed = True

    def widen(self, room: Room, inputs: Collection[str]) -> None:
        """Find what moving these inputs leads to within the room; TooLarge if that is past it."""
        moved = {name for name in self.inputs if name in inputs}
        laws = [law for law in self.laws(room.memories) if self._inputs_of(law) & moved]
        bound = self._locked(room.memories).union(*map(self._inputs_of, laws))
        # What is not moved keeps to the laws that look at nothing else.
        calm = self.space.all_of(laws)
        reached = self.space.exists(room.reached, moved - bound) & calm
        before = None
        while reached != before:
            before = reached
            for name in self.inputs:
                if name in moved and name in bound:
                    reached = reached | (self._moved(name, reached, room.memories) & calm)
            if self.space.weight(reached) > MOST_NODES_OF_ROOM:
                raise TooLarge("too much can be in too many ways to search for what can be")
        room.reached = reached

    def _locked(self, memories: Memories) -> set[str]:
        """The inputs that have locks, or on which locks hang."""
        rules = (rule for rules in self._bars.values() for rule in rules)
        behind = (self._inputs_of(self._at(rule.condition, memories)) for rule in rules)
        return set(self._bars).union(*behind)

    def _inputs_of(self, node: Node) -> frozenset[str]:
        if node not in self._inputs_behind:
            self._inputs_behind[node] = frozenset(self.space.support(node))
        return self._inputs_behind[node]

    def _troubles(self, memories: Memories) -> Iterator[tuple[Exit, Node]]:
        """What is due to change where the state is not steady."""
        room = _Inside(self, memories)
        found = room.found()
        due = self._rules.due(found, room, self.space.true)
        for name, value, where in [*due, *self._rules.noted(found, room, self.space.true)]:
            yield Exit(name, value, False), where

    def exits(self, room: Room) -> Iterator[Exit]:
        """The ways that may lead out of a room."""
        for way_out, where in self._troubles(room.memories):
            if where != self.space.false:
                yield way_out
        for name, value, where in self._arrivals(room.memories):
            if room.reached & where != self.space.false:
                yield Exit(name, value, True)

    def behind(self, room: Room, way_out: Exit) -> Memories:
        """What the memories hold behind a way out, if nothing else changes."""
        if way_out.variable not in self._place:
            return room.memories
        return self._with(room.memories, {way_out.variable: way_out.value})

    def after(self, memories: Memories, states: Node) -> Parts:
        """The possible states that any one event leads to from some states of a room."""
        moved = self.space.any_of(self._moved(n, states, memories) for n in self.inputs)
        places = [(memories, moved)]
        for name, value, where in self._arrivals(memories):
            places.append((self._with(memories, {name: value}), states & where))
        return {held: part & self.calm(held) for held, part in self._settled(places)}

    def leave(self, room: Room, way_out: Exit) -> list[Room]:
        """Follow one way out of a closed room; the rooms in which something new was reached."""
        if way_out.arrives:
            places = [(self.behind(room, way_out), self._arriving(room, way_out))]
        else:
            places = [(room.memories, self._disturbed(room, way_out))]
        entered = [
            self._enter(memories, states & self.calm(memories))
            for memories, states in self._settled(places)
        ]
        return [found for found in entered if found is not None]

    def _arriving(self, room: Room, way_out: Exit) -> Node:
        way = way_out.variable, way_out.value
        arrivals = self._arrivals(room.memories)
        return room.reached & self.space.any_of(w for *to, w in arrivals if tuple(to) == way)

    def _disturbed(self, room: Room, way_out: Exit) -> Node:
        """The states that moving an input leads to in which this change is due."""
        troubles = self._troubles(room.memories)
        due = self.space.any_of(where for found, where in troubles if found == way_out)
        moved = (
            self._moved(name, room.reached, room.memories) & due for name in self._inputs_of(due)
        )
        return self.space.any_of(moved)

    def _moved(self, name: str, states: Node, memories: Memories) -> Node:
        """The input takes any value that no lock forbids."""
        if name not in self._bars:
            return self.space.exists(states, (name,))
        moved = self.space.false
        for value in range(self.space.size(name)):
            barred = (
                self._at(rule.condition, memories)
                for rule in self._bars[name]
                if rule.value == value
            )
            free = states & ~self.space.any_of(barred)
            moved = moved | (self.space.exists(free, (name,)) & self.world.literal(name, value))
        return moved

    def _with(self, memories: Memories, changes: Mapping[str, int]) -> Memories:
        held = list(memories)
        for name, value in changes.items():
            held[self._place[name]] = value
        return tuple(held)

    def _arrivals(self, memories: Memories) -> Iterator[tuple[str, int, Node]]:
        """The memories that may be next to change in time, to what, and where."""
        for delay in self.world.delays:
            if not memories[self._place[delay.variable]]:
                yield delay.variable, 1, self._at(delay.condition, memories)
        for name, goals in self._goals(memories):
            place = memories[self._place[name]]
            for goal, where in goals:
                if goal != place:
                    yield name, place + (1 if goal > place else -1), where

    def _goals(self, memories: Memories) -> Iterator[tuple[str, list[tuple[int, Node]]]]:
        """Where each surface and moving reading is going, and in which states."""
        system = self.world.system
        for surface in system.surfaces:
            if surface.variable in self._place:
                goals = [(goal, self._at(sent, memories)) for goal, sent in surface.targets]
                yield surface.variable, goals
        for number in system.numbers:
            if number.variable in self._place:
                free, goals = self.space.true, []
                for formula, goal_value, _ in number.rows:
                    here = free & self._at(formula, memories)
                    free = free & ~here
                    goals.append((number.regions.index(goal_value), here))
                yield number.variable, goals

    # -- steps ------------------------------------------------------------------------------

    def _settled(self, states: Iterable[tuple[Memories, Node]]) -> Iterable[tuple[Memories, Node]]:
        """The steady states that follow at once, by room; from what never rests, none follow."""
        done: Parts = {}
        marks, marked = Marks(), Parts()
        left = self._by_room(states)
        while left:
            after: list[tuple[Memories, Node]] = []
            for memories, part in left.items():
                room = _Inside(self, memories)
                changes, noted, steady = self._rules.step(room.found(), room, part)
                for held, changed in self._changed(memories, steady, noted):
                    done[held] = done.get(held, self.space.false) | changed
                after += self._changed(memories, part & ~steady, [*changes, *noted])
            left = self._by_room(after)
            if left and left == marked:
                # The steps map it onto itself: all of it goes round without end.
                self.never_rests = True
                break
            if marks.is_due():
                marked = left
        return done.items()

    def _by_room(self, states: Iterable[tuple[Memories, Node]]) -> Parts:
        joined: Parts = {}
        for memories, part in states:
            if part != self.space.false:
                joined[memories] = joined.get(memories, self.space.false) | part
        return joined

    def _changed(
        self, memories: Memories, states: Node, changes: Sequence[Change[Node]]
    ) -> Iterator[tuple[Memories, Node]]:
        """The states after all of these changes together, and their room."""
        for part, made in self._split(states, changes):
            inputs = {n: v for n, v in made.items() if n not in self._place}
            held = {n: v for n, v in made.items() if n in self._place}
            if inputs:
                part = self.space.exists(part, inputs) & self.space.point(inputs)
            yield self._with(memories, held), part

    def _split(
        self, states: Node, changes: Sequence[Change[Node]]
    ) -> list[tuple[Node, dict[str, int]]]:
        """The states, split by what changes in them."""
        split: list[tuple[Node, dict[str, int]]] = [(states, {})]
        for name, value, where in changes:
            pieces, split = split, []
            for part, made in pieces:
                split += [(part & where, {**made, name: value}), (part & ~where, made)]
            split = [piece for piece in split if piece[0] != self.space.false]
        return split


class _Inside:
    """A room as the rules of time take it: its states are functions of the inputs."""

    def __init__(self, rooms: Rooms, memories: Memories) -> None:
        self.everything, self.none = rooms.space.true, rooms.space.false
        self._rooms, self._memories = rooms, memories

    def found(self) -> Found[Node]:
        """Where each condition holds, nothing being seen to come on or go out."""
        return _Conditions(self._rooms, self._memories, quiet=True)

    def with_edges(self, found: Found[Node], where: Node) -> Found[Node]:
        """The same with what comes on and goes out, if the world has anything of the kind."""
        return _Conditions(self._rooms, self._memories, False) if self._rooms.world.lasts else found

    def at(self, name: str, value: int) -> Node:
        """Where a variable has a value."""
        return self._rooms.at(name, value, self._memories)


class _Conditions:
    """The conditions of the rules in a room, worked out when looked at."""

    def __init__(self, rooms: Rooms, memories: Memories, quiet: bool) -> None:
        self._rooms, self._memories, self._quiet = rooms, memories, quiet

    def __getitem__(self, index: int) -> Node:
        return self._rooms.holding(index, self._memories, self._quiet)
