"""Every key of the language, per kind, with its type and what it means.

The one table behind the reader's "unknown key" errors, the JSON Schema and the reference page.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from tellback.book.names import fold, near


class Key(NamedTuple):
    """A key: its name (POSITION stands for a word of the book's own), type and help text.

    `of` is the kind, or the type, of what a list of rows or a mapping of names holds.
    """

    name: str
    type: str
    help: str
    needed: bool = False
    of: str = ""


class Found(NamedTuple):
    """A key as looked up: what stands for POSITION, and whether ` any of` was added."""

    key: Key
    argument: str = ""
    any_of: bool = False


TYPES: Mapping[str, str] = {
    "text": "a text",
    "yes or no": "yes or no",
    "number": "a number",
    "time": "a time such as 24 s",
    "words": "a list of words, such as [OFF, ON]",
    "pairs": "pairs such as {RESET: OFF}",
    "statement": "a condition, a mapping with `when`, or a list of such mappings",
    "conditions": "a list of supplies by name, or of conditions",
    "rows": "a list of mappings",
    "feeds": "a list of sources",
    "named": "a mapping of names",
    "settings": "a mapping of names to states",
    "reasons": "a list of mappings with a kind of reason",
    "path": "a condition or a list of them",
    "steps": "a list of steps, each after a dash",
}

_SOURCE = Key("source", "text", "manual reference: section, page, revision")
_WHY = Key("why", "reasons", "reasons, each with its kind and source", of="reason")
_APPLIES = Key("applies to", "words", "the aeroplanes it applies to; without it, all")
_NOTE = Key("note", "text", "free text")
_EACH = Key("for each", "words", "written once for several members: n in [1, 2]")
_WAS = Key("was", "text", "former name, by which `compare` pairs it")
_BACKING = (_SOURCE, _WHY, _APPLIES, _NOTE)
_THING = (
    Key("also called", "words", "other names that conditions may use"),
    Key("kind", "text", "what it is in words: pump, bus, light ..."),
    *_BACKING,
    _EACH,
    _WAS,
)
_FAILS = Key("fails", "words", "its failure modes")
_NEEDS = Key("needs", "conditions", "supplies by name (live), or conditions; all are needed")
_WHEN = Key("when", "text", "the condition")
_NEEDED_WHEN = Key("when", "text", "the condition", needed=True)

SECTIONS: Mapping[str, str] = {
    "controls": "control",
    "readings": "reading",
    "situations": "situation",
    "means": "means",
    "units": "unit",
    "supplies": "supply",
    "surfaces": "surface",
    "latches": "latch",
    "indications": "indication",
}

REASONS: tuple[str, ...] = (
    "regulation",
    "accident report",
    "manufacturer",
    "computed",
    "instructor's view",
)

PROCEDURES: tuple[str, ...] = ("flow", "normal checklist", "non-normal checklist", "memory items")

BOUNDS: tuple[str, ...] = ("at most", "at least", "between", "at")

STEPS: tuple[str, ...] = ("do", "check", "wait", "if", "say")

HAPPENINGS: tuple[str, ...] = ("do", "set", "carry out", "ask", "say", "expect")

KEYS: Mapping[str, tuple[Key, ...]] = {
    "type file": (
        Key("type", "text", "name of the aeroplane type", needed=True),
        Key("manual", "text", "the manual the book follows"),
        Key("revision", "text", "its revision"),
        Key("variants", "named", "variants with their serial numbers", needed=True, of="variant"),
        Key(
            "options",
            "named",
            "optional equipment with the serial numbers that have it",
            of="variant",
        ),
        Key(
            "service bulletins",
            "named",
            "bulletins with the serial numbers that have them",
            of="variant",
        ),
        Key("groups", "named", "names for several things together", of="words"),
        Key(
            "starting states",
            "named",
            "states to start from; what is not stated is normal",
            of="settings",
        ),
        Key("impossible", "rows", "conditions that can never be", of="impossible"),
        _NOTE,
    ),
    "chapter file": (
        Key("chapter", "text", "ATA 100 chapter number", needed=True),
        Key("title", "text", "its title", needed=True),
        Key("source", "text", "stands before every source of the chapter"),
        *(Key(s, "named", f"each {form} by name", of=form) for s, form in SECTIONS.items()),
        Key("groups", "named", "names for several things together", of="words"),
        Key("impossible", "rows", "conditions that can never be", of="impossible"),
        Key("sheets", "named", "what `draw` puts on a sheet, in order or in rows", of="sheet"),
        Key("not drawn", "words", "what `draw` leaves out"),
        _NOTE,
    ),
    "variant": (
        Key("serials", "text", "serial numbers: 1-12, 15"),
        _NOTE,
    ),
    "impossible": (_NEEDED_WHEN, *_BACKING, _EACH),
    "statement": (_NEEDED_WHEN, *_BACKING),
    "control": (
        *_THING,
        Key("positions", "words", "its positions in order, at least two", needed=True),
        Key("normally", "text", "its normal position; without it, the first"),
        Key("guarded", "yes or no", "whether it is guarded"),
        Key("springs", "pairs", "let go at a position, it returns to another: {RESET: OFF}"),
        Key("drops to POSITION when", "statement", "moved by the aeroplane, not by hand"),
        Key("cannot go to POSITION when", "statement", "a lock"),
        _FAILS,
    ),
    "reading": (
        *_THING,
        Key("unit", "text", "its unit of measurement", needed=True),
        Key("range", "text", "the least and the greatest value: 0 to 400", needed=True),
        Key("normally", "text", "normal value of a reading from outside"),
        Key(
            "follows",
            "rows",
            "values it follows at once; the first row that applies counts",
            of="follows row",
        ),
        Key(
            "moves",
            "rows",
            "values it moves to at a rate; the first row that applies counts",
            of="moves row",
        ),
        Key("starts at", "text", "where a moving reading is in the starting states"),
        _FAILS,
    ),
    "follows row": (
        Key("reads", "text", "the value", needed=True),
        _WHEN,
        *_BACKING,
    ),
    "moves row": (
        Key("to", "text", "the value it moves to", needed=True),
        Key("rate", "text", "units per second, or such as 4 psi a minute", needed=True),
        _WHEN,
        *_BACKING,
    ),
    "situation": (*_THING, Key("normally", "yes or no", "whether it is normally so")),
    "means": (*_THING, Key("when", "statement", "when it is so", needed=True)),
    "unit": (
        *_THING,
        _NEEDS,
        Key("runs when", "statement", "without it, it runs whenever available"),
        Key("shed when", "statement", "taken off, as if a need were missing"),
        Key("feeds one", "words", "gives to the first of these that would otherwise be lost"),
        _FAILS,
    ),
    "supply": (
        *_THING,
        Key("levels", "words", "its levels, lowest first; without it [lost, normal]"),
        Key(
            "fed by",
            "feeds",
            "its sources in order; the first that delivers is the feeder",
            of="feed",
        ),
        Key("shed when", "statement", "taken off"),
        _FAILS,
    ),
    "feed": (
        Key("from", "text", "the unit or supply that feeds", needed=True),
        Key("through", "path", "contactors and valves on the way"),
        _WHEN,
        Key("delivers", "text", "the level it gives; without it, the highest"),
        *_BACKING,
    ),
    "surface": (
        *_THING,
        Key("points", "words", "its named points in order of travel, at least two", needed=True),
        Key("starts at", "text", "where no drive acts in a starting state"),
        Key("drives", "named", "what moves it, by name; the first that applies acts", of="drive"),
        Key("falls to POSITION when", "statement", "falls there, needing nothing"),
        Key("springs to POSITION when", "statement", "springs there, needing nothing"),
        _FAILS,
    ),
    "drive": (
        Key("to", "text", "a point, or a control whose positions have the same names", needed=True),
        _WHEN,
        _NEEDS,
        Key("takes", "text", "time for the whole travel; without it, at once"),
        Key("only toward", "text", "acts only if that point lies its way"),
        *_BACKING,
    ),
    "free drive": (
        _NEEDED_WHEN,
        Key("takes", "text", "time for the whole travel; without it, at once"),
        *_BACKING,
    ),
    "latch": (
        *_THING,
        Key("set when", "statement", "what sets it", needed=True),
        Key("cleared when", "statement", "what clears it", needed=True),
        Key("set wins", "yes or no", "whether setting wins; without it, clearing does"),
    ),
    "indication": (
        *_THING,
        Key("level", "text", "warning, caution, advisory or status"),
        _NEEDS,
        Key("shown when", "statement", "what brings it on"),
        Key("inhibited when", "statement", "what keeps it off"),
        Key("reset when", "statement", "cancelled until its condition has gone out"),
        Key("shows", "text", "the reading that a gauge shows"),
        _FAILS,
    ),
    "claim": (
        Key("claim", "text", "always C, never C, if C then C, or C only if C", needed=True),
        Key("given", "words", "no failures, at most N failures, or conditions"),
        Key("from", "text", "only runs from this starting state"),
        *_BACKING,
        _EACH,
    ),
    "procedure file": (
        Key("title", "text", "what its procedures are about"),
        Key("source", "text", "stands before every source of the file"),
        Key("procedures", "named", "each procedure by name", needed=True, of="procedure"),
        _NOTE,
    ),
    "procedure": (
        _EACH,
        _WAS,
        Key("kind", "text", f"{', '.join(PROCEDURES[:-1])} or {PROCEDURES[-1]}", needed=True),
        *_BACKING,
        Key("called for when", "statement", "when it is called for"),
        Key("done from", "words", "the starting states it is done from"),
        Key("secures", "path", "what it must have brought about at its end"),
        Key("steps", "steps", "its items in order", needed=True, of="step"),
    ),
    "step": (
        Key("do", "text", "controls and where to: left fuel lever at CUTOFF"),
        Key("check", "text", "a condition to look at"),
        Key("wait", "text", "a time such as 24 s, or a condition to wait for"),
        Key("if", "text", "a condition: `then` is done if it is so, `otherwise` if not"),
        Key("say", "text", "what the book does not follow: a call, a limit, what to plan for"),
        Key("then", "steps", "steps if it is so", of="step"),
        Key("otherwise", "steps", "steps if it is not so", of="step"),
        Key("from memory", "yes or no", "whether it is done without the list"),
        *_BACKING,
    ),
    "scenario file": (
        Key("title", "text", "what its scenarios are about"),
        Key("source", "text", "stands before every source of the file"),
        Key("scenarios", "named", "each scenario by name", needed=True, of="scenario"),
        _NOTE,
    ),
    "scenario": (
        _EACH,
        *_BACKING,
        Key("from", "text", "the starting state it begins in", needed=True),
        Key("with", "settings", "what is otherwise than in the starting state"),
        Key("steps", "steps", "what happens, in order", needed=True, of="happening"),
        Key("expects", "words", "what it brings: C from 41 s to 63 s, C at 5 s, always C, never C"),
        Key("ends", "text", "when it ends; without it, when all has happened and settled"),
    ),
    "happening": (
        Key("at", "text", "when it comes, from the beginning: 38 s; begins a thread of steps"),
        Key("when", "text", "it comes as soon as this is so, after the step before"),
        Key("later", "text", "so long after `when`, or after the step before: 5 s"),
        Key("do", "text", "controls and where to: gear lever at UP"),
        Key("held", "text", "how long a control that springs back is held; without it, 1 s"),
        Key("set", "settings", "yes, no, 250 kt, to 250 kt in 60 s, a failure, works again"),
        Key("carry out", "text", "a procedure by name, step after step"),
        Key("pace", "text", "the time each of its steps takes; without it, 3 s"),
        Key("ask", "text", "a question to put to the class now"),
        Key("say", "text", "what happens that the book does not follow"),
        Key("expect", "text", "a condition that must hold now"),
        *_BACKING,
    ),
    "numbers file": (
        Key("title", "text", "what its limits are about", needed=True),
        Key("source", "text", "stands before every source of the file"),
        Key("limits", "named", "each limit by name", needed=True, of="limit"),
        _NOTE,
    ),
    "limit": (
        _EACH,
        Key("of", "words", "the reading, or the readings, that it limits"),
        Key("unit", "text", "`none` for a plain number that is of no reading"),
        Key("at most", "text", "the greatest value allowed, with its unit: 165 kt"),
        Key("at least", "text", "the least value allowed, with its unit"),
        Key("between", "text", "the least and the greatest, both allowed: 90 and 110 V"),
        Key("at", "text", "the value at which something is to be or to happen"),
        Key("when", "text", "the condition under which it holds; without it, always"),
        Key("case", "text", "the case it is for, in words, where the book has no condition for it"),
        Key("from memory", "yes or no", "whether one must know it by heart"),
        *_BACKING,
    ),
    "reason": (
        *(Key(kind, "text", "a reason of this kind") for kind in REASONS),
        Key("source", "text", "where it stands"),
    ),
}


def look_up(kind: str, text: str) -> Found | None:
    """The key of a kind that the text is, with what stands for POSITION; None if there is none."""
    folded = fold(text)
    plain, patterns = _TABLES[kind]
    if folded in plain:
        return Found(plain[folded])
    shorter = folded.removesuffix(" any of")
    if shorter != folded and shorter in plain and plain[shorter].type == "statement":
        return Found(plain[shorter], any_of=True)
    for pattern, key in patterns:
        match = pattern.fullmatch(" ".join(text.split()))
        if match:
            return Found(key, match[1], any_of=bool(match[2]))
    return None


def near_keys(kind: str, text: str) -> tuple[str, ...]:
    """Up to three keys of the kind that look like the text."""
    return near(fold(text), {fold(key.name): key.name for key in KEYS[kind]})


def sections_with(text: str) -> tuple[str, ...]:
    """The sections of a chapter whose things do have such a key."""
    return tuple(section for section, form in SECTIONS.items() if look_up(form, text))


def _table(
    keys: tuple[Key, ...],
) -> tuple[dict[str, Key], list[tuple[re.Pattern[str], Key]]]:
    plain = {key.name: key for key in keys if "POSITION" not in key.name}
    patterns = [
        (re.compile(key.name.replace("POSITION", "(.+?)") + "( any of)?", re.IGNORECASE), key)
        for key in keys
        if "POSITION" in key.name
    ]
    return plain, patterns


_TABLES = {kind: _table(keys) for kind, keys in KEYS.items()}
