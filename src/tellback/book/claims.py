"""`claims.yaml`: what the instructor tells the class, as conditions to prove."""

from __future__ import annotations

from typing import NamedTuple

from tellback.book import statements
from tellback.book.conditions import Any, Condition, Not
from tellback.book.context import Context, scalars
from tellback.book.expansion import members
from tellback.book.fields import Fields, read_fields
from tellback.book.model import Claim, StartingState
from tellback.book.names import fold, words_of
from tellback.book.nodes import Items, Node, Scalar
from tellback.book.numbers import split_number


def read_claims(
    context: Context, node: Node | None, starts: tuple[StartingState, ...]
) -> tuple[Claim, ...]:
    """The claims of the file; `node` is its list."""
    context.source_prefix = ""
    if node is None or (isinstance(node, Scalar) and not node.text.strip()):
        return ()
    if not isinstance(node, Items):
        context.error(node, "shape", "the file is not a list of claims", "Write `- claim: ...`.")
        return ()
    found = []
    for item in node.items:
        name = Scalar(item.source, item.line, item.column, "", "", item.line, item.column)
        for member in members(context, name, item):
            claim = _claim(context, member.body, starts)
            found += [claim] if claim else []
    return tuple(found)


def _claim(context: Context, node: Node, starts: tuple[StartingState, ...]) -> Claim | None:
    fields = read_fields(context, node, "claim", "a claim")
    text = fields.scalar("claim") if fields else None
    if fields is None or text is None:
        return None
    condition = _claimed(context, text)
    failures, given = _given(context, fields)
    start = fields.scalar("from")
    names = tuple(s.name for s in starts)
    if condition is None:
        return None
    return Claim(
        text=text.text,
        condition=condition,
        given=tuple(c for _, c in given),
        given_text=tuple(t for t, _ in given),
        failures=failures,
        start=context.choice(start, names, "a starting state") if start else "",
        source=statements.full_source(context, fields.scalar("source")),
        whys=statements.reasons(context, fields),
        applies=statements.effectivity(context, fields),
        place=text.place,
    )


class Shape(NamedTuple):
    """How a claim is built: `always`, `never` or `implies`, and where its conditions stand.

    A form beginning with `?` is a fault, the rest of it the message.
    """

    form: str
    spans: tuple[tuple[int, int | None], ...] = ()


def shape_of(text: str) -> Shape:
    """The form of a claim and the spans of its conditions."""
    words = words_of(text)
    first = words[0].folded if words else ""
    if first in {"always", "never"}:
        return Shape(first, ((words[0].end, None),))
    for i, word in enumerate(words):
        if first == "if" and word.folded == "then":
            return Shape("implies", ((words[0].end, word.offset), (word.end, None)))
        following = words[i + 1].folded if i + 1 < len(words) else ""
        if first != "if" and (word.folded, following) == ("only", "if"):
            return Shape("implies", ((0, word.offset), (words[i + 1].end, None)))
    if first == "if":
        return Shape("?`if` stands here without `then`")
    return Shape("?the claim does not say whether it is so always, never or when")


def put_together(shape: Shape, conditions: tuple[Condition, ...]) -> Condition:
    """What must hold in every possible state for a claim of that shape to be true."""
    if shape.form == "always":
        return conditions[0]
    if shape.form == "never":
        return Not(conditions[0])
    return Any((Not(conditions[0]), conditions[1]))


def _claimed(context: Context, node: Scalar) -> Condition | None:
    shape = shape_of(node.text)
    if shape.form.startswith("?"):
        mend = "Write `always C`, `never C`, `if C then D` or `C only if D`."
        context.error(node, "claim", shape.form[1:], mend)
        return None
    found = [context.condition(node, base=start, end=end) for start, end in shape.spans]
    conditions = tuple(condition for condition in found if condition is not None)
    return put_together(shape, conditions) if len(conditions) == len(found) else None


def _given(context: Context, fields: Fields) -> tuple[int | None, list[tuple[str, Condition]]]:
    """How many failures at most (None: any number), and the other conditions with their texts."""
    failures: int | None = None
    found = []
    for node in scalars(fields.get("given")):
        words = fold(node.text).split()
        if words == ["no", "failures"]:
            failures = 0
        elif words in (["none"], ["nothing"]):
            message = f"`{node.text}` does not say of what there is none"
            context.error(node, "given", message, "Write `no failures`, or leave `given` out.")
        elif words[:2] == ["at", "most"] and words[3:] in (["failure"], ["failures"]):
            failures = _count(context, node, words[2])
        elif (condition := context.condition(node)) is not None:
            found.append((node.text, condition))
    return failures, found


def _count(context: Context, node: Scalar, word: str) -> int:
    number = number_of_failures(word)
    if number is None:
        context.error(node, "number", no_number_of_failures(word), IN_DIGITS)
    return number or 0


MOST_FAILURES = 999
IN_DIGITS = "Write it in digits: `at most 1 failure`."


def number_of_failures(word: str) -> int | None:
    """The number that a limit of failures has in this word; None if it is none, or too large."""
    split = split_number(word)
    if split is None or split[1] or split[0].denominator != 1:
        return None
    return int(split[0]) if 0 <= split[0] <= MOST_FAILURES else None


def no_number_of_failures(word: str) -> str:
    """Says that the word is no such number."""
    return f"`{word}` is not a number of failures from 0 to {MOST_FAILURES}"
