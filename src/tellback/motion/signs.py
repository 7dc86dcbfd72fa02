"""Signs within a scenario: what a failure shows there that would not be so without it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from tellback.book.model import Book
from tellback.logic.answers.signs import failures_in, shown_in
from tellback.logic.answers.signs_text import block, told
from tellback.logic.answers.together import without_passing
from tellback.logic.facts import FEEDER, Change, Facts, Seen
from tellback.logic.failures import Failure, failure
from tellback.logic.picture import Picture
from tellback.logic.words import listed
from tellback.motion.moment import last_before
from tellback.motion.run import outside_readings, prepared
from tellback.motion.runner import run_of
from tellback.motion.times import BadTime, asked, clock
from tellback.motion.trace import Frame, broken_off, unrest_text
from tellback.motion.what_if import added_steps

ALIKE = 0.1
"""What comes in both runs within so many seconds is no sign: lines are told to a tenth."""


@dataclass(frozen=True, slots=True)
class SignsWithin:
    """What failures at a time of a scenario bring, up to its end, in order of time.

    `changes` come with the failures only, `missing` without them only; their seconds count from
    the failures on. The rest comes either way. `unrest` says what broke the run with them off.
    """

    failures: tuple[Failure, ...]
    aeroplane: str
    scenario: str
    at: float
    ends: float
    changes: tuple[Change, ...]
    missing: tuple[Change, ...]
    unrest: str = ""

    @property
    def indications(self) -> tuple[Change, ...]:
        """What the crew is shown."""
        return shown_in(self.changes)

    def __str__(self) -> str:
        named = listed(f.text for f in self.failures)
        head = f"{named} ({self.scenario}, at {clock(self.at)}; it ends at {clock(self.ends)})"
        ends = [f"  {line}" for line in broken_off(self.unrest)]
        if not self.changes and not self.missing:
            return "\n".join([f"{head}: all comes as without it; no sign of it.", *ends])
        missing = block("Does not come, as it would without it", self.missing)
        first = f"{head}, what comes only with it:"
        return "\n".join([first, *told(self.changes, "nothing more"), *missing, *ends])


def signs_within(
    book: Book, scenario: str, failures: Sequence[str], *, at: str = "", aeroplane: str = ""
) -> SignsWithin:
    """What the failures (`thing: mode`) show at a time (`41 s`) of a scenario, and after it.

    Without a time they come at its beginning. Its steps are made as they are written. Raises
    UnknownScenario, BadSetting for what is no failure, and BadTime.
    """
    seconds = asked(at) if at else 0.0
    picture, meant = prepared(book, scenario, aeroplane)
    wanted = failures_in(picture, failures)
    written = run_of(picture, meant, meant.happenings)
    if seconds > written.ends:
        ends = clock(written.ends)
        raise BadTime(f"{meant.name} ends at {ends}", "Name a time before its end.")
    steps = tuple(added_steps(picture, failures, seconds))
    failing = run_of(picture, replace(meant, ends=written.ends), (*meant.happenings, *steps))
    failed = {picture.system.variables[name].thing for name in wanted}
    aside = outside_readings(picture.book) - failed
    with_them, without = (
        _Course(picture, trace.known, seconds, aside) for trace in (failing, written)
    )
    return SignsWithin(
        failures=tuple(failure(picture, name, mode) for name, mode in wanted.items()),
        aeroplane=picture.book.aeroplane,
        scenario=meant.name,
        at=seconds,
        ends=written.ends,
        changes=tuple(with_them.apart_from(without)),
        missing=tuple(without_passing(list(without.apart_from(with_them)))),
        unrest=unrest_text(failing),
    )


class _Course:
    """What changes in a run from a time on, and how all stands at each; `aside` is not told."""

    def __init__(
        self, picture: Picture, frames: tuple[Frame, ...], begins: float, aside: Collection[str]
    ) -> None:
        self.frames = frames
        self.begins = begins
        self.aside = aside
        self.facts = Facts(picture)
        self._known: dict[int, dict[Seen, str]] = {}

    def apart_from(self, other: _Course) -> Iterator[Change]:
        """What comes here and does not come there at that time; not what only comes and goes."""
        last_at = {frame.time: frame for frame in self.frames}
        for before, last in pairwise([self.frames[0], *last_at.values()]):
            if last.time < self.begins:
                continue
            there = other.stands(last.time + ALIKE)
            for change in self.facts.changes([before.moment, last.moment], self.aside):
                fed_by = there.get((change.thing, FEEDER), "")
                if there[change.seen] != change.after or change.fed_by not in ("", fed_by):
                    yield replace(change, seconds=last.time - self.begins)

    def stands(self, time: float) -> dict[Seen, str]:
        """How all stands when everything of a time has come."""
        frame = last_before(self.frames, time)
        if id(frame) not in self._known:
            self._known[id(frame)] = self.facts.seen(frame.moment)
        return self._known[id(frame)]
