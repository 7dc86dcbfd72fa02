"""Second pass: each thing with its statements."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any as Anything

from tellback.book import statements
from tellback.book.context import Context, scalars
from tellback.book.cursor import Origin
from tellback.book.entries import Entry
from tellback.book.feeds import read_feeds
from tellback.book.fields import Fields, Pattern, read_fields
from tellback.book.model import (
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Row,
    Situation,
    Statement,
    Supply,
    Thing,
    Unit,
)
from tellback.book.names import fold
from tellback.book.nodes import Items, Scalar
from tellback.book.rates import rate_of
from tellback.book.surfaces import read_surface

LEVELS = ("warning", "caution", "advisory", "status")


def read_thing(context: Context, entry: Entry) -> Thing:
    """The thing that an entry declares; what is wrong in its statements is reported."""
    context.source_prefix = entry.source
    return _BUILDERS[entry.declared.form](context, entry, _common(context, entry))


def _common(context: Context, entry: Entry) -> dict[str, Anything]:
    """What every thing has."""
    fields = entry.fields
    return {
        "name": entry.name,
        "place": entry.named.place,
        "chapter": entry.chapter,
        "form": entry.declared.kind,
        "also": entry.declared.also,
        "source": statements.full_source(context, fields.scalar("source")),
        "whys": statements.reasons(context, fields),
        "applies": statements.effectivity(context, fields),
        "was": fields.text("was"),
        "note": fields.text("note"),
        "fails": entry.declared.fails,
        "family": entry.family,
        "index": entry.index,
    }


def _control(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    fields, positions = entry.fields, entry.declared.states
    normally = fields.scalar("normally")
    first = positions[0] if positions else ""
    chosen = context.choice(normally, positions, "one of the positions") if normally else first
    return Control(
        **common,
        positions=positions,
        normally=chosen or first,
        guarded=context.yes(fields.scalar("guarded")),
        springs=_springs(context, fields, positions),
        drops=_by_position(context, fields, "drops to POSITION when", positions),
        barred=_by_position(context, fields, "cannot go to POSITION when", positions),
    )


def _springs(
    context: Context, fields: Fields, positions: tuple[str, ...]
) -> tuple[tuple[str, str], ...]:
    node = fields.get("springs")
    found = []
    for start, end in node.pairs if node and not isinstance(node, Scalar | Items) else ():
        assert isinstance(end, Scalar)
        pair = tuple(context.choice(s, positions, "one of the positions") for s in (start, end))
        if all(pair) and pair[0] == pair[1]:
            context.error(start, "springs", f"{pair[0]} cannot spring to itself", "Name another.")
        elif all(pair):
            found.append((pair[0], pair[1]))
    return tuple(found)


def _by_position(
    context: Context, fields: Fields, key: str, positions: tuple[str, ...]
) -> tuple[tuple[str, Statement], ...]:
    found: list[tuple[str, Statement]] = []
    for pattern in fields.under(key):
        position = position_of(context, pattern, positions)
        for statement in statements.of_pattern(context, fields, pattern):
            found.append((position, statement))
    return tuple(found)


def position_of(context: Context, pattern: Pattern, positions: tuple[str, ...]) -> str:
    """The position named within a key such as `drops to DOWN when`."""
    known = {fold(position): position for position in positions}
    if positions and fold(pattern.argument) not in known:
        context.error(
            pattern.written, "unknown-position",
            f"there is no position {pattern.argument}", f"Write one of {', '.join(positions)}.",
        )  # fmt: skip
    return known.get(fold(pattern.argument), "")


def _reading(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    fields, declared = entry.fields, entry.declared
    follows = _rows(context, entry, "follows", "follows row", "reads")
    moves = _rows(context, entry, "moves", "moves row", "to")
    if follows and moves:
        context.error(
            fields.node, "two-natures", f"`{entry.name}` has both `follows` and `moves`",
            "A reading either follows at once or moves at a rate: take one out.",
        )  # fmt: skip
    return Reading(
        **common,
        unit=declared.unit,
        low=declared.low,
        high=declared.high,
        normally=_normal_value(context, entry, bool(follows), bool(moves)),
        follows=follows,
        moves=moves,
    )


def _normal_value(context: Context, entry: Entry, follows: bool, moves: bool) -> float:
    """`starts at` for a moving reading, else `normally`; without it 0, or the end nearest to 0."""
    fields, declared = entry.fields, entry.declared
    right, wrong = ("starts at", "normally") if moves else ("normally", "starts at")
    misplaced = fields.scalar(wrong) or (fields.scalar("normally") if follows else None)
    if misplaced is not None:
        mend = "Take it out." if follows else f"Write `{right}`."
        message = "this reading follows its rows" if follows else f"it has `{right}` instead"
        context.error(misplaced, "misplaced", f"`{entry.name}`: {message}", mend)
    node = fields.scalar(right)
    if node is not None:
        return context.number(node, declared)
    return min(max(0.0, declared.low), declared.high)


def _rows(context: Context, entry: Entry, key: str, kind: str, value: str) -> tuple[Row, ...]:
    node = entry.fields.get(key)
    source = statements.full_source(context, entry.fields.scalar("source"))
    found = []
    for item in node.items if isinstance(node, Items) else ():
        fields = read_fields(context, item, kind, f"a row of `{key}`")
        number = fields.scalar(value) if fields else None
        if fields is None or number is None:
            continue
        when = statements.row_when(context, fields, key, source)
        found.append(
            Row(
                context.number(number, entry.declared),
                when,
                _rate(context, fields, kind, entry.declared.unit),
            )
        )
    return tuple(found)


def _rate(context: Context, fields: Fields, kind: str, unit: str) -> float:
    node = fields.scalar("rate")
    if kind != "moves row" or node is None:
        return 0.0
    return rate_of(context, node, unit, node.text, alone=True)


def _situation(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    return Situation(**common, normally=context.yes(entry.fields.scalar("normally")))


def _means(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    return Means(**common, ways=statements.ways(context, entry.fields, "when"))


def _unit(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    fields = entry.fields
    fed = [context.thing(node, "supply") for node in scalars(fields.get("feeds one"))]
    return Unit(
        **common,
        needs=statements.needs(context, fields),
        ways=statements.ways(context, fields, "runs when"),
        shed=statements.ways(context, fields, "shed when"),
        feeds_one=tuple(name for name in fed if name),
    )


def _supply(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    return Supply(
        **common,
        levels=entry.declared.states,
        feeds=read_feeds(context, entry),
        shed=statements.ways(context, entry.fields, "shed when"),
    )


def _latch(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    moments = Origin(edges=True)
    return Latch(
        **common,
        sets=statements.ways(context, entry.fields, "set when", moments),
        clears=statements.ways(context, entry.fields, "cleared when", moments),
        set_wins=context.yes(entry.fields.scalar("set wins")),
    )


def _indication(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    fields = entry.fields
    level, shows = fields.scalar("level"), fields.scalar("shows")
    return Indication(
        **common,
        level=context.choice(level, LEVELS, "a level") if level else "",
        ways=statements.ways(context, fields, "shown when"),
        inhibits=statements.ways(context, fields, "inhibited when"),
        resets=statements.ways(context, fields, "reset when"),
        needs=statements.needs(context, fields),
        shows=context.thing(shows, "reading") if shows else "",
    )


def _surface(context: Context, entry: Entry, common: dict[str, Anything]) -> Thing:
    return read_surface(context, entry, common)


_BUILDERS: Mapping[str, Callable[[Context, Entry, dict[str, Anything]], Thing]] = {
    "control": _control,
    "reading": _reading,
    "situation": _situation,
    "means": _means,
    "unit": _unit,
    "supply": _supply,
    "surface": _surface,
    "latch": _latch,
    "indication": _indication,
}
