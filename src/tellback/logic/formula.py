"""Plain logic over finite domains: what conditions become before any engine sees them.

A literal speaks of a variable (an input or a memory), a reference of a value that follows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

Key = tuple[str, str]
"""A value that follows: the thing and the state, as (`left pump`, `running`)."""


@dataclass(frozen=True, slots=True)
class Lit:
    """The variable has one of these values (indices into its domain)."""

    variable: str
    values: frozenset[int]


@dataclass(frozen=True, slots=True)
class Ref:
    """The value of that key holds."""

    key: Key


@dataclass(frozen=True, slots=True)
class And:
    """All parts hold."""

    parts: tuple[Formula, ...]


@dataclass(frozen=True, slots=True)
class Or:
    """Some part holds."""

    parts: tuple[Formula, ...]


@dataclass(frozen=True, slots=True)
class Some:
    """At least `count` of the parts hold."""

    count: int
    parts: tuple[Formula, ...]


@dataclass(frozen=True, slots=True)
class Neg:
    """The part does not hold."""

    part: Formula


Formula = Lit | Ref | And | Or | Some | Neg

TRUE = And(())
FALSE = Or(())


def conj(parts: Iterable[Formula]) -> Formula:
    """The conjunction, with constants and single parts simplified away."""
    kept = [part for part in parts if part != TRUE]
    if FALSE in kept:
        return FALSE
    return kept[0] if len(kept) == 1 else And(tuple(kept))


def disj(parts: Iterable[Formula]) -> Formula:
    """The disjunction, with constants and single parts simplified away."""
    kept = [part for part in parts if part != FALSE]
    if TRUE in kept:
        return TRUE
    return kept[0] if len(kept) == 1 else Or(tuple(kept))


def neg(part: Formula) -> Formula:
    """The negation, with constants and double negation simplified away."""
    if part == TRUE:
        return FALSE
    if part == FALSE:
        return TRUE
    return part.part if isinstance(part, Neg) else Neg(part)


def leaves(formula: Formula) -> Iterator[tuple[Lit | Ref, bool]]:
    """The literals and references of a formula, from left to right.

    Each with whether it stands affirmed (under an even `not`).
    """
    stack: list[tuple[Formula, bool]] = [(formula, True)]
    while stack:
        node, affirmed = stack.pop()
        match node:
            case Lit() | Ref():
                yield node, affirmed
            case Neg(part):
                stack.append((part, not affirmed))
            case And(parts) | Or(parts) | Some(_, parts):
                stack.extend((part, affirmed) for part in reversed(parts))


def references(formula: Formula) -> Iterator[tuple[Key, bool]]:
    """The keys a formula refers to, each with whether it stands affirmed."""
    return ((leaf.key, affirmed) for leaf, affirmed in leaves(formula) if isinstance(leaf, Ref))


def literals(formula: Formula) -> Iterator[Lit]:
    """The literals of a formula, from left to right."""
    return (leaf for leaf, _ in leaves(formula) if isinstance(leaf, Lit))
