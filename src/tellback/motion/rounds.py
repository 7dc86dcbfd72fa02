"""What comes again without end: the aeroplane by itself, with nothing from outside between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tellback.logic.picture import Picture
from tellback.logic.run import Moment, State
from tellback.logic.words import listed, literal_text, run_time_text
from tellback.motion.stage import Stage
from tellback.motion.trace import Event, Unrest

MOST_FRAMES = 100_000
"""No scenario has more frames; one that has is taken to repeat without end."""

MOST_TOLD = 8
"""So much is told of a round."""

SET_OFF = frozenset({"latch", "control", "cancelled"})
"""What is not an event itself but changes with one: told beside it."""


@dataclass(frozen=True, slots=True)
class _Own:
    """An event of the aeroplane's own, and the state after it."""

    time: float
    event: Event
    state: State


class Rounds:
    """The events of the aeroplane's own since something last came from outside.

    `seen` gives for each state, with how long what is under way in it takes yet, after which of
    them it was there.
    """

    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        self.own: list[_Own] = []
        self.seen: dict[tuple[object, ...], int] = {}

    def broken(self) -> None:
        """Something has come from outside: what was before does not count."""
        self.own.clear()
        self.seen.clear()

    def closed(self, alone: bool) -> Unrest | None:
        """What comes again without end, after one more event of the aeroplane's own.

        `alone`: nothing from outside is to come. Otherwise it does only if no time passes.
        """
        moment, event = self.stage.moment, self.stage.frames[-1].event
        assert event is not None
        self.own.append(_Own(moment.time, event, moment.state))
        last = len(self.own) - 1
        first = self.seen.setdefault(self._mark(moment), last)
        seconds = moment.time - self.own[first].time
        if first < last and (alone or not seconds):
            return _unrest(self.stage.picture, self.own[first:], seconds)
        if len(self.stage.frames) > MOST_FRAMES:
            return Unrest(f"it has more than {MOST_FRAMES:,} events", True)
        return None

    def _mark(self, moment: Moment) -> tuple[object, ...]:
        under_way = sorted(
            (name, pending.value, round(pending.due - moment.time, 6))
            for name, pending in moment.under_way.items()
        )
        between = sorted((name, round(part, 6)) for name, part in moment.beyond.items())
        numbers = (*moment.numbers.values(), *self.stage.numbers.values())
        return (
            tuple(moment.state.values()),
            tuple(under_way),
            tuple(between),
            tuple(round(number, 6) for number in numbers),
        )


def _unrest(picture: Picture, own: Sequence[_Own], seconds: float) -> Unrest:
    """A round: from the state after the first of these events to that after the last."""
    told: dict[str, None] = {}
    for before, after in pairwise(own):
        told[after.event.text] = None
        for name, value in after.state.items():
            if value != before.state[name] and picture.system.variables[name].kind in SET_OFF:
                told[literal_text(picture.system, name, [value])] = None
    text = "every " + run_time_text(seconds) if seconds else "without any time passing"
    what = listed(list(told)[:MOST_TOLD])
    return Unrest(f"the same comes again {text}, without end: {what}", seconds > 0)
