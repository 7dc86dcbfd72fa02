"""Surfaces: their drives, what they fall or spring to."""

from __future__ import annotations

from typing import Any as Anything

from tellback.book import statements
from tellback.book.conditions import All, Condition
from tellback.book.context import Context, pairs_of
from tellback.book.entries import Entry
from tellback.book.fields import Pattern, read_fields
from tellback.book.model import Drive, Statement, Surface
from tellback.book.names import fold
from tellback.book.nodes import Items, Node, Scalar


def read_surface(context: Context, entry: Entry, common: dict[str, Anything]) -> Surface:
    """The surface that an entry declares; what it falls or springs to comes after its drives."""
    points = entry.declared.states
    starts = entry.fields.scalar("starts at")
    first = points[0] if points else ""
    drives = [
        drive
        for name, body in pairs_of(entry.fields.get("drives"))
        for node in (body.items if isinstance(body, Items) else (body,))
        if (drive := _drive(context, entry, name, node))
    ]
    for key in ("falls to POSITION when", "springs to POSITION when"):
        for pattern in entry.fields.under(key):
            drives += _free_drives(context, entry, pattern)
    chosen = context.choice(starts, points, "one of the points") if starts else first
    return Surface(**common, points=points, starts_at=chosen or first, drives=tuple(drives))


def _drive(context: Context, entry: Entry, name: Scalar, node: Node) -> Drive | None:
    shown = context.name(name)
    fields = read_fields(context, node, "drive", f"the drive `{shown}`")
    to = fields.scalar("to") if fields else None
    if fields is None or to is None:
        return None
    source = statements.full_source(context, entry.fields.scalar("source"))
    point, control = _target(context, entry, to)
    toward = fields.scalar("only toward")
    when = statements.row_when(context, fields, "drives", source)
    needs = statements.needs(context, fields)
    takes = fields.scalar("takes")
    own = statements.stated(
        context, fields, _whole(when, needs), _text(to.text, when), name, "drives", shown, source
    )
    return Drive(
        name=shown,
        to=point,
        to_control=control,
        when=when,
        needs=needs,
        takes=context.seconds(takes) if takes else 0.0,
        only_toward=context.choice(toward, entry.declared.states, "a point") if toward else "",
        statement=own,
    )


def _target(context: Context, entry: Entry, node: Scalar) -> tuple[str, str]:
    """The point or the control that a drive goes to; both empty with the fault reported."""
    points = {fold(point): point for point in entry.declared.states}
    if fold(node.text) in points:
        return points[fold(node.text)], ""
    control = context.names.find(node.text)
    if not points:  # which is told where it is declared
        return "", ""
    if not control or context.names.things[control].form != "control":
        shown = ", ".join(entry.declared.states)
        context.error(
            node, "target", f"`{node.text}` is neither a point nor a control",
            f"Write one of {shown}, or a control whose positions have the same names.",
        )  # fmt: skip
        return "", ""
    points_of = entry.declared.states
    missing = [s for s in context.names.things[control].states if s not in points_of]
    if missing:
        context.error(
            node, "target", f"`{entry.name}` has no point {', '.join(missing)} as `{control}` has",
            f"Give it such points, or write a drive for each position: `to: {points_of[0]}` with "
            f"`when: {control} at {missing[0]}`.",
        )  # fmt: skip
    return "", control


def _free_drives(context: Context, entry: Entry, pattern: Pattern) -> list[Drive]:
    """What moves the surface without needing anything: `falls to DOWN when`."""
    points = {fold(point): point for point in entry.declared.states}
    if not points:  # which is told where it is declared
        return []
    if fold(pattern.argument) not in points:
        context.error(
            pattern.written, "unknown-position", f"there is no point {pattern.argument}",
            f"Write one of {', '.join(points.values())}.",
        )  # fmt: skip
        return []
    point = points[fold(pattern.argument)]
    name = " ".join(pattern.written.text.split()[:1]).casefold() + f" to {point}"
    value, takes = _without_takes(context, pattern.value)
    found = statements.of_pattern(context, entry.fields, pattern._replace(value=value))
    return [Drive(_way_of(name, one), point, "", one, (), takes, "", one) for one in found]


def _way_of(name: str, statement: Statement) -> str:
    """The name of a drive, no two of a surface alike: each named way is a drive of its own."""
    return f"{name} ({statement.name})" if statement.name else name


def _without_takes(context: Context, node: Node) -> tuple[Node, float]:
    """The statement without its `takes`, and the time."""
    if isinstance(node, Scalar | Items):
        return node, 0.0
    kept = tuple(pair for pair in node.pairs if fold(pair[0].text) != "takes")
    times = [value for key, value in node.pairs if fold(key.text) == "takes"]
    takes = times[0] if times else None
    seconds = context.seconds(takes) if isinstance(takes, Scalar) else 0.0
    return node._replace(pairs=kept), seconds


def _whole(when: Statement | None, needs: tuple[Statement, ...]) -> Condition:
    stated = ([when] if when else []) + list(needs)
    return All(tuple(statement.condition for statement in stated))


def _text(to: str, when: Statement | None) -> str:
    return f"to {to} when {when.text}" if when else f"to {to}"
