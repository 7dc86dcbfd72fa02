"""Two books side by side, in which what is one and the same has one name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from tellback.book.effectivity import effectivity_text
from tellback.book.model import Book, Effectivity, Procedure, Thing
from tellback.book.names import fold
from tellback.diagnostics import Place
from tellback.logic.differences.joint import Joint
from tellback.logic.differences.judging import Judge
from tellback.logic.differences.pairing import Pair, pairs_of
from tellback.logic.differences.renaming import called, renamed
from tellback.logic.differences.shared import merged
from tellback.logic.differences.steps import Pairs, paired


@dataclass
class Sides:
    """Two books of one aeroplane each, in which what is the same has the same name.

    `same_book` if they are two aeroplanes of one book, and nothing has changed between them.
    """

    whole_a: Book
    book_b: Book
    same_book: bool = False
    pairs: tuple[Pair, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.pairs = pairs_of(self.whole_a, self.book_b)

    @property
    def same_aeroplane(self) -> bool:
        """Whether these are two books of one aeroplane, not two aeroplanes."""
        return self.whole_a.aeroplane == self.book_b.aeroplane

    def fitted(self, effectivity: Effectivity) -> str:
        """To what something applies, if that goes by more than the variant; else empty."""
        variants = {fold(v.name) for book in (self.whole_a, self.book_b) for v in book.variants}
        words = (fold(word) for terms in effectivity.alternatives for _, word in terms)
        return effectivity_text(effectivity) if not variants.issuperset(words) else ""

    @cached_property
    def names(self) -> Mapping[str, str]:
        """The names that things of the first book take: those of the second, or unlike any."""
        taken = [thing.name for thing in self.book_b.things]
        paired_a = {pair.a.name: pair.b.name for pair in self.pairs}
        return _names_for(self.whole_a.things, paired_a, taken)

    @cached_property
    def _book_a_but_procedures(self) -> Book:
        return renamed(self.whole_a, self.names)

    @property
    def old_procedures(self) -> tuple[Procedure, ...]:
        """The procedures of the first book by their own names, of things by the new ones."""
        return self._book_a_but_procedures.procedures

    @cached_property
    def procedures(self) -> Pairs:
        """Which procedure is which."""
        return paired(self.old_procedures, self.book_b.procedures)

    @cached_property
    def book_a(self) -> Book:
        """The first book with those names, procedures too."""
        paired_a = {old.name: name for name, (old, _) in self.procedures.items()}
        taken = [procedure.name for procedure in self.book_b.procedures]
        names = _names_for(self.old_procedures, paired_a, taken)
        return called(self._book_a_but_procedures, names)

    @cached_property
    def order(self) -> Mapping[str, int]:
        """The place of each thing in both books together, by the names that both have."""
        names_a = [self.names[thing.name] for thing in self.whole_a.things]
        names_b = [thing.name for thing in self.book_b.things]
        return {name: place for place, name in enumerate(merged(names_a, names_b))}

    def place_of(self, side: int, name: str) -> Place | None:
        """Where one book declares a thing; None if it does not."""
        things = (self.book_a, self.book_b)[side].things
        return next((thing.place for thing in things if thing.name == name), None)

    @cached_property
    def joint(self) -> Joint:
        """Both in one space."""
        return Joint(self.book_a, self.book_b)

    @cached_property
    def judge(self) -> Judge:
        """What tells whether a difference makes one."""
        return Judge(self.joint)

    @cached_property
    def _new_names(self) -> tuple[Mapping[str, str], re.Pattern[str]]:
        """New names by old ones, folded, where they differ, and what finds the old ones."""
        folded = ((fold(old), fold(new)) for old, new in self.names.items())
        changed = {old: new for old, new in folded if old != new}
        longest_first = sorted(changed, key=len, reverse=True)
        return changed, re.compile(rf"\b({'|'.join(map(re.escape, longest_first))})\b")

    def as_now(self, text: str) -> str:
        """A text of the first book with the new names, without regard to case and spacing."""
        changed, found = self._new_names
        return found.sub(lambda match: changed[match[1]], fold(text)) if changed else fold(text)


def _names_for(
    old: Iterable[Thing | Procedure], paired_a: Mapping[str, str], taken: Iterable[str]
) -> Mapping[str, str]:
    """The name of each as it is now, or else one that nothing has now."""
    taken = set(taken)
    return {
        one.name: paired_a.get(one.name)
        or (f"{one.name} as before" if one.name in taken else one.name)
        for one in old
    }
