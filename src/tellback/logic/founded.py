"""In which order the values of a circle come to be, so that no reason goes round in it.

A value of a circle is true only because something outside makes it so. The rounds of the
alternating fixed point (`tellback.logic.solve`) tell in which order: what is true in a round is so
by what was true before it in the round and what was false by then.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from tellback.logic.formula import And, Formula, Key, Lit, Neg, Or, Ref, Some
from tellback.logic.run import State
from tellback.logic.solve import Graph, Valuation

Rank = tuple[int, int]
"""In which round a value was found, and as which of those found true in it."""

LAST = 1 << 30
"""Where a value stands that was found false in a round."""


class Circles:
    """The values of a system that feed one another in a circle."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self.members = [part for part in graph.order if graph.is_circle(part)]
        self.of = {key: i for i, part in enumerate(self.members) for key in part}


class Founded:
    """The ranks of the values that stand in circles, in one state."""

    def __init__(self, circles: Circles, values: Valuation[int], state: State) -> None:
        self._circles = circles
        self._values = values
        self._state = state
        self._ranks: dict[int, Mapping[Key, Rank]] = {}

    def may_rest(self, owner: Key | None, child: Key) -> bool:
        """Whether a reason for the value of `owner` may name the value of `child`."""
        circle = self._circles.of.get(child)
        if owner is None or circle is None or self._circles.of.get(owner) != circle:
            return True
        ranks = self._ranked(circle)
        if self._values[child]:
            return ranks[child] < ranks[owner]
        return ranks[child][0] <= ranks[owner][0]

    def _ranked(self, circle: int) -> Mapping[Key, Rank]:
        if circle not in self._ranks:
            self._ranks[circle] = self._rounds(self._circles.members[circle])
        return self._ranks[circle]

    def _rounds(self, members: Sequence[Key]) -> dict[Key, Rank]:
        ranks: dict[Key, Rank] = {}
        surely: Collection[Key] = ()
        for number in range(len(members) + 1):
            possibly = self._least(members, surely)
            ranks |= {k: (number, LAST) for k in members if k not in possibly and k not in ranks}
            surely = self._least(members, possibly)
            ranks |= {k: (number, i) for i, k in enumerate(surely) if k not in ranks}
            if len(ranks) == len(members):
                break
        return dict.fromkeys(members, (len(members), LAST)) | ranks  # the rest is undecided

    def _least(self, members: Sequence[Key], denied: Collection[Key]) -> dict[Key, None]:
        """The least fixed point, its members in the order in which they come to be."""
        found: dict[Key, None] = {}
        own = set(members)
        formulas = self._circles.graph.system.values

        def so(formula: Formula, affirmed: bool) -> bool:
            match formula:
                case Lit(name, values):
                    return self._state[name] in values
                case Ref(key) if key in own:
                    return key in (found if affirmed else denied)
                case Ref(key):
                    return bool(self._values[key])
                case Neg(part):
                    return not so(part, not affirmed)
                case And(parts):
                    return all(so(part, affirmed) for part in parts)
                case Or(parts):
                    return any(so(part, affirmed) for part in parts)
                case Some(count, parts):
                    return sum(so(part, affirmed) for part in parts) >= count

        more = True
        while more:
            more = False
            for key in members:
                if key not in found and so(formulas[key], True):
                    found[key] = None
                    more = True
        return found
