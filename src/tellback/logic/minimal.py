"""Which failures bring something about: the minimal sets, and its probability.

For a function that can be undone by a further failure, the sets are the positive parts of its
solutions: nothing is said of what must not fail (as in the published results of fault trees).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tellback.logic.choices import Choices, choices_of
from tellback.logic.circuit import Circuit
from tellback.logic.cut_sets import cut_sets
from tellback.logic.diagram import Diagram, probability_of
from tellback.logic.families import EMPTY_SET, NONE, Families, minimal_family
from tellback.logic.limits import within
from tellback.logic.space import Node, Space

FailureSet = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class MinimalSets:
    """All minimal sets of ``(variable, failure mode)``; iterating lists them, smallest first."""

    names: tuple[str, ...]
    choices: Choices[int]

    @property
    def count(self) -> int:
        """How many sets there are."""
        return self.choices.count

    def by_order(self) -> dict[int, int]:
        """How many sets there are with each number of members that occurs, smallest first."""
        return self.choices.by_size()

    def __iter__(self) -> Iterator[FailureSet]:
        """The sets, smallest first, each in diagram order."""
        for chosen in self.choices:
            yield tuple((self.names[variable], mode) for variable, mode in chosen)


def minimal_sets(
    space: Space,
    node: Node,
    events: Mapping[str, int],
    order: int | None = None,
    seconds: float = 60.0,
) -> MinimalSets:
    """The smallest sets of failures that make ``node`` true, everything else being normal.

    ``events`` gives each failure variable and its normal value, 0; its other values are the ways
    it can fail, of which a set has at most one. A set is listed if ``node`` is true when exactly
    its members have failed and no smaller set within it does that. With an ``order``, only the
    sets of at most so many members.

    Raises ValueError if ``node`` depends on a variable that is not among the events,
    ``TooLarge`` if the answer takes too much memory, and ``TooLong`` if it takes more than so many
    seconds of processor time.
    """
    with within(seconds, "finding the minimal sets"):
        diagram = space.diagram(node)
        strangers = [name for name in diagram.support() if events.get(name) != 0]
        if strangers:
            raise ValueError(f"not among the failures, with normal value 0: {strangers}")
        first_item, groups = _items(diagram)
        families = Families(groups)

        def item(variable: int, mode: int) -> int:
            return first_item[variable] + mode - 1

        def mode(variable: int, items: tuple[int, ...]) -> int:
            return items[0] - first_item[variable] + 1

        root = minimal_family(diagram.nodes(), diagram.root, families, item, order)
        return MinimalSets(diagram.names, choices_of(families, root, mode))


def minimal_sets_of(
    circuit: Circuit, top: int, modes: Mapping[int, tuple[str, int]], order: int | None = None
) -> MinimalSets:
    """The same of a term of a circuit whose events are failure modes, without a diagram of it all.

    ``modes`` gives the variable and the value, not 0, that each event stands for. Raises
    ``TooLarge`` or ``TooLong``.
    """
    found = cut_sets(circuit, top, order)
    families, root = found.families, found.root
    named = [modes[event] for event in found.events]
    root = families.without(root, _two_at_a_time(families, named))
    names = tuple(name for name, _ in named)
    return MinimalSets(names, choices_of(families, root, lambda place, _: named[place][1]))


def _two_at_a_time(families: Families, named: Sequence[tuple[str, int]]) -> int:
    """The sets of two modes of one variable, which never hold together."""
    later: dict[str, int] = {}
    pairs = NONE
    for place, (name, _) in reversed(list(enumerate(named))):
        others = later.get(name, NONE)
        pairs = families.family(place, others, pairs)
        later[name] = families.family(place, EMPTY_SET, others)
    return pairs


def _items(diagram: Diagram) -> tuple[list[int], list[int]]:
    """Each variable's first item (one item a failure mode), and each item's variable."""
    first_item: list[int] = []
    groups: list[int] = []
    for variable, size in enumerate(diagram.sizes):
        first_item.append(len(groups))
        groups.extend([variable] * (size - 1))
    return first_item, groups


def probability(space: Space, node: Node, p: Mapping[tuple[str, int], float]) -> float:
    """The exact probability that ``node`` is true.

    ``p`` gives the probability of each ``(variable, failure mode)``; a mode that it leaves out
    never occurs, and value 0 has what remains. The variables are independent of each other.

    Raises ValueError if a variable's probabilities are not between 0 and 1 in sum.
    """
    diagram = space.diagram(node)
    chances: dict[str, list[float]] = {}
    for name in diagram.support():
        failed = [p.get((name, mode), 0.0) for mode in range(1, space.size(name))]
        if min(failed) < 0 or sum(failed) > 1:
            raise ValueError(f"probabilities of {name!r}: {failed}")
        chances[name] = [1 - sum(failed), *failed]
    return probability_of(diagram, chances)
