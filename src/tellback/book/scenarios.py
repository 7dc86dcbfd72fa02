"""`scenarios/*.yaml`: events on a time line, and what they are expected to bring."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from tellback.book import statements
from tellback.book.conditions import ALWAYS, Condition
from tellback.book.context import Context, scalars
from tellback.book.expansion import members
from tellback.book.fields import Fields, named_bodies, read_fields
from tellback.book.happenings import read_happenings
from tellback.book.model import Procedure, StartingState, Statement
from tellback.book.names import fold
from tellback.book.nodes import Node, Pairs, Scalar
from tellback.book.scenario import Expectation, Happening, Scenario
from tellback.book.times import precision, seconds_of, time_of
from tellback.book.type_file import read_settings_of

_SPANS = re.compile(
    r"(?P<span>\s+(?:from\s+(?P<begins>\d.*?)(?:\s+to\s+(?P<ends>\d.*)|\s+on)"
    r"|to\s+(?P<until>\d.*)|at\s+(?P<at>\d.*)))\s*"
)
"""What stands behind a condition that is expected: the time from, to, or at which it is so."""


def read_scenarios(
    context: Context,
    files: Iterable[Fields],
    starts: tuple[StartingState, ...],
    procedures: tuple[Procedure, ...],
) -> tuple[Scenario, ...]:
    """The scenarios of all files in order, members of `for each` written out."""
    found: dict[str, Scenario] = {}
    for _, name, body in named_bodies(context, files, "scenarios", "scenario"):
        for member in members(context, name, body):
            scenario = _scenario(context, member.name, member.body, starts, procedures)
            if scenario is not None and found.setdefault(fold(scenario.name), scenario) != scenario:
                other = found[fold(scenario.name)].place
                message = f"`{scenario.name}` is declared twice; it is already in {other.file}"
                context.error(name, "double-name", f"{message}, line {other.line}", "Rename one.")
    return tuple(found.values())


def _scenario(
    context: Context,
    name: Scalar,
    body: Node,
    starts: tuple[StartingState, ...],
    procedures: tuple[Procedure, ...],
) -> Scenario | None:
    text = context.name(name)
    fields = read_fields(context, body, "scenario", f"`{text or name.text}`")
    start = fields.scalar("from") if fields else None
    if fields is None or start is None or not text:
        return None
    changes = fields.get("with")
    ends = fields.scalar("ends")
    source = statements.full_source(context, fields.scalar("source"))
    expected = (_expectation(context, node, source) for node in scalars(fields.get("expects")))
    return Scenario(
        name=text,
        start=context.choice(start, tuple(s.name for s in starts), "a starting state"),
        changes=read_settings_of(context, changes, failures=True)
        if isinstance(changes, Pairs)
        else (),
        happenings=read_happenings(context, fields.get("steps"), procedures, source),
        expectations=tuple(found for found in expected if found is not None),
        ends=time_of(context, ends) if ends else None,
        source=source,
        whys=statements.reasons(context, fields),
        applies=statements.effectivity(context, fields),
        note=fields.text("note"),
        place=name.place,
    )


# -- what is expected -------------------------------------------------------------------------


def _expectation(context: Context, node: Scalar, source: str) -> Expectation | None:
    first, _, rest = node.text.strip().partition(" ")
    if first.casefold() in {"always", "never"} and rest:
        condition = context.condition(node, base=node.text.index(rest))
        return _expected(node, condition, first.casefold(), source)
    span = _span(node.text)
    if span is None:
        mend = "Write `C from 41 s to 63 s`, `C from 41 s on`, `C to 63 s`, `C at 5 s`, "
        message = f"`{node.text}` does not say when it is so"
        context.error(node, "expectation", message, f"{mend}`always C` or `never C`.")
        return None
    condition = context.condition(node, end=span.start())
    written = _times(span)
    times = {key: time_of(context, node, text) for key, text in written.items()}
    within = max(map(precision, written.values()))
    if "at" in times:
        return _expected(node, condition, "at", source, times["at"], None, within)
    begins = times.get("begins") or None  # from 0 s is from the beginning
    ends = times.get("until", times.get("ends"))
    return _expected(node, condition, "from", source, begins, ends, within)


def _span(text: str) -> re.Match[str] | None:
    """The time at the end of what is expected; a position can stand before it: `at 18 at 40 s`."""
    spans = [_SPANS.match(text, i) for i, letter in enumerate(text) if letter.isspace()]
    found = [span for span in spans if span and span.end() == len(text)]
    whole = (s for s in found if s["begins"])
    sound = (s for s in found if all(seconds_of(t.strip()) is not None for t in _times(s).values()))
    return next(whole, None) or next(sound, found[0] if found else None)


def _times(span: re.Match[str]) -> dict[str, str]:
    """The times of a span as they are written."""
    return {key: text for key, text in span.groupdict().items() if key != "span" and text}


def _expected(
    node: Scalar,
    condition: Condition | None,
    form: str,
    source: str,
    begins: float | None = None,
    ends: float | None = None,
    within: float = 0.0,
) -> Expectation | None:
    if condition is None:
        return None
    statement = Statement(condition, node.text, node.place, "expects", "", source)
    return Expectation(statement, form, begins, ends, within)


# -- all of a scenario ------------------------------------------------------------------------


def statements_of_happening(happening: Happening) -> Iterator[Statement]:
    """What a step of a scenario states."""
    if happening.when is not None:
        yield happening.when
    if happening.statement.condition != ALWAYS:
        yield happening.statement


def statements_in_scenario(scenario: Scenario) -> Iterator[Statement]:
    """Every condition that a scenario states, in the order written."""
    for happening in scenario.happenings:
        yield from statements_of_happening(happening)
    yield from (expectation.statement for expectation in scenario.expectations)
