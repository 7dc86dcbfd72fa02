"""Compare, scenarios too: each is run on both aeroplanes, to the first moment that differs."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from tellback.book import conditions as c
from tellback.book.model import Book, Indication, Reading
from tellback.book.names import fold
from tellback.book.scenario import Scenario
from tellback.logic.answers.compare import Comparison, Parting
from tellback.logic.answers.compare import compare as compare_written
from tellback.logic.answers.together import said_together
from tellback.logic.differences.joint import SIDES, cuts_of
from tellback.logic.differences.scenarios import steps_apart
from tellback.logic.differences.sides import Sides
from tellback.logic.facts import FEEDER, Change, Facts, Seen
from tellback.logic.picture import Picture, picture_of
from tellback.logic.progress import Follow, straight
from tellback.motion.run import outside_readings
from tellback.motion.runner import asked_in, run_of
from tellback.motion.times import clock
from tellback.motion.trace import STEP, Event, Frame
from tellback.refusals import Refusal

MOST_TOLD = 6
"""So much of what differs at a moment is told."""

BEGINS = "from the beginning"

Two = tuple[Scenario, Scenario]

_BEGINNING = -1.0
"""Stands for the time before all that happens."""


def compare(
    book_a: Book,
    book_b: Book | None = None,
    *,
    aeroplane_a: str = "",
    aeroplane_b: str = "",
    follow: Follow = straight,
) -> Comparison:
    """What differs between two aeroplanes of a book, or an aeroplane in two revisions of it.

    With two books and one aeroplane named, that one is compared in both. Every scenario that both
    have is run on both. `follow` goes through the parts of the work, and may show how far it is.
    Raises UnknownAeroplane, and NothingToCompare if the two are one.
    """
    return compare_written(
        book_a,
        book_b,
        aeroplane_a=aeroplane_a,
        aeroplane_b=aeroplane_b,
        follow=follow,
        partings=partings_of,
    )


def partings_of(sides: Sides, follow: Follow) -> Mapping[str, Parting]:
    """Where the runs part of each scenario that both have, by its name."""
    a, b = ({fold(s.name): s for s in book.scenarios} for book in (sides.book_a, sides.book_b))
    both = [(a[name], b[name]) for name in b if name in a]
    if not both:
        return {}
    pair = _Pair(sides, both)
    found = ((two[1].name, pair.parting(two)) for two in follow(both, "Running scenarios"))
    return {name: parting for name, parting in found if parting}


def _pictures(books: Sequence[Book], scenarios: Sequence[Two]) -> Iterator[Picture]:
    """Both aeroplanes, their readings cut at the numbers of either, so that they tell alike."""
    asked = [
        dict.fromkeys(q for two in scenarios for q in asked_in(books[side], two[side]))
        for side in SIDES
    ]
    for side in SIDES:
        mine, other = books[side], books[1 - side]
        compared = _comparisons(asked[1 - side], mine)
        yield picture_of(mine, "", *asked[side], *cuts_of(other, mine), *compared)


def _comparisons(asked: Iterable[c.Condition], book: Book) -> Iterator[c.Condition]:
    """The comparisons in these conditions of readings that the book has."""
    readings = {thing.name for thing in book.things if isinstance(thing, Reading)}
    for condition in asked:
        for node in c.walk(condition):
            if isinstance(node, c.Compare) and node.reading in readings:
                yield node


# -- two runs side by side ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _At:
    """What is new at one time of a run: states of things, and the steps made.

    The steps stand by what they are, as their numbers and texts.
    """

    steps: Mapping[str, tuple[str, str]]
    new: Mapping[Seen, str]


_Run = Mapping[float, _At]

_NOTHING = _At({}, {})


class _Pair:
    """Two aeroplanes on which scenarios are run side by side."""

    def __init__(self, sides: Sides, scenarios: Sequence[Two]) -> None:
        self.sides = sides
        self.pictures = list(_pictures((sides.book_a, sides.book_b), scenarios))
        self.facts = [Facts(picture) for picture in self.pictures]
        self.things = [{t.name: t for t in picture.book.things} for picture in self.pictures]
        self.outside = [outside_readings(picture.book) for picture in self.pictures]
        self.both = self.facts[0].all_seen & self.facts[1].all_seen

    def parting(self, scenarios: Two) -> Parting | None:
        """The first moment that differs; None if there is none."""
        runs: list[_Run] = [{}, {}]
        apart = steps_apart(*scenarios)
        told = ["it begins", "it begins"]
        for side in SIDES:
            try:
                runs[side] = self._run(side, scenarios[side], apart[side])
            except Refusal as refusal:
                told[side] = f"it cannot begin, as {refusal.message}"
        if told[0] != told[1]:
            return Parting(None, BEGINS, *told)
        return self._first_difference(runs)

    def _run(self, side: int, scenario: Scenario, apart: frozenset[int]) -> _Run:
        """What is new at each time, to a tenth of a second; at the beginning of what both have.

        Readings from outside are as the scenario puts them, and not looked at; nor are the steps
        that stand apart, as they are told as written otherwise. What feeds a supply is looked at
        where it may have several sources on both.
        """
        frames = run_of(self.pictures[side], scenario, scenario.happenings).frames
        found: dict[float, _At] = {}
        words: Mapping[Seen, str] = {}
        for time, group in groupby(frames, key=_time):
            *_, last = together = list(group)
            now = self.facts[side].seen(last.moment)
            new = {
                seen: word
                for seen, word in now.items()
                if words.get(seen) != word
                and word
                and (seen in self.both or (words and seen[1] != FEEDER))
                and seen[0] not in self.outside[side]
            }
            steps = (f.event for f in together if f.event and f.event.kind == STEP)
            like = (step for step in steps if int(step.number.split(".")[0]) not in apart)
            found[time] = _At(dict(self._step(side, step) for step in like), new)
            words = now
        return found

    def _step(self, side: int, event: Event) -> tuple[str, tuple[str, str]]:
        """What a step is by the names that both have, and how it reads."""
        text = f"{event.text}: {event.outcome}" if event.outcome else event.text
        return fold(text) if side else self.sides.as_now(text), (event.number, text)

    def _first_difference(self, runs: Sequence[_Run]) -> Parting | None:
        """The first moment that differs in what both have; else in what one alone has."""
        own: Parting | None = None
        after = ""
        for time in sorted({*runs[0], *runs[1]}):
            a, b = (run.get(time, _NOTHING) for run in runs)
            for number, text in (*a.steps.values(), *b.steps.values()):
                after = after if _is_only_told(text) else f", after step {number} ({text})"
            if a.steps.keys() == b.steps.keys() and a.new == b.new:
                continue
            only = self._only(0, a, b), self._only(1, b, a)
            parting = (
                Parting(None, BEGINS, *only)
                if time == _BEGINNING
                else Parting(time, f"from {clock(time)} on{after}", *only)
            )
            if a.steps.keys() != b.steps.keys() or self._of_both(a) != self._of_both(b):
                return parting
            own = own or parting
        return own

    def _of_both(self, at: _At) -> dict[Seen, str]:
        return {seen: word for seen, word in at.new.items() if seen in self.both}

    def _only(self, side: int, here: _At, there: _At) -> str:
        """What is done and what becomes so on this one alone; empty if nothing does."""
        steps = [
            f"step {number}: {text}"
            for step, (number, text) in here.steps.items()
            if step not in there.steps
        ]
        new = [seen for seen, word in here.new.items() if there.new.get(seen) != word]
        names = {name for name, kind in new if kind != FEEDER}
        new = [seen for seen in new if seen[1] != FEEDER or seen[0] not in names]
        told = sorted(new, key=lambda seen: self._rank(side, seen[0], names))[:MOST_TOLD]
        changes = [Change(0.0, *seen, "", here.new[seen], (), False) for seen in told]
        more = [f"and {len(new) - MOST_TOLD} more"] if len(new) > MOST_TOLD else []
        return "; ".join([*steps, *([said_together(changes)] if changes else []), *more])

    def _rank(self, side: int, name: str, new: Collection[str]) -> int:
        """What follows from nothing else new comes first, then what the crew is shown."""
        behind = {other for other in self.facts[side].depends(name) if other != name}
        if behind.isdisjoint(new):
            return 0
        return 1 if isinstance(self.things[side][name], Indication) else 2


def _is_only_told(step: str) -> bool:
    """Whether a step is no more than a text for the class."""
    return step.startswith(("ask: ", "say: "))


def _time(frame: Frame) -> float:
    return round(frame.time, 1) if frame.event else _BEGINNING
