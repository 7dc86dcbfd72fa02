"""Ways that are worked out, in few lines: what several of them share is said once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from tellback.logic.answers.cubes import Case, Found, is_by_failure, left_out
from tellback.logic.factored import Literal, Product, enough_to_cover, factored, unfolded
from tellback.logic.groups import told_together
from tellback.logic.items import View, covers
from tellback.logic.said import ALL, EITHER, Said, joined
from tellback.logic.space import Node
from tellback.logic.words import alike

CAN_BE, NEVER, IN_PASSING, OPEN = "can be", "never", "in passing", "not decided"
"""Whether a way can come about; in passing: in no lasting state, as for a change."""

STATED, FOLLOWS, BY_FAILURE = "stated", "follows", "by failure"
"""Where a way comes from: the book states it, or it follows, or a failure brings it about."""

DEEPEST = 2
"""With more choices within one another a line can no longer be read: it is told as several."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way to X: `said` is what it asks for, `text` how the book has it.

    `origin` tells whether the book states it, with its `name` and `source`; `status` whether it
    can come about. `covered_by` are the numbers (from 1) of other stated ways of which one is met
    wherever this one is. `bare`: it does without the needs. `not_failed` are the things taken as
    not failed; of several such sets, any one will do.
    """

    name: str
    said: Said
    text: str
    source: str
    origin: str
    status: str
    covered_by: tuple[int, ...] = ()
    bare: bool = False
    not_failed: tuple[tuple[str, ...], ...] = ((),)


def few_lines(case: Case, found: Sequence[Found]) -> Iterator[Way]:
    """What was found in as few lines as will do, what they share said once.

    What asks for a failure, or does without the needs, stands apart. A line takes as not failed
    what each choice in it does.
    """
    view, space = case.view, case.space
    direct_first = sorted(found, key=lambda f: f.inferred)
    enough = enough_to_cover(space, direct_first, lambda f: space.any_of(o.where for o in f.all))
    for several in _groups(view, enough):
        shared = factored((frozenset(f.told.items()) for f in several), partial(_place, view))
        products = (one for product in shared for one in unfolded(product, DEEPEST))
        for product in sorted(products, key=partial(_size_and_place, view)):
            node = _node(case, product)
            met = node & case.base & case.found.known != space.false
            of_it = [f for f in several if space.cube(f.told) & ~node == space.false]
            yield Way(
                name="",
                said=_said(view, product),
                text="",
                source="",
                origin=BY_FAILURE if is_by_failure(view, several[0].told) else FOLLOWS,
                status=CAN_BE if met else OPEN,
                bare=several[0].bare,
                not_failed=_sound_together(view, of_it),
            )


def _groups(view: View, found: Iterable[Found]) -> Iterator[list[Found]]:
    """Those that may be told in one line.

    If one is covered by another as told, they are not: it takes other things as not failed, and is
    there for the failure of what the other asks for.
    """
    for several in alike(found, partial(_kind, view)):
        groups: list[list[Found]] = []
        for one in several:
            free = (g for g in groups if not any(_compare(one, other) for other in g))
            group = next(free, None)
            if group is None:
                groups.append([one])
            else:
                group.append(one)
        yield from groups


def _kind(view: View, found: Found) -> tuple[object, ...]:
    sets = _sound(view, found)
    return is_by_failure(view, found.told), found.bare, sets if len(sets) > 1 else ()


def _compare(one: Found, other: Found) -> bool:
    return covers(one.told, other.told) or covers(other.told, one.told)


def _sound(view: View, found: Found) -> tuple[tuple[str, ...], ...]:
    """The things that must not have failed for it; of several such sets, any one will do."""
    return tuple({tuple(left_out(view, [one.rest])): None for one in found.all})


def _sound_together(view: View, found: Sequence[Found]) -> tuple[tuple[str, ...], ...]:
    """The things that must not have failed for any of these; of several sets, any one will do."""
    if len(sets := _sound(view, found[0])) > 1:
        return sets
    return (tuple(left_out(view, (f.rest for f in found))),)


def _place(view: View, literal: Literal) -> tuple[int, int, str, tuple[int, ...]]:
    name, values = literal
    return *view.told_at(name), name, tuple(sorted(values))


def _size_and_place(view: View, product: Product) -> tuple[object, ...]:
    """The fewest parts first, then by the book."""
    places = sorted(_place(view, literal) for literal in product.literals)
    return len(product.literals) + len(product.choices), places, str(_said(view, product))


def _said(view: View, product: Product) -> Said:
    literals = sorted(product.literals, key=partial(_place, view))
    items = [view.item(name, values) for name, values in literals]
    texts = [Said(text) for text in told_together(items)]
    choices = sorted((_choice(view, choice) for choice in product.choices), key=str)
    return joined(ALL, [*texts, *choices])


def _choice(view: View, products: Iterable[Product]) -> Said:
    return joined(
        EITHER, [_said(view, p) for p in sorted(products, key=partial(_size_and_place, view))]
    )


def _node(case: Case, product: Product) -> Node:
    literals = case.space.cube(dict(product.literals))
    chosen = (case.space.any_of(_node(case, p) for p in choice) for choice in product.choices)
    return case.space.all_of([literals, *chosen])
