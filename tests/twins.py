"""The program and its naive twin side by side: one book, the same names for the same things."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from tellback.book.conditions import Condition
from tellback.book.model import Book
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.primes import Cube
from tests.oracle.answers import Box
from tests.oracle.frame import NOBODY, Frame, Owner, State, frame_of
from tests.oracle.items import Answerable
from tests.oracle.reach import Possible, possible_states
from tests.small_books import book_of
from tests.strategies import BookText


@dataclass
class Twins:
    """A book with questions, seen by the oracle (`frame`) and by the program (`picture`)."""

    book: Book
    questions: tuple[Condition, ...]

    @cached_property
    def frame(self) -> Frame:
        return frame_of(self.book, *self.questions)

    @cached_property
    def picture(self) -> Picture:
        return picture_of(self.book, "", *self.questions)

    @cached_property
    def possible(self) -> Possible:
        return possible_states(self.frame)

    @cached_property
    def names(self) -> dict[str, str]:
        """For each item of the oracle the variable of the program."""
        names = {item: item for item in self.frame.items}
        for item in self.frame.delays:
            names[item] = self._delay_name(item)
        return names

    def _delay_name(self, item: str) -> str:
        delay = self.frame.delays[item]
        for rule in self.picture.system.delays:
            same = self.picture.system.delayed[rule.variable] == delay.part
            owned = delay.owner == NOBODY or rule.variable.endswith(f"({owner_text(delay.owner)})")
            if same and rule.seconds == delay.seconds and owned:
                return rule.variable
        raise AssertionError(f"no variable for {delay}")

    def state(self, state: State) -> dict[str, int]:
        """A state of the oracle as values of the program's variables.

        What a condition was in the last steady state is what it is in a steady state.
        """
        items = self.frame.named(state)
        mine = {
            self.names[item]: domain.index(items[item])
            for item, domain in self.frame.items.items()
            if self.names[item] in self.picture.system.variables
        }
        lasts = self.picture.system.lasts
        values = self.picture.aeroplane.values({**mine, **{rule.variable: 0 for rule in lasts}})
        return {**mine, **{rule.variable: values.of(rule.condition) for rule in lasts}}

    def cube(self, items: Answerable, box: Box) -> Cube:
        """A box of the oracle as a cube of the program."""
        return {
            self.names.get(item, item): frozenset(domain.index(value) for value in side)
            for (item, domain), side in zip(items.domains.items(), box, strict=True)
            if len(side) < len(domain)
        }


def owner_text(owner: Owner) -> str:
    """An owner as the program writes it behind a delay's name."""
    return owner.name if owner.row is None else f"{owner.name} row {owner.row}"


def twins_of(drawn: BookText) -> Twins:
    """The twins of a drawn book."""
    book = book_of(drawn.chapter, drawn.type_file)
    return Twins(book, tuple(understand(book, text) for text in drawn.questions))
