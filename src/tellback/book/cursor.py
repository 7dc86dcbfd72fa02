"""A place in the words of a condition, and what is wrong at a place."""

from __future__ import annotations

from dataclasses import dataclass, field

from tellback.book.names import Names, Word, words_of

MOST_CHARACTERS = 10_000
MOST_PARTS = 5_000
MOST_DEPTH = 30


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong in a text: `offset` and `width` in its characters, and what would mend it.

    `kind` is "error", or "finding" where the text can be read all the same.
    """

    offset: int
    width: int
    code: str
    message: str
    mend: str = ""
    kind: str = "error"


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a condition stands, as far as that decides what it may say.

    `edges`: `comes on` and `goes out` are allowed. `bare`: forms whose name may stand alone
    (supply for live, unit for running).
    """

    edges: bool = False
    bare: tuple[str, ...] = ()


ANY_STATE = Origin()


class Wrong(Exception):
    """Raised within the grammar only; carries the fault."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.message)
        self.fault = fault


@dataclass(slots=True)
class Cursor:
    """The words of a text, how far they have been read, and the faults so far.

    `named` is the word at which the thing or group now spoken of begins.
    """

    text: str
    names: Names
    origin: Origin
    words: tuple[Word, ...] = ()
    at: int = 0
    faults: list[Fault] = field(default_factory=list)
    size: int = 0
    named: int = 0

    def __post_init__(self) -> None:
        if len(self.text) <= MOST_CHARACTERS:
            self.words = words_of(self.text)

    def next(self, ahead: int = 0) -> str:
        """The folded word so far ahead, empty at the end."""
        place = self.at + ahead
        return self.words[place].folded if place < len(self.words) else ""

    def take(self, *expected: str) -> bool:
        """Pass the words if they come next."""
        for i, word in enumerate(expected):
            if self.next(i) != word:
                return False
        self.at += len(expected)
        return True

    def charge(self, parts: int) -> None:
        """Count parts of the tree; a text that grows beyond all measure is wrong."""
        self.size += parts
        if self.size > MOST_PARTS:
            raise self.wrong("too-long", "the condition has too many parts", "Name some as means.")

    def written(self, start: int, end: int) -> str:
        """The text of the words from start up to end, as written."""
        if start >= end:
            return ""
        return self.text[self.words[start].offset : self.words[end - 1].end]

    def fault(
        self, code: str, message: str, mend: str, start: int, end: int, kind: str = "error"
    ) -> Fault:
        """A fault at the words from start up to end; beyond the last word: at the end."""
        if start >= len(self.words):
            return Fault(len(self.text.rstrip()), 1, code, message, mend, kind)
        offset = self.words[start].offset
        last = self.words[min(max(end, start + 1), len(self.words)) - 1]
        return Fault(offset, last.end - offset, code, message, mend, kind)

    def wrong(
        self,
        code: str,
        message: str,
        mend: str = "",
        start: int | None = None,
        end: int | None = None,
    ) -> Wrong:
        """The exception for a fault at these words, or at the next word."""
        first = self.at if start is None else start
        return Wrong(self.fault(code, message, mend, first, first + 1 if end is None else end))
