"""From functions of values to functions of which values are excluded."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tellback.logic.diagram import Diagram
from tellback.logic.space import Node, Space


@dataclass(frozen=True, slots=True)
class Bit:
    """One yes/no variable: that ``value`` of the variable with that index is excluded."""

    variable: int
    value: int


FEW_NODES = 2_000
"""Diagrams with fewer nodes than this do with a small table."""


class Exclusions:
    """The space of exclusions that belongs to the variables of some functions.

    A variable that is not ordered has one bit for each value. An ordered one of k values has
    k - 1 bits from below and k - 1 from above, each of which counts only if those before it do,
    so that a minimal set of bits excludes no more at either end than it must.

    Excluding every value of a variable describes no state. Such a set of bits is read as if its
    last value (or, if ordered, everything from above) were not excluded: as a smaller set of bits
    then says the same, it is never minimal.
    """

    def __init__(self, diagrams: Sequence[Diagram], ordered: Callable[[str], bool]) -> None:
        """The exclusions for what these functions, all of one space, depend on."""
        self.names = diagrams[0].names
        self.bits: list[Bit] = []
        self.space = Space([], small=sum(len(d.variable) for d in diagrams) < FEW_NODES)
        self._sizes = diagrams[0].sizes
        depended_on = {diagram.variable[n] for diagram in diagrams for n in diagram.inner_nodes()}
        self._excluded = {
            variable: self._run_bits(variable, size)
            if ordered(self.names[variable]) and size > 2
            else self._single_bits(variable, size)
            for variable in sorted(depended_on)
            for size in (self._sizes[variable],)
        }

    def _bit(self, variable: int, value: int) -> Node:
        name = str(len(self.bits))
        self.bits.append(Bit(variable, value))
        self.space.add(name, 2)
        return self.space.literal(name, (1,))

    def _single_bits(self, variable: int, size: int) -> list[Node]:
        """For each value, when it is excluded."""
        bits = [self._bit(variable, value) for value in range(size)]
        everything = self.space.all_of(bits)
        return [*bits[:-1], bits[-1] & ~everything]

    def _run_bits(self, variable: int, size: int) -> list[Node]:
        """For each value of an ordered variable, when it is excluded."""
        below = self._chain(variable, list(range(size - 1)))
        above = self._chain(variable, list(range(size - 1, 0, -1)))
        never = self.space.false
        ends = [(below.get(value, never), above.get(value, never)) for value in range(size)]
        everything = self.space.all_of(low | high for low, high in ends)
        return [low | (high & ~everything) for low, high in ends]

    def _chain(self, variable: int, values: list[int]) -> dict[int, Node]:
        bits = [self._bit(variable, value) for value in values]
        return {value: self.space.all_of(bits[: place + 1]) for place, value in enumerate(values)}

    def forced(self, diagram: Diagram) -> Node:
        """When everything that is not excluded makes the function true."""
        found = [self.space.false, self.space.true]
        for point in diagram.inner_nodes():
            excluded = self._excluded[diagram.variable[point]]
            found.append(
                self.space.all_of(
                    barred | found[child]
                    for barred, child in zip(excluded, diagram.children[point], strict=True)
                )
            )
        return found[diagram.root]

    @property
    def narrowed(self) -> list[Node]:
        """For each variable, when any bit of it is set."""
        several: dict[int, list[Node]] = {}
        for number, bit in enumerate(self.bits):
            several.setdefault(bit.variable, []).append(self.space.literal(str(number), (1,)))
        return [self.space.any_of(bits) for bits in several.values()]

    def values_left(self, variable: int, bits: tuple[int, ...]) -> tuple[int, ...]:
        """The values of the variable that a minimal set with these of its bits leaves."""
        excluded = {self.bits[bit].value for bit in bits}
        return tuple(value for value in range(self._sizes[variable]) if value not in excluded)
