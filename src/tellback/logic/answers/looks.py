"""What to look at next to tell explanations apart: lights and gauges, then what a move shows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tellback.book.model import Control, Indication
from tellback.logic.facts import Facts, said
from tellback.logic.formula import Ref
from tellback.logic.picture import Picture
from tellback.logic.row import Runs, changes_of
from tellback.logic.run import Moment
from tellback.logic.solve import Valuation

MOST_LOOKS = 3


@dataclass(frozen=True, slots=True)
class Look:
    """A further look: what to look at, and what each explanation (by number) would show there.

    `after` is the movement of a control after which it is to be looked at; it can be taken back.
    """

    thing: str
    shows: tuple[tuple[str, tuple[int, ...]], ...]
    after: str = ""


class Looking:
    """Seeks what tells ends of explanations apart; `chapters` are those of what is seen."""

    def __init__(self, picture: Picture, chapters: Collection[str]) -> None:
        self.picture = picture
        self.facts = Facts(picture)
        self.chapters = chapters
        things = picture.book.things
        near = [t.name for t in things if t.chapter in chapters and self._can_be_seen(t.name)]
        self._near = sorted(near, key=lambda name: not self._is_light(name))
        self._far = [
            t.name for t in things if isinstance(t, Indication) and t.chapter not in chapters
        ]

    def _can_be_seen(self, name: str) -> bool:
        return name in self.facts.gauges or isinstance(self.picture.book.thing(name), Indication)

    def seen(self, end: Moment) -> dict[str, str]:
        """All that can be looked at, as it is at an end."""
        state = self.facts.at(end)
        return {name: state[name] for name in (*self._near, *self._far)}

    def looks(self, ends: Sequence[Sequence[Moment]]) -> list[Look]:
        """Up to three looks, one after the other: each the one that then parts most.

        Each explanation has the ends to which it may lead, at which the same is seen.
        Lights and gauges of the chapters of what is seen come first, then lights of others, then
        movements of a control that can be taken back. A look that parts no further is none.
        """
        seen = [self.seen(several[0]) for several in ends]
        found: list[Look] = []
        parted: list[tuple[str, ...]] = [() for _ in ends]
        for several in (self._of(self._near, seen), self._of(self._far, seen), self._moves(ends)):
            choices = dict(several) if _together(parted) > len(ends) else {}
            while choices and len(found) < MOST_LOOKS:
                best = min(choices, key=lambda one: _together(_parted(parted, choices[one])))
                more = _parted(parted, choices[best])
                if _together(more) == _together(parted):
                    break
                parted = more
                thing, after = best
                found.append(Look(thing, _groups(choices[best]), after))
        return found

    def _of(
        self, names: Iterable[str], seen: Sequence[Mapping[str, str]]
    ) -> Iterator[tuple[tuple[str, str], list[str]]]:
        for name in names:
            yield (name, ""), [state[name] for state in seen]

    def _moves(
        self, ends: Sequence[Sequence[Moment]]
    ) -> Iterator[tuple[tuple[str, str], list[str]]]:
        """What lights show after each movement that can be taken back, whatever the explanation."""
        every = [end for several in ends for end in several]
        of = [number for number, several in enumerate(ends) for _ in several]
        names = [n for n in (*self._near, *self._far) if self._is_indication(n)]
        for control in self.picture.book.things:
            if not isinstance(control, Control) or control.guarded:
                continue
            here = {end.state[control.name] for end in every}
            if control.chapter not in self.chapters or len(here) > 1:
                continue
            for place, position in enumerate(control.positions):
                values = None if here == {place} else self._after(every, control.name, place)
                for name in names if values is not None else ():
                    assert values is not None
                    runs = values.of(Ref((name, "shown")))
                    told = {(number, runs >> run & 1) for run, number in enumerate(of)}
                    if len(told) == len(ends):
                        words = ["shown" if so else "not shown" for _, so in sorted(told)]
                        yield (name, said(control.name, "control", position)), words

    def _after(self, ends: Sequence[Moment], name: str, place: int) -> Valuation[Runs] | None:
        """The values after a move at each end; None if it can nowhere be made, or taken back."""
        abreast = self.picture.abreast
        begin = abreast.row(ends)
        there = changes_of([{name: place}] * len(ends))
        back = changes_of([{name: ends[0].state[name]}] * len(ends))
        after, possible = abreast.settle_possibly(abreast.move(begin, there))
        if abreast.barred(begin, there) | (begin.all & ~possible) | after.lost:
            return None
        again, possible = abreast.settle_possibly(abreast.move(after, back))
        undone = possible & ~again.lost & ~abreast.differing(begin, again)
        if abreast.barred(after, back) | (begin.all & ~undone):
            return None
        return abreast.values(after)

    def _is_light(self, name: str) -> bool:
        """Whether it is a light, message or sound, which is seen sooner than a number."""
        thing = self.picture.book.thing(name)
        return isinstance(thing, Indication) and not thing.shows

    def _is_indication(self, name: str) -> bool:
        return isinstance(self.picture.book.thing(name), Indication)


def _parted(before: Sequence[tuple[str, ...]], words: Sequence[str]) -> list[tuple[str, ...]]:
    return [(*seen, word) for seen, word in zip(before, words, strict=True)]


def _together(parted: Iterable[tuple[str, ...]]) -> int:
    """How many pairs are not told apart; each counts both ways, and each with itself."""
    return sum(n * n for n in Counter(parted).values())


def _groups(words: Sequence[str]) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Each word with the numbers of the explanations that it goes with."""
    return tuple(
        (word, tuple(i for i, other in enumerate(words, 1) if other == word))
        for word in dict.fromkeys(words)
    )
