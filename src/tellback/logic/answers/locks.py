"""Locks: which controls can go where they could not before, and which no longer can."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from tellback.logic.answers.likewise import Line
from tellback.logic.picture import Picture
from tellback.logic.run import Moment
from tellback.logic.words import alike, either, listed, when_text


@dataclass(frozen=True, slots=True)
class Lock:
    """After so many seconds a control `can` go to a position that was barred, or no longer can."""

    seconds: float
    control: str
    position: str
    can: bool


def locks(
    picture: Picture, history: Sequence[Moment], moved: Collection[str] = ()
) -> tuple[Lock, ...]:
    """What the locks of the book free and bar in the end of each instant, in order of time.

    Not of the controls `moved`. One that is where a lock would not let it go is not barred, and no
    longer free when it leaves.
    """
    return tuple(_changes(picture, history, moved))


def _changes(picture: Picture, history: Sequence[Moment], moved: Collection[str]) -> Iterator[Lock]:
    first, *later = history
    before = _barred(picture, first)
    for moment in {moment.time: moment for moment in later}.values():
        now = _barred(picture, moment)
        for name, value in [way for way in {**before, **now} if (way in before) != (way in now)]:
            if name not in moved and moment.state[name] != value:
                position = picture.system.variables[name].values[value]
                yield Lock(moment.time - first.time, name, position, (name, value) in before)
        before = now


def _barred(picture: Picture, moment: Moment) -> dict[tuple[str, int], None]:
    """Which controls cannot go where, of those that are not there, in the order of the book."""
    values = picture.aeroplane.values(moment.state)
    bars = [rule for rule in picture.system.bars if values.of(rule.condition)]
    ways = [(rule.variable, rule.value) for rule in bars]
    return dict.fromkeys(way for way in ways if moment.state[way[0]] != way[1])


def lock_lines(found: Sequence[Lock]) -> Iterator[Line]:
    """The locks in words, those alike together."""
    of_one = alike(found, lambda lock: (lock.seconds, lock.can, lock.control))
    for several in alike(of_one, lambda locks: (*_when(locks[0]), *(k.position for k in locks))):
        one = several[0][0]
        can = "can now" if one.can else "can no longer"
        names = listed(locks[0].control for locks in several)
        positions = either(lock.position for lock in several[0])
        text = f"{when_text(one.seconds)}: {names} {can} go to {positions}"
        yield Line(one.seconds, tuple(locks[0].control for locks in several), (), text)


def _when(lock: Lock) -> tuple[float, bool]:
    return lock.seconds, lock.can
