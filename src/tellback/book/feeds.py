"""The rows of `fed by`: source, the path through contactors and valves, condition, level."""

from __future__ import annotations

from tellback.book import statements
from tellback.book.conditions import ALWAYS, All, Condition, State
from tellback.book.context import Context, scalars
from tellback.book.entries import Entry
from tellback.book.fields import read_fields
from tellback.book.model import Feed, Statement
from tellback.book.names import words_of
from tellback.book.nodes import Items, Node, Scalar


def read_feeds(context: Context, entry: Entry) -> tuple[Feed, ...]:
    """The feeds of a supply in order."""
    node = entry.fields.get("fed by")
    if node is None:
        return ()
    rows = node.items if isinstance(node, Items) else (node,)
    source = statements.full_source(context, entry.fields.scalar("source"))
    found = [_feed(context, entry, row, source) for row in rows]
    return tuple(feed for feed in found if feed is not None)


def _feed(context: Context, entry: Entry, row: Node, source: str) -> Feed | None:
    if isinstance(row, Scalar):
        return _short_feed(context, entry, row, source)
    fields = read_fields(context, row, "feed", "a row of `fed by`")
    origin = fields.scalar("from") if fields else None
    feeder = context.thing(origin, "unit", "supply") if origin else ""
    if fields is None or not feeder:
        return None
    path: list[Statement] = []
    for node in scalars(fields.get("through")):
        path += statements.several(context, node, "through", "unit", source)
    when = statements.row_when(context, fields, "fed by", source)
    level = fields.scalar("delivers")
    levels = entry.declared.states
    delivers = context.choice(level, levels, "one of the levels") if level else levels[-1]
    if level and delivers and delivers == levels[0]:
        context.error(
            level,
            "level",
            f"{delivers} is the lowest level: nothing is delivered",
            "Name a higher.",
        )
    whole = _whole(context, feeder, path, when)
    text = _text(feeder, path, when)
    own = statements.stated(context, fields, whole, text, fields.node, "fed by", "", source)
    return Feed(feeder, tuple(path), when, delivers or levels[-1], own)


def _short_feed(context: Context, entry: Entry, row: Scalar, source: str) -> Feed | None:
    """A row written as `SOURCE through CONTACTOR`."""
    words = words_of(row.text)
    name, end = context.names.match(words, 0)
    if not name or (end < len(words) and words[end].folded != "through"):
        if not name:
            context.thing(row._replace(text=_before_through(row.text)), "unit", "supply")
        else:
            context.error_at(
                row, "leftover", words[end].offset, f"`{words[end].written}` does not fit here",
                "Write `SOURCE through CONTACTOR`, or a mapping with `from` and `when`.",
            )  # fmt: skip
        return None
    if context.names.things[name].form not in {"unit", "supply"}:
        context.thing(row._replace(text=name), "unit", "supply")
        return None
    path: list[Statement] = []
    if end < len(words):
        base = words[end].end
        path = statements.several(context, row, "through", "unit", source, base)
    whole = _whole(context, name, path, None)
    told = statements.by_own_names(row.text, whole)
    own = Statement(whole, told, row.place, "fed by", "", source)
    return Feed(name, tuple(path), None, entry.declared.states[-1], own)


def _before_through(text: str) -> str:
    return text.split(" through ")[0].strip()


def _whole(
    context: Context, feeder: str, path: list[Statement], when: Statement | None
) -> Condition:
    """Source on, path closed and condition met, as one condition."""
    on = "running" if context.names.things[feeder].form == "unit" else "live"
    conditions = [State(feeder, on), *(step.condition for step in path)]
    return All(tuple(conditions + ([when.condition] if when else [])))


def _text(feeder: str, path: list[Statement], when: Statement | None) -> str:
    text = feeder
    if path:
        text += " through " + " and ".join(step.text for step in path)
    return f"{text} when {when.text}" if when and when.condition != ALWAYS else text
