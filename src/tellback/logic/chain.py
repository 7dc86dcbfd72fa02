"""The chain of causes: what made something so, and what made that so, back to where it ends.

The rules are those of `docs/meaning.md`, under “Why”.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from tellback.book.model import (
    Why,
)
from tellback.logic.acting import Acting, Acts
from tellback.logic.items import Item
from tellback.logic.speech import Fact

MOVED = "moved"
FAILED = "failed"
OUTSIDE = "from outside"
START = "starting state"
ITSELF = "of itself"


@dataclass(frozen=True, slots=True)
class Link:
    """A fact of the chain of causes: what is so, since when, by what, and what made it so.

    `seconds` is None for what has been so since the starting state. `by` names the way, the drive
    or the feeder that acts, with its `source` and `whys`. `causes` are the places in the chain of
    the facts that made it so; where there are none, `end` says why: it was moved, it failed, it
    came from outside, or it is so in the starting state. `depth` is how many links lie before it.
    """

    item: Item
    seconds: float | None
    by: str
    source: str
    whys: tuple[Why, ...]
    causes: tuple[int, ...]
    end: str
    depth: int

    @property
    def text(self) -> str:
        """What is so, in words."""
        return self.item.text


NEVER = 1 << 30

FAR = 4
"""So many links behind something that stood is followed what came to be so, where it is alone."""

_Key = tuple[Fact, int]


@dataclass(slots=True)
class _Node:
    """A fact at an instant while the chain is made, with what acts on it and what that rests on.

    `far` is how many links behind it something came to be so, or newly to act; 0 if it did itself.
    """

    fact: Fact
    at: int
    since: int
    acting: Acting | None
    causes: list[_Node] = field(default_factory=list)
    far: int = NEVER

    @property
    def key(self) -> _Key:
        """Which fact it is, and when."""
        return self.fact, self.at


class Chain:
    """The chain of causes behind what acts, in one run."""

    def __init__(self, acts: Acts) -> None:
        self._acts = acts
        self._known: dict[_Key, _Node] = {}
        self._open: set[_Key] = set()

    def behind(self, acting: Acting) -> tuple[Link, ...]:
        """The links, each after the nearest that it made so; what came to be so first.

        Where anything came to be so in the run, what stood since the starting state is followed
        only to what newly acts on it, and only if nothing that it stands beside is nearer to that.
        """
        first = self._causes(acting)
        whole = min((node.far for node in first), default=NEVER) > FAR
        followed = set(self._known) if whole else _leading(first)
        tree = _nearest(first, followed)
        order = list(_in_order(first, tree))
        places = {node.key: place for place, (node, _) in enumerate(order)}
        return tuple(
            self._link(node, depth, tuple(places[c.key] for c in _told(node, followed)))
            for node, depth in order
        )

    def _causes(self, acting: Acting) -> list[_Node]:
        """What a part rests on: what came to be so first, then in the order of the book."""
        names = sorted(acting.part, key=self._acts.speech.told_at)
        facts = [Fact(name, acting.part[name]) for name in names]
        found = [self._node(fact, acting.at.index) for fact in facts]
        return sorted((n for n in found if n is not None), key=lambda n: n.far)

    def _node(self, fact: Fact, at: int) -> _Node | None:
        """The node of a fact; None where it is being explained, in a circle of things not so."""
        key = fact, at
        if key in self._known:
            return self._known[key] if key not in self._open else None
        acts = self._acts
        since = acts.reasons.since(fact.name, fact.values, at)
        node = self._known[key] = _Node(fact, at, since, acts.on(fact, at))
        self._open.add(key)
        if node.acting is not None:
            node.causes = self._causes(node.acting)
        self._open.remove(key)
        behind = min((cause.far for cause in node.causes), default=NEVER)
        node.far = 0 if since or self._acts_newly(node) else behind + 1
        return node

    def _acts_newly(self, node: _Node) -> bool:
        """Whether what acts on a fact now has not done so since the starting state."""
        acting = node.acting
        return acting is not None and self._acts.reasons.rank(acting.part, acting.at.index)[0] > 0

    def _link(self, node: _Node, depth: int, causes: tuple[int, ...]) -> Link:
        acting, speech = node.acting, self._acts.speech
        item = speech.item(node.fact.name, node.fact.values)
        thing = speech.things.get(item.thing)
        return Link(
            item=item,
            seconds=self._acts.instants.seconds(node.since) if node.since else None,
            by=acting.by if acting else "",
            source=(acting.source if acting else "") or (thing.source if thing else ""),
            whys=acting.whys if acting else (),
            causes=causes,
            end="" if causes else self._end(node),
            depth=depth,
        )

    def _end(self, node: _Node) -> str:
        """Why the chain goes no further."""
        if not node.since:
            return START
        variable = self._acts.system.variables.get(node.fact.name)
        kind = variable.kind if variable is not None else ""
        return {"control": MOVED, "failure": FAILED, "": ITSELF}.get(kind, OUTSIDE)


def _leading(first: Sequence[_Node]) -> set[_Key]:
    """The nodes to follow: those that lead to what came to be so, by the nearest way."""
    found: set[_Key] = set()
    waiting = [first]
    while waiting:
        causes = waiting.pop()
        nearest = min((node.far for node in causes), default=NEVER)
        for node in causes:
            leads = node.far == 0 or node.far == nearest <= FAR
            if leads and node.key not in found:
                found.add(node.key)
                waiting.append(node.causes)
    return found


def _told(node: _Node, followed: Collection[_Key]) -> Sequence[_Node]:
    """What a link rests on, if that is told."""
    return node.causes if node.key in followed else ()


def _nearest(first: Sequence[_Node], followed: Collection[_Key]) -> dict[_Key, list[_Node]]:
    """For each node those that it is the nearest to tell."""
    seen = {node.key for node in first}
    tree: dict[_Key, list[_Node]] = {}
    waiting = deque(first)
    while waiting:
        node = waiting.popleft()
        new = [cause for cause in _told(node, followed) if cause.key not in seen]
        seen.update(cause.key for cause in new)
        tree[node.key] = new
        waiting.extend(new)
    return tree


def _in_order(
    first: Sequence[_Node], tree: Mapping[_Key, Sequence[_Node]]
) -> Iterator[tuple[_Node, int]]:
    """The nodes, each followed by those that it tells, with how deep they are."""
    waiting = [(node, 0) for node in reversed(first)]
    while waiting:
        node, depth = waiting.pop()
        yield node, depth
        waiting += [(cause, depth + 1) for cause in reversed(tree[node.key])]
