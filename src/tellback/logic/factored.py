"""Cubes told in fewer lines: what several of them share is said once, with the choice beside it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tellback.logic.space import Node, Space

Literal = tuple[str, frozenset[int]]
Terms = frozenset[Literal]
T = TypeVar("T")
Place = Callable[[Literal], tuple[int, int, str, tuple[int, ...]]]
"""Where a literal is told; no two have the same place."""


@dataclass(frozen=True, slots=True)
class Product:
    """All of these literals, and of each of the choices one product."""

    literals: Terms
    choices: frozenset[frozenset[Product]] = frozenset()

    @property
    def depth(self) -> int:
        """How many choices lie within one another."""
        inner = (product.depth for choice in self.choices for product in choice)
        return 1 + max(inner) if self.choices else 0


def factored(cubes: Iterable[Terms], place: Place) -> list[Product]:
    """Products of which one is met where one of the cubes is, and nowhere else.

    What is in most of them is taken out first; of several the first by its `place`.
    """
    products: list[Product] = []
    rest = list(dict.fromkeys(cubes))
    while rest:
        counts = Counter(literal for cube in rest for literal in cube)
        most = max(counts.values(), default=0)
        if most < 2:
            products += [Product(cube) for cube in rest]
            break
        best = min((lit for lit in counts if counts[lit] == most), key=place)
        products.append(_product([cube for cube in rest if best in cube], place))
        rest = [cube for cube in rest if best not in cube]
    return _with_equal_choices(products)


def _product(cubes: Sequence[Terms], place: Place) -> Product:
    """The cubes, which all share something, as one product."""
    shared = frozenset.intersection(*cubes)
    rests = [cube - shared for cube in cubes]
    if frozenset() in rests:
        return Product(shared)
    return _chosen(shared, frozenset(), frozenset(factored(rests, place)))


def _with_equal_choices(products: Sequence[Product]) -> list[Product]:
    """The products, those that leave the same choices as one that leaves a choice more."""
    kept: dict[frozenset[frozenset[Product]], list[Product]] = {}
    for product in products:
        kept.setdefault(product.choices, []).append(product)
    joined = []
    for choices, several in kept.items():
        if len(several) == 1 or not choices:
            joined += several
            continue
        shared = frozenset.intersection(*(product.literals for product in several))
        own = frozenset(Product(product.literals - shared) for product in several)
        joined.append(Product(shared, choices | {own}))
    return joined


def unfolded(product: Product, deepest: int) -> Iterator[Product]:
    """The same as several products, none of which has more choices within one another."""
    if product.depth <= deepest:
        yield product
        return
    choice = max(product.choices, key=lambda several: max(one.depth for one in several))
    others = product.choices - {choice}
    deep = frozenset(one for one in choice if one.depth >= deepest)
    if choice != deep:
        left = _chosen(product.literals, others, choice - deep)
        yield from unfolded(left, deepest)
    for one in deep:
        inner = Product(product.literals | one.literals, others | one.choices)
        yield from unfolded(inner, deepest)


def _chosen(
    literals: Terms, others: frozenset[frozenset[Product]], choice: frozenset[Product]
) -> Product:
    """A product with a choice more, which is none if there is but one thing to choose."""
    if len(choice) > 1:
        return Product(literals, others | {choice})
    (one,) = choice
    return Product(literals | one.literals, others | one.choices)


def enough_to_cover(space: Space, several: Sequence[T], where: Callable[[T], Node]) -> list[T]:
    """Some of the things that together cover all that all do, the earlier ones before others.

    None of them can be left out.
    """
    covered, chosen = space.false, list[T]()
    for one in several:
        if where(one) & ~covered != space.false:
            covered = covered | where(one)
            chosen.append(one)
    for one in reversed(list(chosen)):
        others = [other for other in chosen if other is not one]
        if where(one) & ~space.any_of(where(other) for other in others) == space.false:
            chosen = others
    return chosen
