"""Control positions that do nothing."""

from __future__ import annotations

from collections.abc import Iterator

from tellback.book.model import Control, Reading
from tellback.logic.checks.found import Found, finding, undecided
from tellback.logic.checks.ground import Ground
from tellback.logic.formula import TRUE, Formula, Ref, conj, disj, literals, neg
from tellback.logic.words import listed


def position_without_effect(ground: Ground) -> Iterator[Found]:
    """Positions of a control that are alike in every possible state.

    Proved of them: from no possible state does moving the control from one of them to another
    alter any value that follows, any reading, or any condition by which a memory changes.
    """
    speaking = _speaking(ground)
    for control in ground.book.things:
        if isinstance(control, Control) and control.name in speaking:
            yield from _alike(ground, control, speaking[control.name])


def _alike(ground: Ground, control: Control, formulas: list[Formula]) -> Iterator[Found]:
    """One finding for each set of positions that nothing tells apart."""
    classes: list[list[int]] = []
    doubtful: list[str] = []
    for index, position in enumerate(control.positions):
        for known in classes:
            differs = _differ(ground, control.name, known[0], index, formulas)
            if differs is False:
                known.append(index)
                break
            if differs is None:
                doubtful.append(f"{control.positions[known[0]]} and {position}")
        else:
            classes.append([index])
    for known in classes:
        if len(known) > 1:
            words = listed(control.positions[i] for i in known)
            yield finding(
                "position-without-effect", control.place,
                f"`{control.name}`: moving it between {words} does nothing in any possible state",
                "State what sets them apart, or take a position out.", control.name,
            )  # fmt: skip
    if doubtful:
        question = f"whether `{control.name}` does the same at {listed(doubtful)}"
        yield undecided(control.place, question, control.name)


def _differ(
    ground: Ground, control: str, one: int, other: int, formulas: list[Formula]
) -> bool | None:
    """Whether some possible state tells two positions apart; None if not decided."""
    doubt = False
    for formula in formulas:
        answer = ground.can_differ(formula, control, one, other)
        if answer:
            return True
        doubt = doubt or answer is None
    return None if doubt else False


def _speaking(ground: Ground) -> dict[str, list[Formula]]:
    """For each variable, the values and the conditions of changes that name it."""
    found: dict[str, list[Formula]] = {}
    for condition, formula in _formulas(ground):
        for name in {lit.variable for lit in literals(condition)}:
            found.setdefault(name, []).append(formula)
    return found


def _formulas(ground: Ground) -> Iterator[tuple[Formula, Formula]]:
    """Every formula of the system as written, with one that has its value."""
    system = ground.picture.system
    for key, formula in system.values.items():
        yield formula, Ref(key)
    changes = [rule.condition for rule in (*system.steps, *system.bars)]
    changes += [rule.condition for rule in system.delays]
    changes += [rule.condition for rule in system.lasts]
    changes += [sent for surface in system.surfaces for _, sent in surface.targets]
    changes += [row for number in system.numbers for row, _, _ in number.rows]
    yield from ((change, change) for change in (*changes, *_readings(ground)))


def _readings(ground: Ground) -> Iterator[Formula]:
    """When a following reading has each of its values, whether or not anything compares it."""
    for reading in ground.book.things:
        if isinstance(reading, Reading):
            cases: dict[float, list[Formula]] = {}
            earlier: list[Formula] = []
            for row in reading.follows:
                own = ground.picture.formula(row.when.condition, reading.name) if row.when else TRUE
                cases.setdefault(row.value, []).append(conj([own, *map(neg, earlier)]))
                earlier.append(own)
            yield from map(disj, cases.values())
