"""A condition as it is told: what all must be so, and where there is a choice."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tellback.book.conditions import (
    All,
    Any,
    AtLeast,
    Condition,
    Held,
    Not,
    places_of,
)
from tellback.book.english import either, listed, time_text
from tellback.book.names import Names
from tellback.book.phrases import by_group, phrase, tight

ALL, EITHER, NEITHER = "all", "either", "neither"


@dataclass(frozen=True, slots=True)
class Said:
    """What is so: a `text`, or `parts` with a `joint`: all, either, neither, at least N of them.

    Without parts `all` is always so, and `either` never.
    """

    text: str = ""
    joint: str = ""
    parts: tuple[Said, ...] = ()


def said(condition: Condition, names: Names) -> Said:
    """A condition in the words of the book; what is said of a group is one text."""
    if is_one_text(condition, names):
        return Said(phrase(condition, names))
    match condition:
        case All(parts):
            return joined(ALL, _said(parts, names))
        case Any(parts):
            return joined(EITHER, _said(parts, names))
        case AtLeast(count, parts):
            return Said("", f"at least {count}", _said(parts, names))
        case Not(Any(parts) as choice) if not is_one_text(choice, names):
            return Said("", NEITHER, _said(parts, names))
        case Held():
            return Said(_held(condition, names))
        case Not(Held() as held):
            return Said(f"not ({_held(held, names)})")
    return Said(phrase(condition, names))


def _held(condition: Held, names: Names) -> str:
    return f"{tight(condition.part, names)} for {time_text(condition.seconds)}"


def _said(parts: Iterable[Condition], names: Names) -> tuple[Said, ...]:
    return tuple(said(part, names) for part in parts)


def is_one_text(condition: Condition, names: Names) -> bool:
    """Whether it is said of a group, or of several places of one thing."""
    return bool(by_group(condition, names) or places_of(condition))


def joined(joint: str, parts: Iterable[Said]) -> Said:
    """Parts joined by `all` or `either`; a part joined alike gives its own, one stands alone."""
    own = [inner for part in parts for inner in (part.parts if part.joint == joint else (part,))]
    return own[0] if len(own) == 1 else Said("", joint, tuple(own))


def in_words(said: Said) -> str:
    """What is so, in words: its parts one after the other, a choice with `either`."""
    return _all(said.parts) if said.joint == ALL else _part(said)


def _all(parts: Sequence[Said]) -> str:
    texts = [_part(part) for part in parts]
    if not texts:
        return "always"
    loose = len(texts) > 1 and any(part.joint or " or " in part.text for part in parts)
    return f"{', '.join(texts[:-1])}, and {texts[-1]}" if loose else listed(texts)


def _part(said: Said) -> str:
    match said.joint:
        case "":
            return said.text
        case str(joint) if joint == ALL:
            return f"({_all(said.parts)})" if said.parts else "always"
        case str(joint) if joint == EITHER:
            return f"either {either(_alternatives(said))}" if said.parts else "never"
        case str(joint) if joint == NEITHER:
            return f"neither {listed(_alternatives(said), 'nor')}"
    return f"{said.joint} of ({', '.join(map(_part, said.parts))})"


def _alternatives(said: Said) -> list[str]:
    """The texts of a choice, in brackets where they are joined themselves."""
    texts = [_part(part) for part in said.parts]
    words = [text.partition(" ") for text in texts]
    if len({rest for _, _, rest in words}) == 1 and _are_names([first for first, _, _ in words]):
        return [first for first, _, _ in words[:-1]] + [texts[-1]]
    return [
        f"({text})" if not part.joint and (" and " in text or " or " in text) else text
        for text, part in zip(texts, said.parts, strict=True)
    ]


def _are_names(words: Sequence[str]) -> bool:
    """Whether first words tell members apart, as `left` and `right`, and do not count or deny."""
    return not {"not", "no", "any", "every", "both", "true", "at", "neither"}.intersection(words)
