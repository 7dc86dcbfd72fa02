"""`numbers/*.yaml`: the limits of the aeroplane, by name."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from tellback.book import statements
from tellback.book.context import Context, scalars
from tellback.book.cursor import ANY_STATE, Cursor, Wrong
from tellback.book.entries import unit_mend
from tellback.book.expansion import members
from tellback.book.fields import Fields, named_bodies, read_fields
from tellback.book.keys import BOUNDS
from tellback.book.model import Limit, Statement
from tellback.book.names import Declared, fold
from tellback.book.nodes import Items, Node, Scalar
from tellback.book.numbers import number_told, reading_number, two_reading_numbers, unit_within
from tellback.units import unit_named

_NO_END = float("inf")


def read_limits(context: Context, files: Iterable[Fields]) -> tuple[Limit, ...]:
    """The limits of all files in order, members of `for each` written out.

    Alternatives for different aeroplanes, written as a list, follow one another.
    """
    found: list[Limit] = []
    owners: dict[str, Scalar] = {}
    for fields, name, node in named_bodies(context, files, "limits", "limit"):
        bodies = node.items if isinstance(node, Items) else (node,)
        if not bodies:
            context.error(node, "shape", f"`{name.text}` has an empty list", "State its keys.")
        for body in bodies:
            for member in members(context, name, body):
                _check_once(context, owners, member.name)
                limit = _limit(context, member.name, member.body, fields.text("title"))
                found += [limit] if limit else []
    return tuple(found)


def _check_once(context: Context, owners: dict[str, Scalar], name: Scalar) -> None:
    """A name may come again only as another alternative of one list."""
    place = owners.setdefault(fold(name.text), name).place
    if place != name.place:
        message = f"`{name.text}` is declared twice; it is already in {place.file}"
        mend = "Rename one, or make it one list with `applies to`."
        context.error(name, "double-name", f"{message}, line {place.line}", mend)


def _limit(context: Context, name: Scalar, body: Node, title: str) -> Limit | None:
    text = context.name(name)
    fields = read_fields(context, body, "limit", f"`{text or name.text}`")
    if fields is None or not text:
        return None
    of = tuple(context.thing(node, "reading") for node in scalars(fields.get("of")))
    ends = _ends(context, fields, text, tuple(reading for reading in of if reading))
    source = statements.full_source(context, fields.scalar("source"))
    when = _when(context, fields, source)
    backing = statements.reasons(context, fields), statements.effectivity(context, fields)
    if ends is None or not all(of):
        return None
    return Limit(
        name=text,
        title=title,
        of=of,
        low=ends.low,
        high=ends.high,
        unit=ends.unit,
        when=when,
        case=fields.text("case"),
        from_memory=context.yes(fields.scalar("from memory")),
        source=source,
        whys=backing[0],
        applies=backing[1],
        note=fields.text("note"),
        place=name.place,
    )


def _when(context: Context, fields: Fields, source: str) -> Statement | None:
    node = fields.scalar("when")
    condition = context.condition(node) if node else None
    if node is None or condition is None:
        return None
    return Statement(condition, node.text, node.place, "when", "", source)


# -- the number -------------------------------------------------------------------------------


class _Ends(NamedTuple):
    low: float | None
    high: float | None
    unit: str


def _ends(context: Context, fields: Fields, name: str, of: tuple[str, ...]) -> _Ends | None:
    """The least and the greatest allowed with their unit; None with the fault reported."""
    written = {fold(key.text) for key, _ in fields.node.pairs}
    given = [bound for bound in BOUNDS if bound in written]
    if not given and len(written) > len(fields.values) + len(fields.statements):
        return None  # a key that is none, or is empty, has been reported
    if len(given) != 1:
        told = "more than one number" if given else "no number"
        *most, last = (f"`{bound}`" for bound in BOUNDS)
        mend = f"Give one of {', '.join(most)} or {last}, with its unit."
        context.error(fields.node, "limit", f"`{name}` has {told}", mend)
        return None
    node = fields.scalar(given[0])
    ends = None
    for measure in _measures(context, fields, name, of, node) if node else ():
        found = _numbers(context, node, given[0], measure) if node else None
        if found is None:
            return None
        ends = ends or _Ends(*found, measure.unit)
    return ends


def _measures(
    context: Context, fields: Fields, name: str, of: tuple[str, ...], node: Scalar
) -> tuple[Declared, ...]:
    """What the number is a number of: the readings, or a quantity in the unit given or written."""
    unit_node = fields.scalar("unit")
    if of:
        if unit_node:
            message = f"`{name}` has the unit of `{of[0]}`"
            context.error(unit_node, "unit", message, "Take `unit` out.")
        return tuple(context.names.things[reading] for reading in of)
    if fields.get("of"):
        return ()
    unit = unit_node.text if unit_node else _written_unit(context, node)
    if unit is None:
        return ()
    known = unit_named(unit) if unit else None
    if known is None:
        at = unit_node or node
        told = f"`{unit}` is not a unit known here" if unit else "the number has no unit"
        context.error(at, "unit", told, unit_mend(unit) if unit else _NO_UNIT)
        return ()
    return (Declared(name, "reading", unit=known, low=-_NO_END, high=_NO_END),)


_NO_UNIT = "Write it after the number, as `165 kt`; a plain number has `unit: none`."


def _written_unit(context: Context, node: Scalar) -> str | None:
    """The unit in a text; empty if there is none, None with the fault of the text reported."""
    cursor = Cursor(node.text, context.names, ANY_STATE)
    try:
        return unit_within(cursor)
    except Wrong as wrong:
        context.fault(node, wrong.fault)
        return None


def _numbers(
    context: Context, node: Scalar, bound: str, measure: Declared
) -> tuple[float | None, float | None] | None:
    cursor = Cursor(node.text, context.names, ANY_STATE)
    try:
        if bound == "between":
            low, high = two_reading_numbers(cursor, measure)
        else:
            low = high = reading_number(cursor, measure)
        if cursor.next():
            raise cursor.wrong("leftover", f"`{cursor.next()}` does not fit here", _WORDS[bound])
    except Wrong as wrong:
        cursor.faults.append(wrong.fault)
    for fault in cursor.faults:
        context.fault(node, fault)
    if any(fault.kind == "error" for fault in cursor.faults):
        return None
    return (None if bound == "at most" else low), (None if bound == "at least" else high)


_WORDS = {
    "between": "Write two numbers, as `90 and 110 V`.",
    **dict.fromkeys(("at most", "at least", "at"), "Write one number with its unit, as `165 kt`."),
}


def bound_text(limit: Limit) -> str:
    """What is allowed, in words: `at most 165 kt`."""
    unit = "" if limit.unit == "none" else f" {limit.unit}"
    low, high = (None if end is None else number_told(end) for end in (limit.low, limit.high))
    if low is None or high is None:
        return f"at most {high}{unit}" if low is None else f"at least {low}{unit}"
    return f"at {low}{unit}" if low == high else f"between {low} and {high}{unit}"
