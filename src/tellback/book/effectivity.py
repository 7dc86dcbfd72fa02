"""Which aeroplanes a book covers, and the part of the book that one of them has."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from tellback.book.model import Book, Effectivity, Limit, Procedure, Statement, Thing, Variant
from tellback.book.names import fold
from tellback.book.portion import portion
from tellback.book.procedures import statements_in
from tellback.book.scenario import Scenario
from tellback.book.serials import has_serial, ranges_of
from tellback.book.stated import statements_of
from tellback.refusals import Refusal

_SERIALS = "serials "


class UnknownAeroplane(Refusal, ValueError):
    """No aeroplane of the book has that name or serial number; the message lists those it has."""


@dataclass(frozen=True, slots=True)
class Aeroplane:
    """One aeroplane of a fleet; `serial` is 0 where the variant has no serial numbers."""

    name: str
    variant: str
    serial: int


def aeroplanes(book: Book) -> tuple[str, ...]:
    """The different aeroplanes of a book by name, one for each combination of equipment.

    The plain name of a variant stands for the one without options and bulletins, or if all have
    some, for the first; any other is named by its first serial number, as `S94-100 serial 12`.
    """
    return tuple(aeroplane.name for aeroplane in _fleet(book))


def for_aeroplane(book: Book, name_or_serial: str = "") -> Book:
    """The book of one aeroplane: every name declared once, every statement applicable.

    Without a name, the first aeroplane of `aeroplanes`. Raises UnknownAeroplane.
    """
    if book.aeroplane and fold(name_or_serial) in {"", fold(book.aeroplane)}:
        return book
    aeroplane = find_aeroplane(book, name_or_serial)
    return portion(book, aeroplane.name, lambda effectivity: applies(book, effectivity, aeroplane))


def find_aeroplane(book: Book, name_or_serial: str = "") -> Aeroplane:
    """The aeroplane of that name, or with that serial number. Raises UnknownAeroplane."""
    fleet = _fleet(book)
    wanted = fold(name_or_serial)
    for aeroplane in fleet:
        if wanted in {"", fold(aeroplane.name)}:
            return aeroplane
    match = re.fullmatch(r"(.*?)\s*(?:serial\s+)?(\d{1,9})", wanted, re.ASCII)
    for variant in book.variants if match else ():
        serial = int(match[2]) if match else 0
        named = match is not None and match[1] in {"", fold(variant.name)}
        if named and has_serial(variant.serials, serial):
            return Aeroplane(f"{variant.name} serial {serial}", variant.name, serial)
    names = ", ".join(aeroplane.name for aeroplane in fleet)
    raise UnknownAeroplane(
        f"there is no aeroplane `{name_or_serial}` in this book; it has {names}",
        "Give one of these, or a serial number that `type.yaml` lists.",
    )


def applies(book: Book, effectivity: Effectivity, aeroplane: Aeroplane) -> bool:
    """Whether an effectivity includes the aeroplane."""
    if not effectivity.alternatives:
        return True
    has = {fold(aeroplane.variant)} | _equipment(book, aeroplane.serial)
    return any(
        all(_holds(word, has, aeroplane.serial) == affirmed for affirmed, word in terms)
        for terms in effectivity.alternatives
    )


def effectivity_text(effectivity: Effectivity) -> str:
    """To which aeroplanes something applies: `SB 32-007 or S94-200 and not option X`."""
    return " or ".join(
        " and ".join(word if affirmed else f"not {word}" for affirmed, word in terms)
        for terms in effectivity.alternatives
    )


def _holds(word: str, has: set[str], serial: int) -> bool:
    if word.startswith(_SERIALS):
        return has_serial(ranges_of(word.removeprefix(_SERIALS)), serial)
    return fold(word) in has


def _equipment(book: Book, serial: int) -> set[str]:
    """The options and bulletins that a serial number has."""
    return {fold(e.name) for e in (*book.options, *book.bulletins) if has_serial(e.serials, serial)}


def _fleet(book: Book) -> tuple[Aeroplane, ...]:
    terms = sorted(_serial_terms(book))
    cuts = _cuts(book, terms)
    return tuple(a for variant in book.variants for a in _of_variant(book, variant, terms, cuts))


def _of_variant(
    book: Book, variant: Variant, terms: list[str], cuts: list[int]
) -> Iterator[Aeroplane]:
    """One aeroplane for each combination, that of the plain name first."""
    first_serials: dict[tuple[frozenset[str], frozenset[str]], int] = {}
    for serial in cuts:
        if has_serial(variant.serials, serial):
            by_serial = frozenset(term for term in terms if _holds(term, set(), serial))
            combination = frozenset(_equipment(book, serial)), by_serial
            first_serials.setdefault(combination, serial)
    if not first_serials:
        yield Aeroplane(variant.name, variant.name, 0)
        return
    plainest = min(first_serials, key=lambda c: (bool(c[0]), bool(c[1]), first_serials[c]))
    yield Aeroplane(variant.name, variant.name, first_serials.pop(plainest))
    for serial in sorted(first_serials.values()):
        yield Aeroplane(f"{variant.name} serial {serial}", variant.name, serial)


def _cuts(book: Book, terms: list[str]) -> list[int]:
    """The serial numbers at which some effectivity begins or has just ended."""
    ranges = [r for v in (*book.variants, *book.options, *book.bulletins) for r in v.serials]
    ranges += [r for term in terms for r in ranges_of(term.removeprefix(_SERIALS))]
    return sorted({first for first, _ in ranges} | {last + 1 for _, last in ranges})


def _serial_terms(book: Book) -> set[str]:
    return {
        word
        for item in _with_effectivity(book)
        for terms in item.applies.alternatives
        for _, word in terms
        if word.startswith(_SERIALS)
    }


def _with_effectivity(book: Book) -> Iterator[Thing | Statement | Procedure | Limit | Scenario]:
    for thing in book.things:
        yield thing
        yield from statements_of(thing)
    yield from book.impossible
    yield from book.limits
    for procedure in book.procedures:
        yield procedure
        yield from statements_in(procedure)
    for scenario in book.scenarios:
        yield scenario
        yield from (happening.statement for happening in scenario.happenings)
