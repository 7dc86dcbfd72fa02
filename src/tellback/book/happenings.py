"""The steps of a scenario: when each comes, and what happens then."""

from __future__ import annotations

import re

from tellback.book import statements
from tellback.book.conditions import ALWAYS, Condition, State
from tellback.book.context import Context
from tellback.book.fields import Fields, read_fields
from tellback.book.keys import HAPPENINGS
from tellback.book.model import Procedure, Statement
from tellback.book.names import Declared, Names, fold, near
from tellback.book.nodes import Items, Node, Pairs, Scalar
from tellback.book.numbers import number_text
from tellback.book.procedures import is_done_by_hand
from tellback.book.rates import rate_of
from tellback.book.scenario import Happening, Setting
from tellback.book.sources import Report, Source
from tellback.book.times import time_of
from tellback.diagnostics import Diagnostic

HELD = 1.0
"""So long a control that springs back is held, in seconds, if the book does not say."""

PACE = 3.0
"""So long each step of a procedure takes, in seconds, if the book does not say."""

WORKS = "works again"

_GOES = re.compile(
    r"to\s+(?P<number>.+?)\s+(?:in\s+(?P<time>\d.*)"
    r"|at\s+(?P<rate>.+))"
)


def read_happenings(
    context: Context, node: Node | None, procedures: tuple[Procedure, ...], source: str
) -> tuple[Happening, ...]:
    """The steps in order; without a source of its own, one has that of the scenario."""
    if isinstance(node, Items) and not node.items:
        context.error(node, "shape", "`steps` has an empty list", "Write at least one step.")
    items = node.items if isinstance(node, Items) else ()
    found = [_happening(context, item, procedures, source) for item in items]
    return tuple(happening for happening in found if happening is not None)


def _happening(
    context: Context, node: Node, procedures: tuple[Procedure, ...], source: str
) -> Happening | None:
    fields = read_fields(context, node, "happening", "the step")
    kind = _kind(context, fields) if fields else ""
    if fields is None or not kind:
        return None
    at, when, later = (fields.scalar(key) for key in ("at", "when", "later"))
    if at and (when or later):
        message = "the step has `at` and, besides, `when` or `later`"
        context.error(at, "step", message, "Give its time, or what it waits for.")
    condition = context.condition(when) if when else None
    happens = fields.values[kind]
    done = _condition(context, kind, happens)
    if done is None or (when and condition is None):
        return None
    source = statements.full_source(context, fields.scalar("source")) or source
    text = happens.text if isinstance(happens, Scalar) else ""
    held, pace = fields.scalar("held"), fields.scalar("pace")
    return Happening(
        kind=kind,
        statement=statements.stated(context, fields, done, text, happens, kind, "", source),
        at=time_of(context, at) if at else None,
        when=statements.stated(context, fields, condition, when.text, when, "when", "", source)
        if when and condition
        else None,
        later=time_of(context, later) if later else 0.0,
        settings=_settings(context, happens) if kind == "set" else (),
        procedure=_procedure(context, happens, procedures) if kind == "carry out" else "",
        held=_beside(context, fields, held, kind, "do", HELD),
        pace=_beside(context, fields, pace, kind, "carry out", PACE),
        note=fields.text("note"),
    )


def _kind(context: Context, fields: Fields) -> str:
    """What kind of step it is; empty with the fault reported."""
    written = {fold(key.text) for key, _ in fields.node.pairs}
    kinds = [kind for kind in HAPPENINGS if kind in written]
    if len(kinds) == 1:
        return kinds[0] if kinds[0] in fields.values else ""
    told = "a step does one thing" if kinds else "the step does not say what happens"
    mend = f"Write one of {', '.join(f'`{kind}:`' for kind in HAPPENINGS)}."
    context.error(fields.node, "step", told, mend)
    return ""


def _condition(context: Context, kind: str, node: Node) -> Condition | None:
    """What is done or expected; ALWAYS for a step that states no condition."""
    if kind not in ("do", "expect") or not isinstance(node, Scalar):
        return ALWAYS
    condition = context.condition(node)
    if condition is None or (kind == "do" and not is_done_by_hand(context, node, condition)):
        return None
    return condition


def _beside(
    context: Context, fields: Fields, node: Scalar | None, kind: str, of: str, usual: float
) -> float:
    """A time that belongs to one kind of step alone; 0 for the others."""
    if node and kind != of:
        message = f"this step does not take time by hand: it has no `{of}`"
        context.error(node, "step", message, f"It belongs to `{of}`; take it out.")
    if kind != of:
        return 0.0
    return time_of(context, node) if node else usual


