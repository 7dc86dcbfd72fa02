"""From where a question is asked: a starting state, with changes, settled."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tellback.book.names import Names, words_of
from tellback.logic.formula import Formula
from tellback.logic.impossible import lawful
from tellback.logic.picture import Picture, starting_states
from tellback.logic.run import Aeroplane, Moment
from tellback.logic.settings import BadSetting
from tellback.logic.words import when_text

SOON = 60.0
"""What has settled within so many seconds is taken for what follows the changes."""


@dataclass(frozen=True, slots=True)
class Scene:
    """A moment and how it is said: `at the gate, with left pump: stops`.

    Where it took long to settle, that is said too.

    `path` are the moments from the starting state to it.
    """

    text: str
    path: tuple[Moment, ...]

    @property
    def moment(self) -> Moment:
        """The settled moment."""
        return self.path[-1]


def scene(picture: Picture, start: str = "", changes: Sequence[str] = ()) -> Scene:
    """The starting state of that name (the first if none is named), changed and settled.

    A change reads `thing: state`. Raises BadSetting for an unknown name, and Barred for a control
    that cannot be moved there, and EntersImpossible where that cannot be.
    """
    found = started(picture, start) or starting_states(picture.book)[0].name
    path = tuple(history_of(picture, found, changes))
    text = found if not changes else f"{found}, with {', '.join(changes)}"
    settled = path[-1].time - path[0].time
    if settled > SOON:  # a bottle may be empty by then, of which the changes say nothing
        text = f"{text}, settled {when_text(settled)}"
    return Scene(text, path)


def started(picture: Picture, start: str) -> str:
    """The name of a starting state as the book has it; empty if none is named.

    Raises BadSetting for one that there is not.
    """
    if not start:
        return ""
    names = [state.name for state in starting_states(picture.book)]
    found = next((name for name in names if name.casefold() == start.casefold()), None)
    if found is None:
        raise BadSetting(
            f"no starting state is called “{start}”", f"There are: {', '.join(names)}."
        )
    return found


def passing(picture: Picture, path: Sequence[Moment], formula: Formula) -> float | None:
    """After how long the formula was no longer so that was so on the way; None if it was not."""
    runner = picture.aeroplane
    if not any(runner.holds(formula, moment.state) for moment in path[1:]):
        return None
    return ended_after(runner, formula, path)


def passing_text(seconds: float | None) -> str:
    """That it was so on the way, as the end of a sentence; empty if it was not."""
    return f" It was so on the way there, but no longer {when_text(seconds)}." if seconds else ""


def history_of(picture: Picture, start: str, changes: Sequence[str]) -> list[Moment]:
    """The moments from a starting state (the first, if none is named) to where changes lead."""
    starts = {name.casefold(): moment for name, moment in picture.starts.items()}
    first = starts[start.casefold()] if start else next(iter(starts.values()))
    if not changes:
        return [first]
    after = picture.aeroplane.move(first, settings_of(picture, changes))
    told = f"{start or next(iter(picture.starts))}, with {', '.join(changes)},"
    return lawful(picture, [first, *picture.aeroplane.history(after)], told)


def ended_after(aeroplane: Aeroplane, formula: Formula, history: Sequence[Moment]) -> float | None:
    """After how long, in these moments, the formula is no longer so; None if at last it is."""
    so = [aeroplane.holds(formula, moment.state) for moment in history]
    if so[-1]:
        return None
    last = max((i for i, flag in enumerate(so) if flag), default=-1)
    return history[last + 1].time - history[0].time


def settings_of(picture: Picture, changes: Sequence[str]) -> Mapping[str, int]:
    """The changes (`thing: state`) as values of variables."""
    return picture.settings(pairs_of(picture.names, changes)).values


_AS_PAIR = "Write it as `thing: state`, such as `gear lever: UP` or `left pump: stops`."


def pairs_of(names: Names, changes: Sequence[str]) -> list[tuple[str, str]]:
    """Texts of the form `thing: state` as pairs. Raises BadSetting for one that is not."""
    return [_pair(names, change) for change in changes]


def _pair(names: Names, change: str) -> tuple[str, str]:
    for mark in (":", "=", " at "):
        name, found, state = change.partition(mark)
        if found:
            return name.strip(), state.strip()
    words = words_of(change)
    name, end = names.match(words, 0)
    if name and end < len(words):
        thing, state = change[: words[end - 1].end].strip(), change[words[end].offset :].strip()
        raise BadSetting(f"“{change}” wants a colon", f"Write `{thing}: {state}`.")
    raise BadSetting(f"“{change}” does not say what and how", _AS_PAIR)
