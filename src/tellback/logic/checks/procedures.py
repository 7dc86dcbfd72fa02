"""Procedures that do not do what they are for, in the runs that were tried."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tellback.book.model import Procedure, Step
from tellback.logic.checks.found import Found, finding
from tellback.logic.checks.ground import Ground
from tellback.logic.procedure import BARRED, NEVER, NOT_SO, Made, barred_text
from tellback.logic.trials import Trial

TRIED = (
    "It was tried from its starting states, after every single failure, fact and reading that "
    "calls for it, or else after some of several at once: from other states it is no proof."
)

Tried = list[tuple[Trial, Made]]


def step_without_effect(ground: Ground) -> Iterator[Found]:
    """A step that does nothing in every run in which it is made."""
    for procedure in ground.book.procedures:

        def idle(trial: Trial, made: Made, procedure: Procedure = procedure) -> bool:
            return ground.trials.is_idle(procedure, trial, made)

        for number, step, _ in _always(ground, procedure, "do", idle):
            yield finding(
                "step-without-effect", step.statement.place,
                f"`{procedure.name}`: step {number} does nothing in any run tried",
                f"Take it out, say in `secures` what it is for, or correct the book. {TRIED}",
                step.statement.text,
            )  # fmt: skip


def step_that_cannot_be_made(ground: Ground) -> Iterator[Found]:
    """A step that a lock forbids in some run."""
    for procedure in ground.book.procedures:
        for number, (step, tried) in _by_step(ground, procedure).items():
            barred = [(trial, made) for trial, made in tried if made.outcome == BARRED]
            if barred:
                trial, made = barred[0]
                told = barred_text(ground.trials.picture, made) or "it is stuck"
                yield finding(
                    "step-barred", step.statement.place,
                    f"`{procedure.name}`: step {number} cannot be made from {trial.text}: {told}",
                    "Change the order, make it depend on an `if`, or correct the lock.",
                    step.statement.text,
                )  # fmt: skip


def step_never_so(ground: Ground) -> Iterator[Found]:
    """A check, or a wait, for what is not so in any run in which it is reached."""

    def not_so(trial: Trial, made: Made) -> bool:
        return made.outcome in (NOT_SO, NEVER)

    for procedure in ground.book.procedures:
        for kind in ("check", "wait"):
            for number, step, trial in _always(ground, procedure, kind, not_so):
                yield finding(
                    "step-never-so", step.statement.place,
                    f"`{procedure.name}`: what step {number} looks for does not come about in "
                    f"any run tried, such as from {trial.text}",
                    f"Correct the step, those before it, or the book. {TRIED}",
                    step.statement.text,
                )  # fmt: skip


def procedure_that_does_not_secure(ground: Ground) -> Iterator[Found]:
    """A procedure at the end of which something it secures is not so, with a run to it."""
    for procedure in ground.book.procedures:
        for statement in procedure.secures:
            for trial in ground.trials.of(procedure).trials:
                if statement.text in trial.not_secured:
                    yield finding(
                        "not-secured", statement.place,
                        f"`{procedure.name}` does not bring about `{statement.text}` "
                        f"from {trial.text}",
                        "Say less in `secures` or more in `called for when`, or correct the steps.",
                        statement.text,
                    )  # fmt: skip
                    break


def procedure_without_end(ground: Ground) -> Iterator[Found]:
    """A procedure in which the aeroplane never comes to rest."""
    for procedure in ground.book.procedures:
        for text in ground.trials.of(procedure).restless[:1]:
            yield finding(
                "procedure-without-end", procedure.place,
                f"`{procedure.name}` does not come to an end from {text}: something never rests",
                "Let what keeps changing stop in the book, by two limits apart or by a latch.",
                procedure.name,
            )  # fmt: skip


def procedure_to_the_impossible(ground: Ground) -> Iterator[Found]:
    """A procedure by which the aeroplane comes to what the book states impossible."""
    for procedure in ground.book.procedures:
        for start, told in ground.trials.of(procedure).impossible[:1]:
            yield finding(
                "procedure-impossible", procedure.place,
                f"`{procedure.name}`, from {start}: {told}",
                "Correct its steps, what is stated under `impossible`, or the book.",
                procedure.name,
            )  # fmt: skip


def procedure_never_called_for(ground: Ground) -> Iterator[Found]:
    """A procedure that nothing tried calls for."""
    for procedure in ground.book.procedures:
        if procedure.called_for and not ground.trials.of(procedure).states:
            yield finding(
                "never-called-for", procedure.place,
                f"`{procedure.name}` is called for in none of the states that were tried",
                f"Look at its `called for when` and `done from`. {TRIED}", procedure.name,
            )  # fmt: skip


def _by_step(ground: Ground, procedure: Procedure) -> dict[str, tuple[Step, Tried]]:
    """Every step that was reached, by number, with the runs in which it was."""
    found: dict[str, tuple[Step, Tried]] = {}
    for trial in ground.trials.of(procedure).trials:
        for made in trial.course.made:
            found.setdefault(made.number, (made.step, []))[1].append((trial, made))
    return found


def _always(
    ground: Ground, procedure: Procedure, kind: str, test: Callable[[Trial, Made], bool]
) -> Iterator[tuple[str, Step, Trial]]:
    """The steps of a kind that pass a test in every run in which they are reached."""
    for number, (step, tried) in _by_step(ground, procedure).items():
        if step.kind == kind and all(test(trial, made) for trial, made in tried):
            yield number, step, tried[0][0]
