"""The syntax tree of a condition: parsed once, read many ways (logic, English, canonical text).

Names are canonical (as declared), groups and members are already written out. Comparisons of a
reading keep the number in the unit of the reading; comparisons of a surface or of a supply's
levels keep positions in the declared order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class All:
    """Every part holds; without parts it always holds."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Any:
    """At least one part holds; without parts it never holds."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class AtLeast:
    """At least `count` of the parts hold."""

    count: int
    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    """The part does not hold."""

    part: Condition


@dataclass(frozen=True, slots=True)
class State:
    """A thing is in a state, in the canonical word of its kind.

    control and surface: `at P` (surface also `moving`); situation and means: `yes`;
    unit: `running`, `available`, `failed`; supply: `live`, `paralleled`, `otherwise lost`,
    `at L` (exactly this level); latch: `set`; indication: `shown`; anything with failure modes:
    `failed`. Opposites (`lost`, `clear`, `still`, `not shown`) are `Not` of these.
    """

    thing: str
    state: str


@dataclass(frozen=True, slots=True)
class FedBy:
    """The feeder of the supply is this source (a unit or another supply)."""

    supply: str
    source: str


@dataclass(frozen=True, slots=True)
class Compare:
    """A reading lies in a range: `low` and `high` in its unit, None for no bound.

    An included bound is within the range. `true` asks for the real value, not the indicated.
    """

    reading: str
    low: float | None
    low_included: bool
    high: float | None
    high_included: bool
    true: bool = False


@dataclass(frozen=True, slots=True)
class Between:
    """A surface or a supply's level lies between two named places, by order.

    `low` and `high` are point or level names, None for no bound; for a surface the gaps next to
    an excluded end belong to the range.
    """

    thing: str
    low: str | None
    low_included: bool
    high: str | None
    high_included: bool


@dataclass(frozen=True, slots=True)
class Held:
    """The part has held for so many seconds."""

    part: Condition
    seconds: float


@dataclass(frozen=True, slots=True)
class Edge:
    """The part has just begun (`comes on`) or ceased to hold (`goes out`)."""

    part: Condition
    rising: bool


Condition = All | Any | AtLeast | Not | State | FedBy | Compare | Between | Held | Edge

ALWAYS = All(())
NEVER = Any(())


def parts(condition: Condition) -> tuple[Condition, ...]:
    """The direct parts of a condition."""
    match condition:
        case All(several) | Any(several) | AtLeast(_, several):
            return several
        case Not(part) | Held(part, _) | Edge(part, _):
            return (part,)
    return ()


def walk(condition: Condition) -> Iterator[Condition]:
    """The condition and everything within it, from outside in."""
    yield condition
    for part in parts(condition):
        yield from walk(part)


def with_leaves(condition: Condition, change: Callable[[Condition], Condition]) -> Condition:
    """The condition with every part that has no parts of its own changed."""
    match condition:
        case All(parts) | Any(parts) | AtLeast(_, parts):
            return replace(condition, parts=tuple(with_leaves(part, change) for part in parts))
        case Not(part) | Held(part) | Edge(part):
            return replace(condition, part=with_leaves(part, change))
    return change(condition)


def things(condition: Condition) -> tuple[str, ...]:
    """The names of all things that the condition speaks of, each once, in order."""
    names: dict[str, None] = {}
    for node in walk(condition):
        match node:
            case State(name, _) | Compare(name) | Between(name):
                names[name] = None
            case FedBy(supply, source):
                names[supply] = names[source] = None
    return tuple(names)


def places_of(condition: Condition) -> tuple[str, ...]:
    """The positions, points or levels of one thing between which a condition leaves the choice.

    Empty if it is no choice of several such places.
    """
    several = condition.parts if isinstance(condition, Any) else ()
    states = [part for part in several if isinstance(part, State) and part.state.startswith("at ")]
    alike = len(states) == len(several) > 1 and len({part.thing for part in states}) == 1
    return tuple(part.state.removeprefix("at ") for part in states) if alike else ()
