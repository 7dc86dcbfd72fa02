"""The steps of a scenario, played on a stage: each thread waits, acts, and waits again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

from tellback.book.conditions import Condition
from tellback.book.english import time_text
from tellback.book.model import Procedure, Reading, Step
from tellback.book.procedures import moves_of
from tellback.book.rates import rate_text
from tellback.book.scenario import Happening, Setting
from tellback.logic.formula import Formula
from tellback.logic.pending import after
from tellback.logic.procedure import MADE, NOT_SO, SO, Numbered, branches, numbered
from tellback.logic.words import fault_text, measured
from tellback.motion.stage import Stage
from tellback.motion.trace import STEP, UNMET, Event


@dataclass(frozen=True, slots=True)
class Until:
    """A thread waits for a time."""

    time: float


@dataclass(frozen=True, slots=True)
class When:
    """A thread waits until something is so; `text` says what."""

    formula: Formula
    text: str


Waits = Iterator[Until | When]

NumberedHappening = tuple[str, Happening]


def threads(happenings: Sequence[Happening]) -> list[list[NumberedHappening]]:
    """The steps with their numbers, a new thread from each that has a time of its own."""
    found: list[list[NumberedHappening]] = [[]]
    for number, happening in enumerate(happenings, 1):
        if happening.at is not None:
            found.append([])
        found[-1].append((str(number), happening))
    return [thread for thread in found if thread]


def play(stage: Stage, thread: Sequence[NumberedHappening]) -> Waits:
    """Plays a thread on the stage; gives what it waits for, each time it must wait."""
    player = _Player(stage)
    for number, happening in thread:
        if happening.at is not None:
            yield Until(happening.at)
        if happening.when is not None:
            formula = stage.picture.formula(happening.when.condition)
            yield When(formula, f"step {number} waits for {happening.when.text}")
        if happening.later:
            yield Until(after(stage.time, happening.later))
        yield from player.happen(number, happening)


class _Player:
    """Makes the steps of one thread."""

    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        self.procedures = {p.name: p for p in stage.picture.book.procedures}

    def happen(self, number: str, happening: Happening) -> Waits:
        """Makes a step now; a procedure takes its time."""
        statement = happening.statement
        match happening.kind:
            case "do":
                self._do(number, statement.condition, statement.text, happening.held)
            case "set":
                self.stage.set(happening.settings)
                set_ = tuple(s.thing for s in happening.settings if s.how != "fails")
                self._note(number, self._settings_text(happening.settings), things=set_)
            case "carry out":
                procedure = self.procedures[happening.procedure]
                self._note(number, f"{procedure.name}: begun", source=procedure.source)
                yield from self._carry_out(number, procedure, happening.pace)
            case "expect":
                met = self._is_so(statement.condition)
                self._note(number, f"expected: {statement.text}", SO if met else UNMET)
            case _:
                self._note(number, f"{happening.kind}: {statement.text}")

    def _note(
        self,
        number: str,
        text: str,
        outcome: str = MADE,
        source: str = "",
        things: tuple[str, ...] = (),
    ) -> None:
        self.stage.note(Event(STEP, text, number, outcome, source, things))

    def _is_so(self, condition: Condition) -> bool:
        formula = self.stage.picture.formula(condition)
        return self.stage.runner.holds(formula, self.stage.moment.state)

    def _do(self, number: str, condition: Condition, text: str, held: float) -> None:
        wanted = dict(moves_of(condition))
        self._note(number, text, self.stage.move(wanted, held), things=tuple(wanted))

    def _settings_text(self, settings: Sequence[Setting]) -> str:
        units = {
            thing.name: thing.unit
            for thing in self.stage.picture.book.things
            if isinstance(thing, Reading)
        }
        return "; ".join(setting_text(s, units.get(s.thing, "")) for s in settings)

    # -- procedures -------------------------------------------------------------------------

    def _carry_out(self, number: str, procedure: Procedure, pace: float) -> Waits:
        """Step after step; each but a wait, a question and what is said takes its time.

        What springs back is held until the waits that follow are over.
        """
        work = list(numbered(procedure.steps, f"{number}."))
        while work:
            (own, step), *work = work
            if step.kind in ("do", "check"):
                yield Until(after(self.stage.time, pace))
            if step.kind == "wait":
                yield self._wait(own, step)
            waits = bool(work) and work[0][1].kind == "wait"
            self._make(own, step, inf if waits else pace)
            if step.kind == "wait" and not waits:
                self.stage.release()
            if step.kind == "if":
                work = [*self._branch(own, step), *work]

    def _wait(self, number: str, step: Step) -> Until | When:
        if step.seconds:
            return Until(after(self.stage.time, step.seconds))
        formula = self.stage.picture.formula(step.statement.condition)
        return When(formula, f"step {number} waits for {step.statement.text}")

    def _make(self, number: str, step: Step, held: float) -> None:
        statement = step.statement
        match step.kind:
            case "do":
                self._do(number, statement.condition, statement.text, held)
            case "check" | "if":
                outcome = SO if self._is_so(statement.condition) else NOT_SO
                self._note(number, f"{step.kind} {statement.text}", outcome)
            case _:
                self._note(number, f"{step.kind}: {statement.text}")

    def _branch(self, number: str, step: Step) -> tuple[Numbered, ...]:
        then, otherwise = branches(number, step)
        return then if self._is_so(step.statement.condition) else otherwise


def setting_text(setting: Setting, unit: str) -> str:
    """What is set, in words; `unit` is that of a reading."""
    thing, state = setting.thing, setting.state
    match setting.how:
        case "fails":
            return fault_text(thing, state, unit)
        case "works":
            return f"{thing} works again"
        case "goes":
            how = f"in {time_text(setting.seconds)}"
            if setting.rate:
                how = f"at {rate_text(setting.rate, unit)}"
            return f"{thing} to {measured(float(state), unit)} {how}"
    if state in ("yes", "no"):
        return thing if state == "yes" else f"not {thing}"
    return f"{thing} {measured(float(state), unit)}"
