"""`type.yaml`: variants, options and bulletins, starting states; and `impossible` statements."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from tellback.book import statements
from tellback.book.context import Context, pairs_of
from tellback.book.expansion import members
from tellback.book.fields import Fields, read_fields
from tellback.book.model import StartingState, Statement, Variant
from tellback.book.names import Declared, fold
from tellback.book.nodes import Items, Node, Pairs, Scalar
from tellback.book.numbers import number_text
from tellback.book.serials import parse_serials


def read_designations(context: Context, fields: Fields, key: str) -> tuple[Variant, ...]:
    """The variants, options or bulletins with their serial numbers."""
    found = []
    for name, node in pairs_of(fields.get(key)):
        text = context.name(name)
        if not text:
            continue
        serials = _serials(context, name, node, text)
        variant = Variant(text, serials, name.place)
        if fold(text) in context.designations:
            context.error(name, "double-name", f"`{text}` is declared twice", "Rename one.")
        context.designations.setdefault(fold(text), variant)
        found.append(variant)
    if key == "variants":
        _check_apart(context, fields, found)
    written = fields.get(key)
    if key == "variants" and written is not None and not found:
        context.error(written, "shape", "there is no variant", "Name at least one.")
    return tuple(found)


def _serials(context: Context, name: Scalar, node: Node, shown: str) -> tuple[tuple[int, int], ...]:
    """`1-12, 15` alone or under `serials`; within braces the comma has parted it."""
    if isinstance(node, Scalar) and node.text.strip():
        return parse_serials(context, node, node.text)
    more: list[str] = []
    if isinstance(node, Pairs):
        kept = []
        for key, value in node.pairs:
            is_range = key.text[:1].isdigit() and isinstance(value, Scalar) and not value.text
            more += [key.text] if is_range else []
            kept += [] if is_range else [(key, value)]
        node = node._replace(pairs=tuple(kept))
    fields = read_fields(context, node, "variant", f"`{shown}`")
    serials = fields.scalar("serials") if fields else None
    return parse_serials(context, serials, ", ".join([serials.text, *more])) if serials else ()


def _check_apart(context: Context, fields: Fields, variants: list[Variant]) -> None:
    node = fields.get("variants")
    ranges = sorted((r, v.name) for v in variants for r in v.serials)
    for (first, one), (second, other) in pairwise(ranges):
        if second[0] <= first[1] and node is not None:
            context.error(
                node, "serials", f"serial {second[0]} belongs to {one} and to {other}",
                "Give every serial number to one variant.",
            )  # fmt: skip


def read_starts(context: Context, fields: Fields) -> tuple[StartingState, ...]:
    """The starting states, each thing by its canonical name, numbers in its unit.

    Without any, one called `normal` in which everything is normal.
    """
    found = []
    for name, node in pairs_of(fields.get("starting states")):
        text = context.name(name)
        if isinstance(node, Scalar) and not node.text.strip():
            found.append(StartingState(text, (), name.place))
        elif not isinstance(node, Pairs):
            context.error(node, "shape", f"`{text}` wants states by thing", "Write `THING: STATE`.")
        else:
            found.append(StartingState(text, read_settings_of(context, node), name.place))
    return tuple(found) or (StartingState("normal", (), fields.node.place),)


def read_settings_of(
    context: Context, node: Pairs, failures: bool = False
) -> tuple[tuple[str, str], ...]:
    """Each thing by its canonical name with its state; numbers in its unit.

    With `failures` a thing may also be in one of its failures.
    """
    settings = [_setting(context, thing, value, failures) for thing, value in node.pairs]
    return tuple(setting for setting in settings if setting is not None)


def _setting(context: Context, name: Scalar, value: Node, failures: bool) -> tuple[str, str] | None:
    thing = context.thing(name)
    if not thing:
        return None
    if not isinstance(value, Scalar) or not value.text.strip():
        context.error(
            value, "shape", f"the state of `{thing}` must be one word or number", "Write it so."
        )
        return None
    declared = context.names.things[thing]
    modes = {fold(mode): mode for mode in declared.fails} if failures else {}
    mode = modes.get(fold(value.text))
    return thing, mode or _state(context, declared, name, value)


def _state(context: Context, thing: Declared, name: Scalar, value: Scalar) -> str:
    match thing.form:
        case "control":
            return context.choice(value, thing.states, "one of the positions")
        case "situation":
            return context.choice(value, ("yes", "no"), "yes or no")
        case "reading":
            return number_text(context.number(value, thing))
    context.error(
        name, "start", f"`{thing.name}` is a {thing.form}: its state follows from the rest",
        "State controls, situations and readings only; a surface has `starts at` of its own.",
    )  # fmt: skip
    return ""


def read_impossible(context: Context, node: Node | None) -> list[Statement]:
    """The statements of a list under `impossible`."""
    found = []
    items: Iterable[Node] = node.items if isinstance(node, Items) else ()
    for item in items:
        if isinstance(item, Scalar):
            condition = context.condition(item)
            if condition is not None:
                found.append(Statement(condition, item.text, item.place, "impossible"))
            continue
        name = Scalar(item.source, item.line, item.column, "", "", item.line, item.column)
        for member in members(context, name, item):
            found += _impossible(context, member.body)
    return found


def _impossible(context: Context, node: Node) -> list[Statement]:
    fields = read_fields(context, node, "impossible", "`impossible`")
    when = fields.scalar("when") if fields else None
    if fields is None or when is None:
        return []
    condition = context.condition(when)
    if condition is None:
        return []
    return [statements.stated(context, fields, condition, when.text, when, "impossible")]
