"""The shortest reasons: every prime implicant of a function over finite domains.

An implicant says of some variables that each has one of a set of values (for an ordered variable,
of an unbroken run of values) and makes the function true whatever the others are. It is prime if
no set can be widened and no variable left out. Method: a function over "this value is excluded",
true where all that is not excluded makes the original true; its minimal sets are the primes
(Coudert and Madre 1992, carried over from yes/no variables to finite domains).
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tellback.logic.choices import Choices, choices_of
from tellback.logic.exclusions import Exclusions
from tellback.logic.families import Families, minimal_family
from tellback.logic.limits import within
from tellback.logic.space import Node, Space

Cube = dict[str, frozenset[int]]

WORK = "finding the shortest combinations"


@dataclass(frozen=True, slots=True)
class Primes:
    """All prime implicants; iterating lists them, shortest first."""

    names: tuple[str, ...]
    choices: Choices[tuple[int, ...]]

    @property
    def count(self) -> int:
        """How many there are."""
        return self.choices.count

    def by_size(self) -> dict[int, int]:
        """How many there are with each number of variables that occurs, smallest first."""
        return self.choices.by_size()

    def __iter__(self) -> Iterator[Cube]:
        """Each as ``{variable: values}`` in diagram order; shortest first, then by variable."""
        for chosen in self.choices:
            yield {self.names[variable]: frozenset(values) for variable, values in chosen}


def primes(
    space: Space,
    node: Node,
    ordered: Callable[[str], bool],
    limit: int | None = None,
    seconds: float = 60.0,
) -> Primes:
    """Every prime implicant of ``node``, or those of at most ``limit`` variables.

    ``ordered`` tells which variables may only be held to an unbroken run of values. Raises
    ``TooLarge`` if the answer takes too much memory, ``TooLong`` if it takes more than so many
    seconds of processor time.
    """
    with within(seconds, WORK):
        diagram = space.diagram(node)
        exclusions = Exclusions([diagram], ordered)
        return _minimal(exclusions, exclusions.forced(diagram), limit)


def primes_within(
    space: Space,
    node: Node,
    care: Node,
    ordered: Callable[[str], bool],
    limit: int | None = None,
    seconds: float = 60.0,
    meeting: Node | None = None,
) -> Primes:
    """Every shortest cube that can occur within ``care`` and there makes ``node`` true.

    These are the primes of "``node`` or not ``care``" that do not lie wholly outside ``care``, nor
    outside ``meeting`` if that is given.
    """
    with within(seconds, WORK):
        outside = space.diagram(~care if meeting is None else ~(care & meeting))
        allowed = space.diagram(node | ~care)
        exclusions = Exclusions([allowed, outside], ordered)
        here = exclusions.forced(allowed) & ~exclusions.forced(outside)
        return _minimal(exclusions, here, limit)


def _minimal(exclusions: Exclusions, forced: Node, limit: int | None) -> Primes:
    space = exclusions.space
    if limit is not None:
        # What excludes values of more variables is no answer; without it the diagram is smaller.
        forced = forced & ~space.at_least(limit + 1, exclusions.narrowed)
    diagram = space.diagram(forced)
    families = Families([bit.variable for bit in exclusions.bits])
    root = minimal_family(diagram.nodes(), diagram.root, families, lambda bit, _is_set: bit, limit)
    return Primes(exclusions.names, choices_of(families, root, exclusions.values_left))
