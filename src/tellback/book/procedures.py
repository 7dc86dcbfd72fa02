"""`procedures/*.yaml`: flows, checklists and memory items, as ordered steps."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from tellback.book import statements
from tellback.book.conditions import ALWAYS, All, Condition, State
from tellback.book.context import Context, pairs_of, scalars
from tellback.book.expansion import members
from tellback.book.fields import Fields, named_bodies, read_fields
from tellback.book.keys import PROCEDURES, STEPS
from tellback.book.model import Procedure, StartingState, Statement, Step
from tellback.book.names import fold
from tellback.book.nodes import Items, Node, Scalar

BY_NEED = PROCEDURES[2:]
"""Kinds that are called for by something; the others are done from a starting state."""

_TIME = re.compile(r"\d")


def read_procedures(
    context: Context, files: Iterable[Fields], starts: tuple[StartingState, ...]
) -> tuple[Procedure, ...]:
    """The procedures of all files in order, members of `for each` written out."""
    found: dict[str, Procedure] = {}
    renamed: list[tuple[Scalar, Procedure]] = []
    for _, name, body in named_bodies(context, files, "procedures", "procedure"):
        for member in members(context, name, body):
            procedure = _procedure(context, member.name, member.body, starts)
            if procedure is None:
                continue
            _keep(context, found, member.name, procedure)
            renamed += [(node, procedure) for node in _under_was(member.body)]
    _check_former_names(context, found, renamed)
    return tuple(found.values())


def _keep(
    context: Context, found: dict[str, Procedure], name: Scalar, procedure: Procedure
) -> None:
    other = found.setdefault(fold(procedure.name), procedure)
    if other is not procedure:
        message = f"`{procedure.name}` is declared twice; it is already in {other.place.file}"
        context.error(name, "double-name", f"{message}, line {other.place.line}", "Rename one.")


def _check_former_names(
    context: Context, found: dict[str, Procedure], renamed: Iterable[tuple[Scalar, Procedure]]
) -> None:
    """Each `was` names one list that is no longer there under that name, and no other says so."""
    heirs: dict[str, list[Procedure]] = {}
    for node, one in renamed:
        former = fold(one.was)
        still = [found[former]] if former in found else []
        again = next((o for o in heirs.get(former, []) if _share_aeroplanes(o, one)), None)
        heirs.setdefault(former, []).append(one)
        mend = "Give the name that it had before, or take `was` out."
        if former == fold(one.name):
            context.error(node, "former-name", f"`{one.was}` is its name now", mend)
        elif any(_share_aeroplanes(other, one) for other in still):
            message = f"`{still[0].name}` is still there, so `{one.name}` cannot have been it"
            where = f"It is in {still[0].place.file}, line {still[0].place.line}."
            context.error(node, "former-name", message, f"{mend} {where}")
        elif again:
            message = f"`{again.name}` was `{one.was}` too"
            context.error(node, "former-name", message, "Say `was` of one of them.")


def _under_was(body: Node) -> list[Scalar]:
    """What stands under `was`, if anything does."""
    return [
        value
        for key, value in pairs_of(body)
        if fold(key.text) == "was" and isinstance(value, Scalar)
    ]


def _share_aeroplanes(one: Procedure, other: Procedure) -> bool:
    """Whether both surely apply to some aeroplane: one to all, or both to the same."""
    a, b = one.applies.alternatives, other.applies.alternatives
    return not a or not b or a == b


def _procedure(
    context: Context, name: Scalar, body: Node, starts: tuple[StartingState, ...]
) -> Procedure | None:
    text = context.name(name)
    fields = read_fields(context, body, "procedure", f"`{text or name.text}`")
    if fields is None or not text:
        return None
    kind_node = fields.scalar("kind")
    kind = context.choice(kind_node, PROCEDURES, "a kind of procedure") if kind_node else ""
    _check_occasion(context, fields, text, kind)
    names = tuple(start.name for start in starts)
    nodes = scalars(fields.get("done from"))
    return Procedure(
        name=text,
        kind=kind,
        called_for=statements.ways(context, fields, "called for when"),
        done_from=tuple(context.choice(node, names, "a starting state") for node in nodes),
        secures=_secures(context, fields),
        steps=_steps(context, fields, "steps", kind == "memory items"),
        source=statements.full_source(context, fields.scalar("source")),
        whys=statements.reasons(context, fields),
        applies=statements.effectivity(context, fields),
        note=fields.text("note"),
        place=name.place,
        was=fields.text("was"),
    )


def _check_occasion(context: Context, fields: Fields, name: str, kind: str) -> None:
    """A list that answers a fault says when; what is done as a matter of course says from where."""
    by_need = kind in BY_NEED
    wanted = "called for when" if by_need else "done from"
    if kind and not (fields.under(wanted) if by_need else fields.get(wanted)):
        says = "memory items want" if kind == "memory items" else f"a {kind} wants"
        message = f"`{name}` has no `{wanted}`; {says} it"
        mend = "Add a condition." if by_need else "Name the starting states that it is done from."
        context.error(fields.node, "missing-key", message, mend)


def _secures(context: Context, fields: Fields) -> tuple[Statement, ...]:
    source = statements.full_source(context, fields.scalar("source"))
    found = [(node, context.condition(node)) for node in scalars(fields.get("secures"))]
    return tuple(
        Statement(condition, node.text, node.place, "secures", "", source)
        for node, condition in found
        if condition is not None
    )


# -- steps ------------------------------------------------------------------------------------


def _steps(
    context: Context, fields: Fields, key: str, from_memory: bool, source: str = ""
) -> tuple[Step, ...]:
    """The steps under a key; without a source of its own, one has that of what it stands in."""
    node = fields.get(key)
    source = statements.full_source(context, fields.scalar("source")) or source
    if isinstance(node, Items) and not node.items:
        context.error(node, "shape", f"`{key}` has an empty list", "Write at least one step.")
    items = node.items if isinstance(node, Items) else ()
    found = [_step(context, item, from_memory, source) for item in items]
    return tuple(step for step in found if step is not None)


def _step(context: Context, node: Node, from_memory: bool, source: str) -> Step | None:
    fields = read_fields(context, node, "step", "the step")
    kind = _kind(context, fields) if fields else ""
    if fields is None or not kind:
        return None
    from_memory = context.yes(fields.scalar("from memory")) or from_memory
    then, otherwise = (
        _steps(context, fields, key, from_memory, source) for key in ("then", "otherwise")
    )
    node = fields.values[kind]
    assert isinstance(node, Scalar)
    if kind == "do" and ":" in node.text:
        message = f"`{node.text}` is written with a colon"
        context.error(node, "step", message, f"Write `{_with_at(node.text)}`.")
        return None
    is_time = kind == "wait" and bool(_TIME.match(node.text))
    condition = ALWAYS if is_time or kind == "say" else context.condition(node)
    if condition is None or (kind == "do" and not is_done_by_hand(context, node, condition)):
        return None
    return Step(
        kind=kind,
        statement=statements.stated(context, fields, condition, node.text, node, kind, "", source),
        seconds=context.seconds(node) if is_time else 0.0,
        then=then,
        otherwise=otherwise,
        from_memory=from_memory,
        note=fields.text("note"),
    )


def _with_at(text: str) -> str:
    control, _, position = text.partition(":")
    return f"{control.strip()} at {position.strip()}"


def _kind(context: Context, fields: Fields) -> str:
    """What kind of step it is; empty with the fault reported."""
    written = {fold(key.text) for key, _ in fields.node.pairs}
    kinds = [kind for kind in STEPS if kind in written]
    branches = [key for key in ("then", "otherwise") if key in written]
    if not kinds and len(written) > len(fields.values):
        return ""  # a key that is none, or is empty, has been reported
    if len(kinds) != 1:
        told = "a step does one thing" if kinds else "the step does not say what is done"
        mend = f"Begin it with one of {', '.join(f'`{kind}:`' for kind in STEPS)}."
        context.error(fields.node, "step", told, mend)
    elif branches and kinds != ["if"]:
        message = f"`{branches[0]}` stands here without `if`"
        context.error(fields.node, "step", message, "Write `- if: ...` above it.")
    elif kinds == ["if"] and "then" not in written:
        message = "`if` stands here without `then`"
        context.error(fields.node, "step", message, "Say what is done if it is so.")
    else:
        return kinds[0] if kinds[0] in fields.values else ""
    return ""


def is_done_by_hand(context: Context, node: Scalar, condition: Condition) -> bool:
    """Whether it can be done by hand; if not, the fault is reported."""
    parts = condition.parts if isinstance(condition, All) else (condition,)
    other = next((part for part in parts if not _is_move(context, part)), None)
    moved = [name for name, _ in moves_of(condition)]
    twice = next((name for name in moved if moved.count(name) > 1), "")
    if other is not None or not parts:
        message = f"`{node.text}` cannot be done by hand: only a control goes where it is moved"
        mend = "Write `do: CONTROL at POSITION`, or `check:` or `wait:` for what follows from it."
        context.error(node, "step", message, mend)
    elif twice:
        message = f"`{twice}` goes to two positions in one step"
        context.error(node, "step", message, "Make two steps of it.")
    return other is None and bool(parts) and not twice


def _is_move(context: Context, part: Condition) -> bool:
    return (
        isinstance(part, State)
        and part.state.startswith("at ")
        and context.names.things[part.thing].form == "control"
    )


def moves_of(condition: Condition) -> tuple[tuple[str, str], ...]:
    """The controls that a `do` moves, each with its new position."""
    parts = condition.parts if isinstance(condition, All) else (condition,)
    return tuple((p.thing, p.state.removeprefix("at ")) for p in parts if isinstance(p, State))


# -- all of a procedure -----------------------------------------------------------------------


def all_steps(steps: Sequence[Step]) -> Iterator[Step]:
    """Every step, those of the branches after the `if` that they belong to."""
    for step in steps:
        yield step
        yield from all_steps((*step.then, *step.otherwise))


def statements_in(procedure: Procedure) -> Iterator[Statement]:
    """Every statement of a procedure in the order written."""
    yield from procedure.called_for
    yield from procedure.secures
    yield from (step.statement for step in all_steps(procedure.steps))


def rewritten_steps(
    steps: Sequence[Step], rewrite: Callable[[Statement], Statement | None]
) -> tuple[Step, ...]:
    """The steps with every statement rewritten, without those that become None or move nothing."""
    found = []
    for step in steps:
        statement = rewrite(step.statement)
        if statement is None or (step.kind == "do" and not moves_of(statement.condition)):
            continue
        then, otherwise = (rewritten_steps(s, rewrite) for s in (step.then, step.otherwise))
        found.append(replace(step, statement=statement, then=then, otherwise=otherwise))
    return tuple(found)
