"""Signs: what does this failure show? Indications and behaviour, in order of time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tellback.book.model import Book
from tellback.logic.answers.locks import Lock, locks
from tellback.logic.answers.signs_text import signs_text
from tellback.logic.facts import Change, Facts
from tellback.logic.failures import Failure, failure
from tellback.logic.impossible import Impossible, as_far_as_possible
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.picture import Picture, picture_of
from tellback.logic.scene import pairs_of, scene
from tellback.logic.settings import BadSetting


@dataclass(frozen=True, slots=True)
class Signs:
    """What follows the failures: all changes in order of time, until settled.

    `indications` are those that the crew is shown: of indications, and of readings on a gauge
    that works. `locks` tell of controls that can then go where they could not, or no longer can.
    `impossible` is what the run comes to although the book states it impossible: it ends there.
    """

    failures: tuple[Failure, ...]
    aeroplane: str
    start: str
    changes: tuple[Change, ...]
    locks: tuple[Lock, ...] = ()
    impossible: Impossible | None = None

    @property
    def indications(self) -> tuple[Change, ...]:
        """What the crew is shown."""
        return shown_in(self.changes)

    def __str__(self) -> str:
        return "\n".join(signs_text(self))


@within(ANSWER_SECONDS, "working out the signs")
def signs(
    book: Book,
    failures: Sequence[str],
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Signs:
    """What the failures (`thing: mode`) show from a starting state, in order of time."""
    picture = picture_of(book, aeroplane)
    where = scene(picture, start, changes)
    wanted = failures_in(picture, failures)
    aeroplane_ = picture.aeroplane
    history, impossible = as_far_as_possible(
        picture, [where.moment, *aeroplane_.history(aeroplane_.move(where.moment, wanted))]
    )
    return Signs(
        failures=tuple(failure(picture, name, mode) for name, mode in wanted.items()),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        changes=tuple(Facts(picture).changes(history)),
        locks=locks(picture, history),
        impossible=impossible,
    )


def failures_in(picture: Picture, failures: Sequence[str]) -> dict[str, int]:
    """The failures (`thing: mode`) as values of variables; BadSetting for what is none."""
    wanted: dict[str, int] = {}
    for text in failures:
        named = picture.settings(pairs_of(picture.names, [text])).values
        if not named or any(picture.system.variables[name].kind != "failure" for name in named):
            mend = "Ask `effects` what it does. A failure says how it fails: `left pump: stops`."
            raise BadSetting(f"“{text}” is not a failure", mend)
        wanted |= named
    return wanted


def shown_in(changes: Sequence[Change]) -> tuple[Change, ...]:
    """What the crew is shown."""
    return tuple(change for change in changes if change.shown)
