"""The possible states, sorted into rooms: one for each combination of what the memories hold.

Moving an input mostly changes no memory and so stays in the room, where a set of states is a
function of the inputs alone and stays small. Only what makes a memory change leads to another
room.

Times are left out: any delay, surface or moving reading under way may be the next to arrive.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tellback.logic.formula import Formula
from tellback.logic.limits import TooLarge
from tellback.logic.run import State, Unsettled
from tellback.logic.solve import Valuation
from tellback.logic.space import Node
from tellback.logic.symbols import variables_of
from tellback.logic.world import World, by_variable, first_to_hold

ROUNDS = 200
"""After so many steps in a row nothing will come to rest any more."""

MOST_NODES_OF_ROOM = 50_000
"""A room whose states make a larger diagram is past searching."""

Memories = tuple[int, ...]
"""What each memory holds, in the order of `Rooms.memories`."""

Parts = dict[Memories, Node]
"""A set of states, by what the memories hold; each part is a function of the inputs."""

Dues = dict[str, list[tuple[int, Node]]]
"""For each variable the values it is due to take, and where; the same value may come twice."""


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
        self._resting: Parts = {}
        self._calm: Parts = {}
        self._laws: dict[Memories, list[Node]] = {}
        self._inputs_behind: dict[Node, frozenset[str]] = {}
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

    def _at(self, formula: Formula, memories: Memories, quiet: bool = False) -> Node:
        """Where the formula of a rule holds in a room; `quiet` sees no edges."""
        # The formula lives as long as its system, so its identity may stand for it.
        key = id(formula), quiet
        if key not in self._slices:
            values = self.world.quiet_values if quiet else self.world.symbols.values
            self._slices[key] = Slices(formula, values, self.memories)
        return self._slices[key].at(self, memories)

    def _dues(self, name: str, memories: Memories, quiet: bool) -> Iterator[tuple[int, Node]]:
        """The values that a variable is due to take, and where; the first rule to hold counts."""
        rules = [
            (rule.value, self._at(rule.condition, memories, quiet))
            for rule in self.world.steps[name]
        ]
        for value, here in first_to_hold(self.space, rules):
            if name not in self._place:
                yield value, here & ~self.world.literal(name, value)
            elif memories[self._place[name]] != value:
                yield value, here

    def resting(self, memories: Memories) -> Node:
        """Where no step is due, edges not counted."""
        if memories not in self._resting:
            moving = (
                due for name in self.world.steps for _, due in self._dues(name, memories, True)
            )
            self._resting[memories] = ~self.space.any_of(moving)
        return self._resting[memories]

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
        for name in self.world.steps:
            for value, where in self._dues(name, memories, True):
                yield Exit(name, value, False), where
        for name, dues in self._dues_of_lasts(memories).items():
            for value, where in dues:
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
        """The steady states that follow at once, by room."""
        done: Parts = {}
        left = self._by_room(states)
        for _ in range(ROUNDS):
            if not left:
                return done.items()
            after: list[tuple[Memories, Node]] = []
            for memories, part in left.items():
                resting = self.resting(memories)
                quiet = self._dues_of_steps(memories, True)
                for changed, held, _ in self._changed(memories, part & ~resting, quiet):
                    after.append((held, changed))
                loud = self._dues_of_steps(memories, False) | self._dues_of_lasts(memories)
                for changed, held, names in self._changed(memories, part & resting, loud):
                    if any(name in self.world.steps for name in names):
                        after.append((held, changed))
                    else:
                        done[held] = done.get(held, self.space.false) | changed
            left = self._by_room(after)
        raise Unsettled(self.world.steps, timed=False)

    def _by_room(self, states: Iterable[tuple[Memories, Node]]) -> Parts:
        joined: Parts = {}
        for memories, part in states:
            if part != self.space.false:
                joined[memories] = joined.get(memories, self.space.false) | part
        return joined

    def _dues_of_steps(self, memories: Memories, quiet: bool) -> Dues:
        if not quiet and not self.world.lasts:
            return {}
        return {name: list(self._dues(name, memories, quiet)) for name in self.world.steps}

    def _dues_of_lasts(self, memories: Memories) -> Dues:
        dues: Dues = {}
        for rule in self.world.lasts:
            now = self._at(rule.condition, memories)
            noted = memories[self._place[rule.variable]]
            dues[rule.variable] = [(0, ~now)] if noted else [(1, now)]
        return dues

    def _changed(
        self, memories: Memories, states: Node, dues: Dues
    ) -> Iterator[tuple[Node, Memories, dict[str, int]]]:
        """The states after all that is due has changed together, their room, and what changed."""
        if states == self.space.false:
            return
        for part, changes in self._split(states, dues):
            inputs = {n: v for n, v in changes.items() if n not in self._place}
            held = {n: v for n, v in changes.items() if n in self._place}
            if inputs:
                part = self.space.exists(part, inputs) & self.space.point(inputs)
            yield part, self._with(memories, held), changes

    def _split(self, states: Node, dues: Dues) -> list[tuple[Node, dict[str, int]]]:
        """The states, split by what is due in them."""
        split: list[tuple[Node, dict[str, int]]] = [(states, {})]
        for name, values in dues.items():
            pieces, split = split, []
            for states, changes in pieces:
                for value, where in values:
                    split.append((states & where, {**changes, name: value}))
                    states = states & ~where
                split.append((states, changes))
            split = [piece for piece in split if piece[0] != self.space.false]
        return split
