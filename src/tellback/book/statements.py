"""Statements: conditions with their source, reasons and effectivity, in all four forms."""

from __future__ import annotations

import re

from tellback.book import keys
from tellback.book.conditions import ALWAYS, All, Condition, things
from tellback.book.context import Context, scalars
from tellback.book.cursor import ANY_STATE, Origin
from tellback.book.fields import Fields, Pattern, read_fields
from tellback.book.model import Effectivity, Statement, Why
from tellback.book.names import fold
from tellback.book.nodes import Items, Node, Pairs, Scalar
from tellback.book.phrases import phrase
from tellback.book.serials import parse_serials

_BARE_SERIALS = re.compile(r"\d+(\s*-\s*\d+)?", re.ASCII)


def ways(
    context: Context, fields: Fields, key: str, origin: Origin = ANY_STATE
) -> tuple[Statement, ...]:
    """All statements under a key of a thing, and under the same key with `any of`."""
    found: list[Statement] = []
    for pattern in fields.under(key):
        found += of_pattern(context, fields, pattern, origin)
    return tuple(found)


def of_pattern(
    context: Context, fields: Fields, pattern: Pattern, origin: Origin = ANY_STATE
) -> list[Statement]:
    """The statements under one written key. Those without a source take that of the thing."""
    key = " ".join(pattern.written.text.split())
    if not pattern.any_of:
        return _alternatives(context, pattern.value, key, "", fields, origin)
    if not isinstance(pattern.value, Pairs) or not pattern.value.pairs:
        context.error(
            pattern.value, "shape", f"`{key}` wants named ways",
            "Write a name, a colon and a condition for each way.",
        )  # fmt: skip
        return []
    found: list[Statement] = []
    for name, value in pattern.value.pairs:
        shown = context.name(name)
        found += _alternatives(context, value, key, shown, fields, origin)
    return found


def _alternatives(
    context: Context, node: Node, key: str, name: str, fields: Fields, origin: Origin
) -> list[Statement]:
    nodes = node.items if isinstance(node, Items) else (node,)
    if not nodes:
        context.error(node, "shape", f"`{key}` has an empty list", "State a condition.")
    found = [_statement(context, one, key, name, fields, origin) for one in nodes]
    return [statement for statement in found if statement is not None]


def _statement(
    context: Context, node: Node, key: str, name: str, fields: Fields, origin: Origin
) -> Statement | None:
    source = fields.scalar("source")
    default = full_source(context, source)
    if isinstance(node, Scalar):
        if not node.text.strip():
            context.error(node, "empty", f"`{name or key}` states no condition", "State one.")
            return None
        condition = context.condition(node, origin)
        if condition is None:
            return None
        told = by_own_names(node.text, condition)
        return Statement(condition, told, node.place, key, name, default)
    inner = read_fields(context, node, "statement", f"the statement under `{name or key}`")
    when = inner.scalar("when") if inner else None
    if inner is None or when is None:
        return None
    condition = context.condition(when, origin)
    if condition is None:
        return None
    return stated(context, inner, condition, when.text, when, key, name, default)


def stated(
    context: Context,
    fields: Fields,
    condition: Condition,
    text: str,
    at: Node,
    key: str,
    name: str = "",
    default_source: str = "",
) -> Statement:
    """A statement with the source, reasons and effectivity of its mapping."""
    return Statement(
        condition,
        by_own_names(text, condition),
        at.place,
        key,
        name,
        full_source(context, fields.scalar("source")) or default_source,
        reasons(context, fields),
        effectivity(context, fields),
    )


def by_own_names(text: str, condition: Condition) -> str:
    """The text of a condition, each thing by its own name, in capitals only if that is.

    What is written once for `LEFT` and `RIGHT` lights speaks of the `left engine` too.
    """
    own = {fold(name): name for name in things(condition)}
    if not own:
        return text
    longest_first = sorted(own, key=len, reverse=True)
    either = "|".join(re.escape(name).replace(r"\ ", r"\s+") for name in longest_first)
    pattern = re.compile(rf"(?<!\w)({either})(?!\w)", re.IGNORECASE)
    return pattern.sub(lambda found: own[fold(found[0])], text)


