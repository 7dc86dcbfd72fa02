"""Sets of changes that do alike, told as one: several places of a control, a range of a reading."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Generic, TypeVar

from tellback.logic.items import Item
from tellback.logic.picture import Picture
from tellback.logic.words import alike, literal_text

Outcome = TypeVar("Outcome", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Changed(Generic[Outcome]):
    """Inputs with the values to one of which each is moved, and what comes of it."""

    changes: Mapping[str, frozenset[int]]
    outcome: Outcome

    @classmethod
    def of(cls, chosen: Iterable[tuple[str, int]], outcome: Outcome) -> Changed[Outcome]:
        """A set of single changes."""
        return cls({name: frozenset([value]) for name, value in chosen}, outcome)


def merged(picture: Picture, found: Sequence[Changed[Outcome]]) -> list[Changed[Outcome]]:
    """Those of the same outcome that differ in the place of one control or reading alone, as one.

    It stands where the first of them stood.
    """
    several = list(found)
    for name in dict.fromkeys(name for one in found for name in one.changes):
        kind = picture.system.variables[name].kind
        if kind in ("control", "reading"):
            several = [
                replace(group[0], changes={**group[0].changes, **values})
                for group in alike(several, partial(_besides, name))
                for values in _choices(name, group, in_a_row=kind == "reading")
            ]
    return several


def _besides(name: str, one: Changed[Outcome]) -> Hashable:
    """What merges with a set in the place of this input: the same otherwise."""
    others = ((n, values) for n, values in one.changes.items() if n != name)
    return name in one.changes, frozenset(others), one.outcome


def _choices(
    name: str, group: Sequence[Changed[Outcome]], in_a_row: bool
) -> list[dict[str, frozenset[int]]]:
    """The values of an input in a group, all together or those that lie in a row; none if none."""
    values = sorted(v for one in group for v in one.changes.get(name, ()))
    if not values:
        return [{}]
    if not in_a_row:
        return [{name: frozenset(values)}]
    rows = alike(enumerate(values), lambda one: one[1] - one[0])
    return [{name: frozenset(value for _, value in row)} for row in rows]


def items_of(picture: Picture, changes: Mapping[str, frozenset[int]]) -> tuple[Item, ...]:
    """Changes as items of an answer."""
    items = []
    for name, values in changes.items():
        variable = picture.system.variables[name]
        states = tuple(variable.values[v] for v in sorted(values))
        text = literal_text(picture.system, name, values)
        together = picture.groups.together(variable.thing, text)
        items.append(Item(variable.thing, variable.kind, states, text, together))
    return tuple(items)