def _procedure(context: Context, node: Node, procedures: tuple[Procedure, ...]) -> str:
    """The procedure of that name, as the book writes it; empty with the fault reported."""
    assert isinstance(node, Scalar)
    known = {fold(p.name): p.name for p in procedures}
    folded = fold(node.text)
    if folded not in known:
        perhaps = " or ".join(f"`{name}`" for name in near(folded, known))
        mend = f"Did you mean {perhaps}?" if perhaps else "Write it in the folder `procedures`."
        context.error(node, "unknown-name", f"there is no procedure `{node.text}`", mend)
    return known.get(folded, "")


def change_at(names: Names, thing: str, state: str, at: float) -> Happening | Diagnostic:
    """The step that puts a thing in a state at a time, or what is wrong with it.

    The state reads as it does in a book: a control's position, yes or no, `to 250 kt in 60 s`.
    """
    context = Context(Report(), names)
    name, value = (_as_scalar(text) for text in (thing, state))
    declared = names.things.get(names.find(thing))
    place = value.place
    if declared is not None and declared.form == "control" and fold(state) not in (
        *map(fold, declared.fails), WORKS,
    ):  # fmt: skip
        position = context.choice(value, declared.states, "one of its positions")
        condition = State(declared.name, f"at {position}")
        statement = Statement(condition, f"{declared.name} at {position}", place, "do")
        step = Happening("do", statement, at=at, held=HELD)
    else:
        setting = _setting(context, name, value)
        statement = Statement(ALWAYS, f"{thing}: {state}", place, "set")
        step = Happening("set", statement, at=at, settings=(setting,) if setting else ())
    faults = context.report.all()
    return faults[0] if faults else step


def _as_scalar(text: str) -> Scalar:
    """A text that stands in no file."""
    return Scalar(Source("", (text,)), 1, 1, text, "", 1, len(text))


# -- what is set ------------------------------------------------------------------------------


def _settings(context: Context, node: Node) -> tuple[Setting, ...]:
    assert isinstance(node, Pairs)
    found = [
        _setting(context, name, value) for name, value in node.pairs if isinstance(value, Scalar)
    ]
    return tuple(setting for setting in found if setting is not None)


def _setting(context: Context, name: Scalar, value: Scalar) -> Setting | None:
    found = context.thing(name)
    if not found:
        return None
    thing = context.names.things[found]
    modes = {fold(mode): mode for mode in thing.fails}
    if fold(value.text) in modes:
        return Setting(thing.name, "fails", modes[fold(value.text)])
    if thing.fails and fold(value.text) == WORKS:
        return Setting(thing.name, "works")
    match thing.form:
        case "situation":
            return Setting(thing.name, "is", context.choice(value, ("yes", "no"), "yes or no"))
        case "reading" if thing.outside:
            return _reading(context, thing, value)
        case "control":
            message, mend = f"`{thing.name}` is moved by hand", "Write `do:` for it."
            if thing.fails:
                mend = f"{mend} It can fail: {', '.join((*thing.fails, WORKS))}."
            context.error(name, "setting", message, mend)
        case _ if thing.fails:
            known = " or ".join(f"`{mode}`" for mode in (*thing.fails, WORKS))
            mend = f"Write {known}; for its other states set what they follow from."
            context.error(value, "setting", f"`{value.text}` is no failure of {thing.name}", mend)
        case _:
            message = f"`{thing.name}` follows from other things"
            context.error(name, "setting", message, "Set what it follows from; it cannot fail.")
    return None


def _reading(context: Context, thing: Declared, value: Scalar) -> Setting | None:
    text = value.text.strip()
    goes = _GOES.fullmatch(text)
    if goes is None and _GOES.fullmatch(f"to {text}"):
        context.error(value, "setting", f"`{text}` is no number", f"Write `to {text}`.")
        return None
    if goes is None:
        return Setting(thing.name, "is", number_text(context.number(value, thing, text)))
    state = number_text(context.number(value, thing, goes["number"]))
    if goes["time"]:
        seconds = time_of(context, value, goes["time"], above_zero=True)
        return Setting(thing.name, "goes", state, seconds=seconds)
    rate = rate_of(context, value, thing.unit, goes["rate"])
    return Setting(thing.name, "goes", state, rate=rate)
