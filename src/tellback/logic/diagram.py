"""A function over finite domains as a plain table of nodes, and what one pass over it computes.

The table is what the diagram engine hands out: it holds no reference to the engine, so
everything computed here is independent of which engine made it. Children come before their
parents, so every computation is a loop, whatever the depth.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

FALSE, TRUE = 0, 1


@dataclass(frozen=True, slots=True)
class Diagram:
    """A reduced, ordered, multi-valued decision diagram.

    Node 0 is the constant false and node 1 the constant true; both have ``len(names)`` as their
    variable. Any other node has one child for each value of its variable.
    """

    names: tuple[str, ...]
    sizes: tuple[int, ...]
    variable: Sequence[int]
    children: Sequence[tuple[int, ...]]
    root: int

    def inner_nodes(self) -> range:
        """The nodes that are not constants, children before parents."""
        return range(2, len(self.variable))

    def nodes(self) -> Iterator[tuple[int, tuple[int, ...]]]:
        """The variable and the children of each node that is not constant, in that order."""
        pairs = zip(self.variable, self.children, strict=True)
        return islice(pairs, 2, None)

    def support(self) -> tuple[str, ...]:
        """The variables the function truly depends on, in diagram order."""
        present = {self.variable[node] for node in self.inner_nodes()}
        return tuple(self.names[index] for index in sorted(present))


def count_solutions(diagram: Diagram, names: set[str]) -> int:
    """How many assignments of ``names`` (which include the support) make the function true."""
    sizes = [
        size if name in names else 1
        for name, size in zip(diagram.names, diagram.sizes, strict=True)
    ]
    combinations_above = [1]
    for size in sizes:
        combinations_above.append(combinations_above[-1] * size)

    def skipped(above: int, below: int) -> int:
        return combinations_above[below] // combinations_above[above]

    variable = diagram.variable
    counts = [0, 1]
    for node in diagram.inner_nodes():
        below = variable[node] + 1
        counts.append(
            sum(counts[child] * skipped(below, variable[child]) for child in diagram.children[node])
        )
    return counts[diagram.root] * skipped(0, variable[diagram.root])


def nearest_solution(diagram: Diagram, cost: Callable[[str, int], int]) -> dict[str, int] | None:
    """A solution over the support with the least total cost; None if there is no solution.

    Of equally cheap solutions, the one with the lowest values, the first variable deciding first.
    """
    if diagram.root == FALSE:
        return None
    costs = {
        index: [cost(diagram.names[index], value) for value in range(diagram.sizes[index])]
        for index in {diagram.variable[node] for node in diagram.inner_nodes()}
    }
    cheapest = {index: min(of_values) for index, of_values in costs.items()}
    extra: list[float] = [math.inf, 0]
    choice = [0, 0]
    for node in diagram.inner_nodes():
        index = diagram.variable[node]
        through = [
            extra[child] + costs[index][value] - cheapest[index]
            for value, child in enumerate(diagram.children[node])
        ]
        extra.append(min(through))
        choice.append(through.index(extra[node]))
    values = {index: costs[index].index(cheapest[index]) for index in sorted(costs)}
    node = diagram.root
    while node != TRUE:
        values[diagram.variable[node]] = choice[node]
        node = diagram.children[node][choice[node]]
    return {diagram.names[index]: value for index, value in values.items()}


def probability_of(diagram: Diagram, chances: Mapping[str, Sequence[float]]) -> float:
    """The probability that the function is true, the variables being independent.

    ``chances`` gives for each variable of the support the probability of each of its values
    (Shannon decomposition, exact but for rounding).
    """
    result = [0.0, 1.0]
    for node in diagram.inner_nodes():
        of_values = chances[diagram.names[diagram.variable[node]]]
        children = diagram.children[node]
        result.append(
            math.fsum(p * result[child] for p, child in zip(of_values, children, strict=True))
        )
    return result[diagram.root]