def full_source(context: Context, source: Scalar | None) -> str:
    """A manual reference with that of the chapter before it."""
    if source is None:
        return ""
    return ", ".join(part for part in (context.source_prefix, source.text.strip()) if part)


def row_when(context: Context, fields: Fields, key: str, default_source: str) -> Statement | None:
    """The condition of a row; a row with only a source or effectivity always applies."""
    when = fields.scalar("when")
    if when is not None:
        condition = context.condition(when)
        if condition is None:
            return None
        return stated(context, fields, condition, when.text, when, key, "", default_source)
    if any(fields.get(part) for part in ("source", "why", "applies to")):
        return stated(context, fields, ALWAYS, "always", fields.node, key, "", default_source)
    return None


def needs(
    context: Context, fields: Fields, key: str = "needs", bare: str = "supply"
) -> tuple[Statement, ...]:
    """The list of conditions under a key, in which a name of the bare form may stand alone."""
    source = full_source(context, fields.scalar("source"))
    found: list[Statement] = []
    for node in scalars(fields.get(key)):
        found += several(context, node, key, bare, source)
    return tuple(found)


def several(
    context: Context, node: Scalar, key: str, bare: str, source: str, base: int = 0
) -> list[Statement]:
    """A condition as one statement, or one for each part that `and` joins."""
    condition = context.condition(node, Origin(bare=(bare,)), base)
    if condition is None:
        return []
    text = node.text[base:]
    inset = len(text) - len(text.lstrip())
    place = node.source.place(*node.locate(base + inset)) if base else node.place
    if not isinstance(condition, All) or len(condition.parts) < 2:
        told = by_own_names(text.strip(), condition)
        return [Statement(condition, told, place, key, "", source)]
    return [
        Statement(part, phrase(part, context.names), place, key, "", source)
        for part in condition.parts
    ]


def reasons(context: Context, fields: Fields) -> tuple[Why, ...]:
    """The reasons under `why`; one without a source counts as instructor's view."""
    node = fields.get("why")
    if node is None:
        return ()
    nodes = node.items if isinstance(node, Items) else (node,)
    found = [_reason(context, one) for one in nodes]
    return tuple(why for why in found if why is not None)


def _reason(context: Context, node: Node) -> Why | None:
    if isinstance(node, Scalar):
        context.error(
            node, "reason", "a reason says of what kind it is",
            "Write `regulation:`, `accident report:`, `manufacturer:`, `computed:` or "
            "`instructor's view:` before it.",
        )  # fmt: skip
        return None
    fields = read_fields(context, node, "reason", "a reason")
    kinds = [kind for kind in keys.REASONS if fields and fields.get(kind)]
    if fields is None or len(kinds) != 1:
        if fields is not None:
            context.error(
                node, "reason", "a reason has one kind", f"Give one of {', '.join(keys.REASONS)}."
            )
        return None
    source = fields.text("source")
    return Why(kinds[0] if source else "instructor's view", fields.text(kinds[0]), source)


def effectivity(context: Context, fields: Fields) -> Effectivity:
    """What `applies to` says."""
    nodes = scalars(fields.get("applies to"))
    alternatives = [
        tuple(term for part in re.split(r"\s+and\s+", node.text.strip(), flags=re.IGNORECASE)
              if (term := _term(context, node, part)))
        for node in nodes
    ]  # fmt: skip
    return Effectivity(tuple(alternatives), ", ".join(node.text for node in nodes))


def _term(context: Context, node: Scalar, text: str) -> tuple[bool, str] | None:
    affirmed = not text.casefold().startswith("not ")
    word = fold(text) if affirmed else fold(text[4:])
    if word in context.designations:
        return affirmed, context.designations[word].name
    serials = re.sub(r"^serials?\s+", "", word)
    if serials != word or _BARE_SERIALS.fullmatch(word):
        ranges = parse_serials(context, node, serials)
        shown = ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in ranges)
        return (affirmed, f"serials {shown}") if ranges else None
    if context.know_designations:
        known = ", ".join(variant.name for variant in context.designations.values())
        context.error(
            node, "effectivity", f"`{text}` is not a variant, option or service bulletin",
            f"There are {known}; or write `serials 5-12`.",
        )  # fmt: skip
    return None
