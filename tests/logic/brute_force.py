"""The engine's answers worked out from their definitions, by going through every state."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, product

State = tuple[int, ...]


@dataclass(frozen=True)
class Truth:
    """A function given by the states in which it is true."""

    sizes: tuple[int, ...]
    states: frozenset[State]

    def every_state(self) -> Iterator[State]:
        """All states of the variables, true or not."""
        return product(*map(range, self.sizes))


def value_sets(size: int, ordered: bool) -> list[frozenset[int]]:
    """What an implicant may say of one variable; the last says nothing of it."""
    values = range(size)
    if ordered:
        found = {frozenset(range(low, high + 1)) for low in values for high in range(low, size)}
    else:
        counts = range(1, size + 1)
        found = {frozenset(chosen) for count in counts for chosen in combinations(values, count)}
    return sorted(found, key=len)


def prime_cubes(
    truth: Truth, ordered: tuple[bool, ...], accepted: Callable[[frozenset[State]], bool]
) -> set[tuple[frozenset[int], ...]]:
    """The products of value sets whose states are accepted, and no longer if any set is widened.

    ``accepted`` must accept part of what it accepts.
    """
    options = [value_sets(*pair) for pair in zip(truth.sizes, ordered, strict=True)]
    implicants = {cube for cube in product(*options) if accepted(frozenset(product(*cube)))}

    def widened(cube: tuple[frozenset[int], ...]) -> Iterator[tuple[frozenset[int], ...]]:
        for place, values in enumerate(cube):
            for wider in options[place]:
                if values < wider:
                    yield (*cube[:place], wider, *cube[place + 1 :])

    return {cube for cube in implicants if implicants.isdisjoint(widened(cube))}


def minimal_failures(truth: Truth) -> set[frozenset[tuple[int, int]]]:
    """The smallest sets of (variable, value other than 0) that are true by themselves."""
    sets = [
        frozenset((index, value) for index, value in enumerate(state) if value)
        for state in truth.states
    ]
    return {one for one in sets if not any(other < one for other in sets)}


def total_cost(state: Mapping[str, int], cost: Callable[[str, int], int]) -> int:
    """What the values of a state cost together."""
    return sum(cost(name, value) for name, value in state.items())
