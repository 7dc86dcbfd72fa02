"""The grammar of conditions: from words to the syntax tree, by recursive descent.

    condition  = timed { "and" timed } | timed { "or" timed }
    timed      = negated { "for" NUMBER TIME-UNIT | "comes" "on" | "goes" "out" }
    negated    = "not" negated | primary
    primary    = "(" condition ")" | several "(" condition { "," condition } ")"
               | "always" | "never" | fact
    several    = "any of" | "all of" | "none of" | "at least" COUNT "of"
    fact       = NAME state | "true" READING comparison | quantifier GROUP state
    quantifier = "any" | "every" | "no" | "both" | "at least" COUNT
    state      = [ "not" ] ( "at" places | order PLACE | "between" PLACE "and" PLACE | WORD
               | "fed" "by" NAME | "otherwise" "lost" )
    places     = PLACE [ { "," PLACE } "or" PLACE ]
    order      = "above" | "below" | "at least" | "at most"

NAME and GROUP are declared names, matched longest first before anything else; PLACE is a position,
point or level, or a number with its unit; WORD is a state word of the thing's kind. `facts` reads
what begins with a name. Written by hand because names with spaces are known only from the book.
"""

from __future__ import annotations

from tellback.book import facts
from tellback.book.conditions import ALWAYS, NEVER, All, Any, AtLeast, Condition, Edge, Held, Not
from tellback.book.cursor import (
    ANY_STATE,
    MOST_CHARACTERS,
    MOST_DEPTH,
    Cursor,
    Fault,
    Origin,
    Wrong,
)
from tellback.book.names import Names
from tellback.book.numbers import duration, whole_number

_STOPS = {"and", "or", ")", ",", ""}


def parse_condition(
    text: str, names: Names, origin: Origin = ANY_STATE
) -> tuple[Condition | None, list[Fault]]:
    """The syntax tree of a condition, or None; and what is wrong in the text.

    With a tree there may still be findings. Offsets count from the start of the text.
    """
    cursor = Cursor(text, names, origin)
    return parse_at(cursor), cursor.faults


def parse_at(cursor: Cursor) -> Condition | None:
    """The syntax tree of the cursor's text, or None; the faults are left in the cursor."""
    if len(cursor.text) > MOST_CHARACTERS:
        message = f"the condition is longer than {MOST_CHARACTERS:,} characters"
        cursor.faults.append(Fault(0, 1, "too-long", message, "Name parts of it as means."))
        return None
    try:
        condition = _Parser(cursor).whole()
    except Wrong as wrong:
        cursor.faults.append(wrong.fault)
        return None
    return None if any(fault.kind == "error" for fault in cursor.faults) else condition


