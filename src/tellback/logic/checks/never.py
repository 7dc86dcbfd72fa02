"""What can never happen: units that never run, ways never met, rows and drives never reached."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tellback.book.model import (
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Statement,
    Supply,
    Surface,
    Thing,
    Unit,
)
from tellback.diagnostics import Place
from tellback.logic.checks.found import Found, finding, undecided
from tellback.logic.checks.ground import Ground
from tellback.logic.formula import TRUE, Formula, Lit, Ref, conj, neg
from tellback.logic.translate import failure_name


@dataclass(frozen=True, slots=True)
class _Question:
    """Whether a formula can be, and what is said if it never can."""

    formula: Formula
    code: str
    place: Place
    never: str
    question: str
    mend: str
    marked: str


def _answers(ground: Ground, questions: Iterator[_Question]) -> Iterator[Found]:
    for asked in questions:
        answer = ground.can(asked.formula)
        if answer is False:
            yield finding(asked.code, asked.place, asked.never, asked.mend, asked.marked)
        elif answer is None:
            yield undecided(asked.place, asked.question, asked.marked)


def _of_thing(thing: Thing, formula: Formula, code: str, never: str, mend: str) -> _Question:
    question = f"whether `{thing.name}` can {never}"
    told = f"`{thing.name}` can never {never}: no possible state brings it about"
    return _Question(formula, code, thing.place, told, question, mend, thing.name)


def sound(thing: Thing) -> Formula:
    """The thing has not failed."""
    return Lit(failure_name(thing.name), frozenset({0})) if thing.fails else TRUE


# -- whole things ---------------------------------------------------------------------------


def unit_never_running(ground: Ground) -> Iterator[Found]:
    """A unit that never runs of itself (its own failures do not count)."""
    return _answers(ground, (
        _of_thing(
            unit, conj([Ref((unit.name, "running")), sound(unit)]), "never-running", "run",
            "Look at its needs, what sheds it and its ways: together they exclude one another.",
        )
        for unit in ground.book.things if isinstance(unit, Unit)
    ))  # fmt: skip


def indication_never_shown(ground: Ground) -> Iterator[Found]:
    """An indication that never shows of itself; a gauge always shows its reading."""
    return _answers(ground, (
        _of_thing(
            one, conj([Ref((one.name, "shown")), sound(one)]), "never-shown", "show",
            "Look at its needs, its ways and what inhibits it: together they exclude one another.",
        )
        for one in ground.book.things
        if isinstance(one, Indication) and (one.ways or not one.shows)
    ))  # fmt: skip


def latch_never_set(ground: Ground) -> Iterator[Found]:
    """A latch that is clear in every possible state."""
    return _answers(ground, (
        _of_thing(
            latch, Lit(latch.name, frozenset({1})), "never-set", "be set",
            "Look at what sets it, and whether what clears it always holds then.",
        )
        for latch in ground.book.things if isinstance(latch, Latch)
    ))  # fmt: skip


# -- ways -----------------------------------------------------------------------------------


def way_never_met(ground: Ground) -> Iterator[Found]:
    """A named way that is met in no possible state in which the needs are met too.

    Ways of a latch may be met for an instant only, so for them every state counts.
    """
    return _answers(ground, (
        _Question(
            _met(ground, thing, way), "way-never-met", way.place,
            f"`{thing.name}`: the way `{way.name}` can never be met"
            + (" while the needs of it are" if _needs(thing) else ""),
            f"whether the way `{way.name}` of `{thing.name}` can ever be met",
            "Correct its condition, or take it out.", way.text,
        )
        for thing in ground.book.things
        for way in _ways(thing)
        if way.name and not (isinstance(thing, Latch) and ground.symbols.of(
            ground.picture.formula(way.condition, thing.name)) != ground.space.false)
    ))  # fmt: skip


def way_covered_by_another(ground: Ground) -> Iterator[Found]:
    """A named way that is met only where another one of the same thing is."""
    for thing in ground.book.things:
        ways = [way for way in _ways(thing) if way.name]
        if len(ways) < 2 or isinstance(thing, Latch):
            continue
        for i, way in enumerate(ways):
            others = (o for j, o in enumerate(ways) if _covers(ground, thing, ways, j, i))
            wider = next(others, None)
            if wider is not None:
                yield finding(
                    "way-covered", way.place,
                    f"`{thing.name}`: wherever the way `{way.name}` is met, so is `{wider.name}`; "
                    "it adds nothing",
                    "Take it out, or state what sets it apart.", way.text,
                )  # fmt: skip


def _covers(ground: Ground, thing: Thing, ways: list[Statement], wide: int, narrow: int) -> bool:
    """Proved: the narrow way can be met, and never without the wide one.

    Of two that are always met together, the later one is the narrow one.
    """
    if wide == narrow:
        return False
    one, other = (_met(ground, thing, ways[i]) for i in (narrow, wide))
    if ground.can(one) is not True or ground.can(conj([one, neg(other)])) is not False:
        return False
    return wide < narrow or ground.can(conj([other, neg(one)])) is True


def _ways(thing: Thing) -> tuple[Statement, ...]:
    match thing:
        case Unit() | Means() | Indication():
            return thing.ways
        case Latch():
            return (*thing.sets, *thing.clears)
    return ()


def _needs(thing: Thing) -> tuple[Statement, ...]:
    return thing.needs if isinstance(thing, Unit | Indication) else ()


def _met(ground: Ground, thing: Thing, way: Statement) -> Formula:
    """The way is met and so are the needs."""
    stated = (way, *_needs(thing))
    return conj(ground.picture.formula(s.condition, thing.name) for s in stated)


# -- rows in order --------------------------------------------------------------------------


def row_never_reached(ground: Ground) -> Iterator[Found]:
    """A row of a reading that never counts: it never applies, or never without an earlier one."""
    for reading in ground.book.things:
        if not isinstance(reading, Reading):
            continue
        earlier: list[Formula] = []
        for number, row in enumerate((*reading.follows, *reading.moves), 1):
            own = ground.picture.formula(row.when.condition, reading.name) if row.when else TRUE
            place = row.when.place if row.when else reading.place
            yield from _answers(ground, iter([_Question(
                conj([own, *map(neg, earlier)]), "row-never-reached", place,
                f"`{reading.name}`: row {number} never counts: wherever it applies, an earlier "
                "row does too" if ground.can(own) else
                f"`{reading.name}`: row {number} can never apply",
                f"whether row {number} of `{reading.name}` ever counts",
                "Put the narrower row first, or take one out.",
                row.when.text if row.when else reading.name,
            )]))  # fmt: skip
            earlier.append(own)


def drive_never_acting(ground: Ground) -> Iterator[Found]:
    """A drive that never moves the surface, since its condition never holds or an earlier acts."""
    return _answers(ground, (
        _Question(
            Ref((surface.name, f"driven by {drive.name}")), "drive-never-acts",
            drive.statement.place,
            f"`{surface.name}`: the drive `{drive.name}` can never act: its condition and needs "
            "never hold, or an earlier drive acts whenever they do",
            f"whether the drive `{drive.name}` of `{surface.name}` ever acts",
            "Correct its condition, or put it before the drive that hides it.", drive.name,
        )
        for surface in ground.book.things if isinstance(surface, Surface)
        for drive in surface.drives
    ))  # fmt: skip


def feed_never_delivering(ground: Ground) -> Iterator[Found]:
    """A row of `fed by` that delivers in no possible state."""
    return _answers(ground, (
        _Question(
            Ref((supply.name, f"row {i}")), "feed-never-delivers", feed.statement.place,
            f"`{supply.name}`: the feed from {feed.source} can never deliver",
            f"whether the feed from {feed.source} to `{supply.name}` ever delivers",
            "Look at its path and its condition: together they exclude one another.",
            feed.statement.text,
        )
        for supply in ground.book.things if isinstance(supply, Supply)
        for i, feed in enumerate(supply.feeds)
    ))  # fmt: skip


# -- at one time ----------------------------------------------------------------------------


def drops_that_contradict(ground: Ground) -> Iterator[Found]:
    """A control that is to drop to two positions in one possible state."""
    for control in ground.book.things:
        if not isinstance(control, Control):
            continue
        for i, (place, statement) in enumerate(control.drops):
            for other, against in control.drops[i + 1 :]:
                if other != place:
                    yield from _contradiction(ground, control, (place, statement), (other, against))


def _contradiction(
    ground: Ground, control: Control, one: tuple[str, Statement], two: tuple[str, Statement]
) -> Iterator[Found]:
    both = conj(ground.picture.formula(s.condition, control.name) for _, s in (one, two))
    run = ground.run_to(ground.symbols.of(both))
    text = f"`{control.name}` drops to {one[0]} and to {two[0]} at the same time"
    if run is None or run is True:
        yield undecided(two[1].place, f"whether {text}", two[1].text)
    elif run:
        yield finding(
            "drops-contradict", two[1].place, f"{text} in this state ({run}); the first one counts",
            "Make the conditions exclude one another.", two[1].text,
        )  # fmt: skip
