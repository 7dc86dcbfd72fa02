"""Procedures and scenarios as English sentences: what is done and what happens, in order."""

from __future__ import annotations

from collections.abc import Sequence

from tellback.book.english import (
    article,
    capital,
    clause,
    in_brackets,
    listed,
    reason,
    the,
    time_text,
)
from tellback.book.model import Procedure, Step
from tellback.book.names import Names
from tellback.book.procedures import moves_of
from tellback.book.rates import rate_text
from tellback.book.scenario import Happening, Scenario, Setting


def procedure_text(procedure: Procedure, names: Names) -> str:
    """A procedure with its steps."""
    kind = procedure.kind
    kind = kind if kind.endswith("s") else f"{article(kind)} {kind}"
    fitted = f", on {procedure.applies.text} only" if procedure.applies.text else ""
    parts = [f"{procedure.name}: {kind}{fitted}{in_brackets(procedure.source)}"]
    for lead, several in (
        ("called for when", procedure.called_for),
        ("it secures that", procedure.secures),
    ):
        if several:
            joint = " or when " if several is procedure.called_for else ", and that "
            told = joint.join(clause(s.condition, names) for s in several)
            parts.append(f"{lead} {told}")
    parts += [f"done from {listed(procedure.done_from)}"] if procedure.done_from else []
    parts += _steps(procedure.steps, "", procedure, names)
    parts += map(reason, procedure.whys)
    parts += [f"Note: {procedure.note.rstrip('.')}"] if procedure.note else []
    return " ".join(capital(part) + "." for part in parts)


def _steps(
    steps: Sequence[Step], before: str, procedure: Procedure, names: Names, first: int = 1
) -> list[str]:
    found = []
    for number, step in enumerate(steps, first):
        own = step.statement.source
        fitted = step.statement.applies.text
        found.append(
            f"step {before}{number}: {_step(step, names)}"
            + (", from memory" if step.from_memory and procedure.kind != "memory items" else "")
            + (f", on {fitted} only" if fitted else "")
            + (in_brackets(own) if own != procedure.source else "")
        )
        found += map(reason, step.statement.whys)
        found += [f"Note: {step.note.rstrip('.')}"] if step.note else []
        found += _steps(step.then, f"{before}{number}.", procedure, names)
        rest = _steps(step.otherwise, f"{before}{number}.", procedure, names, len(step.then) + 1)
        found += [f"otherwise {said}" if said.startswith("step ") else said for said in rest]
    return found


def _step(step: Step, names: Names) -> str:
    condition = step.statement.condition
    match step.kind:
        case "do":
            return listed(f"{the(name)} to {place}" for name, place in moves_of(condition))
        case "check":
            return f"check that {clause(condition, names)}"
        case "if":
            return f"if {clause(condition, names)}"
        case "wait" if not step.seconds:
            return f"wait until {clause(condition, names)}"
    text = step.statement.text.rstrip(".")
    return f"wait {text}" if step.kind == "wait" else text


def scenario_text(scenario: Scenario, names: Names) -> str:
    """A scenario with its steps and what is expected of it."""
    fitted = f", on {scenario.applies.text} only" if scenario.applies.text else ""
    changes = ", ".join(f"{thing} {state}" for thing, state in scenario.changes)
    begins = ", with ".join(part for part in (f"from {scenario.start}", changes) if part)
    parts = [f"{scenario.name}: {begins}{fitted}{in_brackets(scenario.source)}"]
    for number, happening in enumerate(scenario.happenings, 1):
        own = happening.statement
        only = f", on {own.applies.text} only" if own.applies.text else ""
        source = in_brackets(own.source) if own.source != scenario.source else ""
        parts.append(f"step {number}: {happening_text(happening, names)}{only}{source}")
        parts += map(reason, own.whys)
        parts += [f"Note: {happening.note.rstrip('.')}"] if happening.note else []
    parts += [f"expected: {e.statement.text}" for e in scenario.expectations]
    parts += [f"it ends at {time_text(scenario.ends)}"] if scenario.ends is not None else []
    parts += map(reason, scenario.whys)
    parts += [f"Note: {scenario.note.rstrip('.')}"] if scenario.note else []
    return " ".join(capital(part) + ("" if part[-1] == "?" else ".") for part in parts)


def happening_text(happening: Happening, names: Names) -> str:
    """A step of a scenario: when it comes, and what it is."""
    return f"{_comes(happening, names)}{_happens(happening, names)}"


def _comes(happening: Happening, names: Names) -> str:
    """When a step comes, before what it is."""
    if happening.at is not None:
        return f"at {time_text(happening.at)}, "
    later = f"{time_text(happening.later)} " if happening.later else ""
    if happening.when:
        lead = f"{later}after" if later else "as soon as"
        return f"{lead} {clause(happening.when.condition, names)}, "
    return f"{later}later, " if later else ""


def _happens(happening: Happening, names: Names) -> str:
    statement = happening.statement
    match happening.kind:
        case "do":
            held = f", held for {time_text(happening.held)}" if happening.held != 1 else ""
            moves = moves_of(statement.condition)
            return listed(f"{the(name)} to {place}" for name, place in moves) + held
        case "set":
            return listed(_setting(setting, names) for setting in happening.settings)
        case "carry out":
            pace = time_text(happening.pace)
            return f"{happening.procedure} is carried out, a step every {pace}"
        case "expect":
            return f"expect that {clause(statement.condition, names)}"
        case "ask":
            return f"ask: {statement.text}"
    return statement.text.rstrip(".")


def _setting(setting: Setting, names: Names) -> str:
    thing, state = the(setting.thing), setting.state
    unit = names.things[setting.thing].unit
    number = f"{state} {unit}" if unit else state
    match setting.how:
        case "fails":
            return f"{thing} fails ({state})"
        case "works":
            return f"{thing} works again"
        case "goes" if setting.rate:
            return f"{thing} goes to {number} at {rate_text(setting.rate, unit)}"
        case "goes":
            return f"{thing} goes to {number} in {time_text(setting.seconds)}"
    return f"{setting.thing} is {number}"