class _Parser:
    """One rule of the grammar per method."""

    def __init__(self, cursor: Cursor) -> None:
        self.cursor = cursor
        self.depth = 0
        self.members: Condition | None = None

    def whole(self) -> Condition:
        condition = self.condition()
        if self.cursor.next():
            raise self.leftover()
        return condition

    def condition(self) -> Condition:
        self.depth += 1
        if self.depth > MOST_DEPTH:
            raise self.cursor.wrong(
                "too-deep", "the brackets are nested too deeply", "Name some parts as means."
            )
        found = self.joined()
        self.depth -= 1
        return found

    def joined(self) -> Condition:
        parts = [self.timed()]
        joint = self.cursor.next()
        if joint not in {"and", "or"}:
            return parts[0]
        while self.cursor.take(joint):
            parts.append(self.timed())
        if self.cursor.next() in {"and", "or"}:
            raise self.cursor.wrong(
                "mixed",
                "`and` and `or` stand side by side, so the sense is open",
                "Put brackets round what belongs together: `(a and b) or c`, or `a and (b or c)`.",
            )
        return All(tuple(parts)) if joint == "and" else Any(tuple(parts))

    def timed(self) -> Condition:
        part = self.negated()
        suffixes = 0
        while True:
            start = self.cursor.at
            if self.cursor.take("for"):
                part = Held(part, duration(self.cursor))
            elif self.cursor.take("comes", "on") or self.cursor.take("goes", "out"):
                part = self.edge(part, start)
            else:
                return part
            suffixes += 1
            if suffixes > 2:
                raise self.cursor.wrong(
                    "suffix", "too many times one after the other", "Leave some out.", start
                )

    def edge(self, part: Condition, start: int) -> Condition:
        word = self.cursor.words[start].folded
        if not self.cursor.origin.edges:
            raise self.cursor.wrong(
                "edge",
                f"`{self.cursor.written(start, start + 2)}` is a moment, not a state: it can only "
                "set or clear a latch",
                "Use it under `set when` or `cleared when` of a latch, and name the latch here.",
                start,
                start + 2,
            )
        rising = word == "comes"
        if part is self.members and isinstance(part, Any):
            return Any(tuple(Edge(member, rising) for member in part.parts))
        return Edge(part, rising)

    def negated(self) -> Condition:
        negations = 0
        while self.cursor.next() == "not":
            self.cursor.at += 1
            negations += 1
            self.cursor.charge(1)
            if negations > 2:
                raise self.cursor.wrong("not", "`not` stands here three times", "Say it plainly.")
        part = self.primary()
        for _ in range(negations):
            part = Not(part)
        return part

    def primary(self) -> Condition:
        cursor = self.cursor
        self.members = None
        if cursor.take("("):
            inner = self.condition()
            self.close()
            self.members = None
            return inner
        if cursor.names.match(cursor.words, cursor.at)[0]:
            return self.fact()
        several = self.several()
        if several is not None:
            self.members = None
            return several
        if cursor.take("always"):
            return ALWAYS
        if cursor.take("never"):
            return NEVER
        return self.fact()

    def several(self) -> Condition | None:
        cursor = self.cursor
        if cursor.take("any", "of"):
            return Any(self.list())
        if cursor.take("all", "of"):
            return All(self.list())
        if cursor.take("none", "of"):
            return Not(Any(self.list()))
        if cursor.next() == "at" and cursor.next(1) == "least" and cursor.next(3) == "of":
            cursor.at += 2
            start = cursor.at
            count = whole_number(cursor)
            cursor.at += 1
            parts = self.list()
            if count > len(parts):
                raise cursor.wrong(
                    "count",
                    f"there are only {len(parts)} in the list",
                    "Correct the number.",
                    start,
                    start + 1,
                )
            return AtLeast(count, parts)
        return None

    def list(self) -> tuple[Condition, ...]:
        if not self.cursor.take("("):
            raise self.cursor.wrong(
                "bracket", "a list in brackets is expected here", "Write `any of (a, b)`."
            )
        parts = [self.condition()]
        while self.cursor.take(","):
            parts.append(self.condition())
        self.close()
        return tuple(parts)

    def close(self) -> None:
        if not self.cursor.take(")"):
            if self.cursor.next():
                raise self.leftover()
            raise self.cursor.wrong(
                "bracket",
                "a bracket is not closed",
                "Close it with `)`. In a YAML list or braces, a text with a comma needs quotes.",
            )

    def fact(self) -> Condition:
        """A fact; where it is wrong, the rest of the condition is still looked at."""
        cursor = self.cursor
        cursor.charge(1)
        start = cursor.at
        try:
            found = facts.fact(cursor)
        except Wrong as wrong:
            if wrong.fault.code == "too-long":
                raise
            cursor.faults.append(wrong.fault)
            cursor.at = max(cursor.at, start)
            self.skip()
            return NEVER
        self.members = found.condition if found.per_member else None
        return found.condition

    def skip(self) -> None:
        """On to the next joint; brackets within are passed over whole."""
        open_brackets = 0
        cursor = self.cursor
        while cursor.next() and (open_brackets or cursor.next() not in _STOPS):
            open_brackets += {"(": 1, ")": -1}.get(cursor.next(), 0)
            cursor.at += 1

    def leftover(self) -> Wrong:
        word = self.cursor.words[self.cursor.at].written
        if word == ")":
            return self.cursor.wrong(
                "bracket", "this bracket closes nothing", "Take it out, or open it."
            )
        if word == ",":
            return self.cursor.wrong(
                "comma",
                "a comma may only stand in a list such as `any of (a, b)`",
                "Write `and` or `or`.",
            )
        mend = "Join statements with `and` or `or`; or check the name and the spelling."
        before = self.cursor.words[self.cursor.at - 1].folded if self.cursor.at else ""
        if before in ("always", "never"):
            mend = f"Only a claim begins with `{before}`: leave it out here."
        message = f"`{word}` does not fit here: the statement before it is complete"
        return self.cursor.wrong("leftover", message, mend)
