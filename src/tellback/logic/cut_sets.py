"""The minimal sets of events that make a circuit true, module by module.

Each module is made a diagram of its own, in the best of several orders, and its minimal sets are
taken from that. A module that others need stands for one event in them; at the end its sets are
put in the place of that event.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from tellback.logic.circuit import Circuit
from tellback.logic.event_orders import event_orders, extent
from tellback.logic.families import EMPTY_SET, NONE, Families, minimal_family
from tellback.logic.limits import TooLarge
from tellback.logic.modules import cut
from tellback.logic.space import Node, Space

TABLES = (1 << 14, 1 << 18, 1 << 22, 1 << 25)
"""How many nodes a module may hold while it is built: each is tried if the one before is full."""

SMALL_TABLE = 1 << 18
"""Up to this table all orders are tried; beyond, the first that has room is taken."""

MOST_JOINED = 1 << 20
"""So many families may come of putting the sets of modules in their places."""

FEW_NODES = 1_000
"""What has no more nodes than this is not worth making smaller."""


@dataclass(frozen=True, slots=True)
class CutSets:
    """Minimal sets of events: a family of places in `events`, which are in diagram order."""

    events: Sequence[int]
    families: Families
    root: int


def cut_sets(circuit: Circuit, top: int, order: int | None = None) -> CutSets:
    """The smallest sets of events that make the term true when no other event holds.

    With an `order`, only the sets of at most so many events; then the diagrams too are of such
    sets alone. Raises ``TooLarge`` or ``TooLong``.
    """
    top, modules = cut(circuit, top)
    numbers = circuit.below(top)
    at_rest = circuit.at_rest(numbers)
    if at_rest[top >> 1] != bool(top & 1):
        return CutSets((), Families(()), EMPTY_SET)
    if not modules:
        return _of_one_event(circuit, top, order)
    solver = _Solver(circuit, top, at_rest, order)
    try:
        found = _Joining(solver.solved_by(modules)).of(top >> 1)
    except TooLarge:
        # Modules within modules may not fit together: what follows one is there once for each end.
        found = solver.solved_by([top >> 1])[top >> 1]
    if order is None:
        return found
    return replace(found, root=found.families.at_most(found.root, order))


def _of_one_event(circuit: Circuit, top: int, order: int | None) -> CutSets:
    """The sets of an event itself, or of nothing if the term is the constant false."""
    if circuit.gates[top >> 1].kind == "constant" or order == 0:
        return CutSets((), Families(()), NONE)
    families = Families((0,))
    return CutSets((top >> 1,), families, families.family(0, EMPTY_SET, NONE))


class _Solver:
    """The minimal sets of modules, each of events and of modules solved before it.

    A module, whether it stands as an event or is solved, is meant to be what it is not while no
    event holds.
    """

    def __init__(
        self, circuit: Circuit, top: int, at_rest: Mapping[int, bool], order: int | None
    ) -> None:
        self.circuit = circuit
        self.at_rest = at_rest
        self.order = order
        self.events = {n for n in circuit.below(top) if not circuit.gates[n].parts}
        self.extent = extent(circuit, top)
        self.leaves = self.events
        self.solved: dict[int, CutSets] = {}

    def solved_by(self, modules: Sequence[int]) -> Mapping[int, CutSets]:
        """The minimal sets of modules, each of events and of those before it."""
        self.leaves = self.events.union(modules)
        self.solved = {}
        for module in modules:
            self._solve(module)
        return self.solved

    def _solve(self, module: int) -> None:
        gate = self.circuit.gates[module]
        if gate.kind == "all" and all(part >> 1 in self.leaves for part in gate.parts):
            self.solved[module] = self._of_leaves(module)
            return
        events, space, node = self._smallest(module)
        bits = space.listing(node)
        families = Families(range(len(events)))
        root = minimal_family(bits.nodes(), bits.root, families, _same, self.order)
        self.solved[module] = CutSets(events, families, root)

    def _of_leaves(self, module: int) -> CutSets:
        """The sets of a gate that needs all of some leaves, or any: there is no diagram to make."""
        either = self.at_rest[module]
        parts = [part ^ either for part in self.circuit.gates[module].parts]
        events = [part >> 1 for part in parts if self.at_rest[part >> 1] == bool(part & 1)]
        families = Families(range(len(events)))
        root = NONE if either else EMPTY_SET
        for place in reversed(range(len(events))):
            having, lacking = (EMPTY_SET, root) if either else (root, NONE)
            root = families.family(place, having, lacking)
        return CutSets(events, families, root)

    def _smallest(self, module: int) -> tuple[list[int], Space, Node]:
        """The smallest diagram of the module that the orders give.

        Where one order has done, the others may hold no more than it did. Where none has, the one
        that came farthest is the first to get more room.
        """
        orders = event_orders(self.circuit, module, self.leaves, self.extent)
        for most in TABLES:
            best: tuple[list[int], Space, Node] | None = None
            came: dict[int, int] = {}
            room = most
            for place, events in enumerate(orders):
                space = Space([(str(event), 2) for event in events], most=room)
                building = self._building(module, events, space)
                came[place], node = _last(building)
                if node is None:
                    continue
                if best is None or space.weight(node) < best[1].weight(best[2]):
                    best = events, space, node
                    room = space.held()
                if most > SMALL_TABLE or space.weight(node) <= FEW_NODES:
                    break
            if best:
                return best
            orders = [orders[place] for place in sorted(came, key=came.__getitem__, reverse=True)]
        raise TooLarge(
            f"finding the minimal sets needs a diagram of more than {TABLES[-1]:,} nodes",
            "Ask for sets of few failures, such as `--order 2`.",
        )

    def _building(self, module: int, events: Sequence[int], space: Space) -> Iterator[Node]:
        """The diagrams of all that a module needs, in the order in which they are made.

        The last is that of the module, being true where it is not what it is at rest.
        """
        nodes: dict[int, Node] = {}
        for event in events:
            for negated in (0, 1):
                failed = self.at_rest[event] == bool(negated)
                nodes[2 * event + negated] = space.literal(str(event), (int(failed),))
        narrowed = _Narrowed(space, self._few(space, events))
        top = 2 * module + self.at_rest[module]
        for term in self._needed(top):
            nodes[term] = self._combined(term, nodes, narrowed)
            yield nodes[term]
        yield narrowed.whole(nodes[top])

    def _needed(self, top: int) -> list[int]:
        """The terms that a term needs, itself included, as far as the leaves; parts first."""
        met, waiting = {top}, [top]
        while waiting:
            term = waiting.pop()
            for part in self.circuit.gates[term >> 1].parts:
                needed = part ^ (term & 1)
                if needed not in met and needed >> 1 not in self.leaves:
                    met.add(needed)
                    waiting.append(needed)
        return sorted(met)

    def _combined(self, term: int, nodes: Mapping[int, Node], narrowed: _Narrowed) -> Node:
        """A gate over its parts. If it is negated, over the negated parts: no diagram is turned."""
        gate, negated = self.circuit.gates[term >> 1], term & 1
        parts = narrowed.space.deepest_first(nodes[part ^ negated] for part in gate.parts)
        if gate.kind == "at least":
            number = len(parts) - gate.number + 1 if negated else gate.number
            return narrowed.at_least(number, parts)
        joined = parts[0]
        for part in parts[1:]:
            joined = narrowed(part | joined if negated else part & joined)
        return joined

    def _few(self, space: Space, events: Sequence[int]) -> Node | None:
        """Where no more events hold than the order allows; None if it allows any number.

        A module counts as many as the smallest of its sets has.
        """
        if self.order is None:
            return None
        left = [space.true] * (self.order + 1)
        for event in reversed(events):
            holds, fails = (space.literal(str(event), (value,)) for value in (1, 0))
            least = self._least(event)
            left = [
                (fails & more) | (holds & left[n - least] if n >= least else space.false)
                for n, more in enumerate(left)
            ]
        return left[self.order]

    def _least(self, event: int) -> int:
        if event not in self.solved:
            return 1
        found = self.solved[event]
        return found.families.smallest(found.root, default=1 + (self.order or 0))


class _Narrowed:
    """Diagrams of which only the part where few events hold matters: the rest goes as they grow."""

    def __init__(self, space: Space, few: Node | None) -> None:
        self.space, self._few = space, few
        self._held = space.held()

    def __call__(self, node: Node) -> Node:
        """The diagram; without the rest if much has been made since that was taken away last."""
        if self._few is not None and self.space.held() - self._held > FEW_NODES:
            node = self.whole(node)
            self._held = self.space.held()
        return node

    def whole(self, node: Node) -> Node:
        """The diagram without the rest."""
        return node if self._few is None else node & self._few

    def at_least(self, number: int, parts: Sequence[Node]) -> Node:
        """Where so many of the parts hold."""
        reached = [self.space.true] + [self.space.false] * number
        for part in parts:
            for n in range(number, 0, -1):
                reached[n] = self(reached[n] | (reached[n - 1] & part))
        return reached[number]


def _last(building: Iterator[Node]) -> tuple[int, Node | None]:
    """How many diagrams are made, and the last; None if there is no room for all."""
    number, node = 0, None
    try:
        for number, node in enumerate(building):  # noqa: B007
            pass
    except TooLarge:
        return number, None
    return number, node


def _same(variable: int, _value: int) -> int:
    return variable


class _Joining:
    """Puts the sets of modules in the place of the events for which these stand."""

    def __init__(self, solved: Mapping[int, CutSets]) -> None:
        self._solved = solved
        self._known: dict[tuple[int, int, int, int], int] = {}
        self._events: list[int] = []

    def of(self, module: int) -> CutSets:
        """The sets of a module, of events alone."""
        self._events = list(self._below(module))
        self._places = {event: place for place, event in enumerate(self._events)}
        self._families = Families(range(len(self._events)))
        root = self._joined(module, self._solved[module].root, EMPTY_SET, NONE)
        return CutSets(self._events, self._families, root)

    def _below(self, module: int) -> list[int]:
        """The events of a module, those of a module within it in its place."""
        found: list[int] = []
        waiting = [module]
        while waiting:
            number = waiting.pop()
            if number in self._solved:
                waiting += reversed(self._solved[number].events)
            else:
                found.append(number)
        return found

    def _joined(self, module: int, own: int, further: int, otherwise: int) -> int:
        """The sets of a family of a module, each with those of `further`; and `otherwise`."""
        if own == NONE:
            return otherwise
        if own == EMPTY_SET:
            return further
        key = (module, own, further, otherwise)
        found = self._known.get(key)
        if found is None:
            sets = self._solved[module]
            event = sets.events[sets.families.item[own]]
            having = self._joined(module, sets.families.having[own], further, NONE)
            lacking = self._joined(module, sets.families.lacking[own], further, otherwise)
            if event in self._solved:
                found = self._joined(event, self._solved[event].root, having, lacking)
            else:
                found = self._families.family(self._places[event], having, lacking)
            self._known[key] = found
            if len(self._known) > MOST_JOINED:
                raise TooLarge("the sets of modules within modules take too much to put together")
        return found
