"""The names of a book: things with aliases, groups with their singular; longest match first."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from tellback.book.model import (
    Book,
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Situation,
    Supply,
    Surface,
    Thing,
    Unit,
)

FORMS: Mapping[type[Thing], str] = {
    Control: "control",
    Reading: "reading",
    Situation: "situation",
    Means: "means",
    Unit: "unit",
    Supply: "supply",
    Surface: "surface",
    Latch: "latch",
    Indication: "indication",
}

MOST_COMPARED = 60_000

_WORD = re.compile(r"[(),]|(?:[^\s(),]|(?<=\d),(?=\d{3}(?!\d)))+")


class Word(NamedTuple):
    """A word of a condition: folded for comparison, as written, and where it begins."""

    folded: str
    written: str
    offset: int

    @property
    def end(self) -> int:
        """The offset after its last character."""
        return self.offset + len(self.written)


def words_of(text: str) -> tuple[Word, ...]:
    """The words, brackets and commas of a text; `18,000` is one word."""
    return tuple(Word(m[0].casefold(), m[0], m.start()) for m in _WORD.finditer(text))


def fold(text: str) -> str:
    """A name without regard to case and spacing."""
    return " ".join(text.casefold().split())


@dataclass(frozen=True, slots=True)
class Declared:
    """What a condition needs to know of a thing: its form, its words, and for a reading its unit.

    `form` is control, reading ...; `kind` the kind in the book's words; `states` the positions,
    points or levels in order; `fails` its failure modes; `outside` a reading that is an input.
    """

    name: str
    form: str
    kind: str = ""
    states: tuple[str, ...] = ()
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    fails: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    outside: bool = False


Trie = dict[str, "Trie | str"]


@dataclass(slots=True)
class Names:
    """Finds names in texts. `groups` keeps the members of every group."""

    things: Mapping[str, Declared]
    groups: Mapping[str, tuple[str, ...]]
    _names: Trie = field(default_factory=dict)
    _groups: Trie = field(default_factory=dict)
    _near: dict[str, tuple[str, ...]] = field(default_factory=dict)
    _known: dict[str, str] = field(default_factory=dict)
    _having: dict[str, list[str]] | None = None
    _compared: int = 0

    def __post_init__(self) -> None:
        for thing in self.things.values():
            for name in (thing.name, *thing.also):
                _insert(self._names, name, thing.name)
        for group in self.groups:
            for name in (*singulars(group), group):
                _insert(self._groups, name, group)

    def match(self, words: tuple[Word, ...], start: int) -> tuple[str, int]:
        """The longest thing's name beginning at a word, and the word after it; or ("", start)."""
        return longest(self._names, words, start)

    def match_group(self, words: tuple[Word, ...], start: int) -> tuple[str, int]:
        """The longest group's name beginning at a word, and the word after it; or ("", start)."""
        return longest(self._groups, words, start)

    def find(self, text: str) -> str:
        """The canonical name of a thing named by the whole text; empty if there is none."""
        words = words_of(text)
        name, end = self.match(words, 0)
        return name if end == len(words) else ""

    def near(self, text: str) -> tuple[str, ...]:
        """Up to three declared names or groups that look like the text."""
        folded = fold(text)
        if folded not in self._near:
            self._known = self._known or {fold(n): n for n in self._all()}
            # comparing is slow: a book with very many unknown names gets no more suggestions
            self._compared += len(self._known)
            enough = self._compared > MOST_COMPARED
            self._near[folded] = () if enough else near(folded, self._known)
        return self._near[folded]

    def having(self, state: str) -> tuple[str, ...]:
        """The names of the things that have a position, point or level of that name."""
        if self._having is None:
            self._having = {}
            for thing in self.things.values():
                for known in thing.states:
                    self._having.setdefault(fold(known), []).append(thing.name)
        return tuple(self._having.get(fold(state), ()))

    def _all(self) -> Iterable[str]:
        for thing in self.things.values():
            yield from (thing.name, *thing.also)
        yield from self.groups


def near(folded: str, known: Mapping[str, str]) -> tuple[str, ...]:
    """Up to three of the known names (folded -> as declared) that look like the text.

    Word for word: what shares only `left` and `switch` with it is the name of another thing.
    """
    if len(folded) > 100:
        return ()
    found = difflib.get_close_matches(folded, known, n=_MOST_WEIGHED, cutoff=0.7)
    return tuple(dict.fromkeys(known[n] for n in found if _is_misspelt(folded, n)))[:3]


_MOST_WEIGHED = 12
_AS_ONE_WORD = 0.88
_SHORTENED = 3


def _is_misspelt(text: str, name: str) -> bool:
    """Whether the text may be the name with words misspelt, cut, joined, or one left out."""
    ours, theirs = text.replace("-", " ").split(), name.replace("-", " ").split()
    if _alike("".join(ours), "".join(theirs), _AS_ONE_WORD) and len(ours) != len(theirs):
        return True
    left_over = [word for word in theirs if word not in ours]
    unknown = [word for word in ours if word not in theirs]
    if not unknown:
        return len(left_over) <= 1
    return len(unknown) == len(left_over) and all(map(_alike, unknown, left_over))


def _alike(one: str, other: str, cutoff: float = 0.72) -> bool:
    shortened = len(one) >= _SHORTENED and other.startswith(one)
    return shortened or difflib.SequenceMatcher(None, one, other).ratio() >= cutoff


def singulars(group: str) -> tuple[str, ...]:
    """What one member of a group may be called: `transfer switches` gives `transfer switch`."""
    if group.endswith("ies"):
        return (group[:-3] + "y",)
    if group.endswith(("ses", "xes", "ches", "shes")):
        return (group[:-2], group[:-1])
    return (group[:-1],) if group.endswith("s") else ()


def plural(name: str) -> str:
    """What several are called of which one is called so, as `singulars` takes it back."""
    if name.endswith("y") and name[-2:-1] not in set("aeiou"):
        return f"{name[:-1]}ies"
    return f"{name}es" if name.endswith(("s", "x", "ch", "sh")) else f"{name}s"


def of_group(word: str, group: str, members: Collection[str]) -> str:
    """A group after `any`, `every` (`both` of two), `no` or `at least N`, by singular or plural."""
    if word.startswith("at least"):
        return f"{word} {group}"
    if word == "every" and len(members) == 2:
        return f"both {group}"
    return f"{word} {_one_of(group, members)}"


def _one_of(group: str, members: Collection[str]) -> str:
    """What one member is called; of two singulars (`bus`, `buse`) that by which members end."""
    several = singulars(group) or (group,)
    ends = [one for one in several if any(fold(m).endswith(f" {fold(one)}") for m in members)]
    return [*ends, *several][0]


def longest(trie: Trie, words: tuple[Word, ...], start: int) -> tuple[str, int]:
    """The value of the longest entry that begins at a word, and the word after it."""
    found, end = "", start
    node = trie
    for i in range(start, len(words)):
        inner = node.get(words[i].folded)
        if not isinstance(inner, dict):
            break
        node = inner
        name = node.get("")
        if isinstance(name, str):
            found, end = name, i + 1
    return found, end


def trie_of(entries: Iterable[str]) -> Trie:
    """A trie of the entries, each of them its own value."""
    trie: Trie = {}
    for entry in entries:
        _insert(trie, entry, entry)
    return trie


def _insert(trie: Trie, name: str, value: str) -> None:
    node = trie
    for word in _WORD.findall(name.casefold()):
        inner = node.setdefault(word, {})
        assert isinstance(inner, dict)
        node = inner
    node.setdefault("", value)


def names_of(book: Book) -> Names:
    """The names of a book that has been read, for parsing a question put to it."""
    declared: dict[str, Declared] = {}
    for thing in book.things:
        new = declare(thing)
        declared[thing.name] = merged(declared[thing.name], new) if thing.name in declared else new
    return Names(declared, book.groups)


def declare(thing: Thing) -> Declared:
    """What conditions need to know of a thing."""
    states: tuple[str, ...] = ()
    unit, low, high, outside = "", 0.0, 0.0, False
    match thing:
        case Control():
            states = thing.positions
        case Supply():
            states = thing.levels
        case Surface():
            states = thing.points
        case Reading():
            unit, low, high, outside = thing.unit, thing.low, thing.high, thing.is_outside
    form = FORMS[type(thing)]
    return Declared(
        thing.name, form, thing.form, states, unit, low, high, thing.fails, thing.also, outside
    )


def merged(first: Declared, second: Declared) -> Declared:
    """Two alternatives of one thing, as conditions may speak of either."""
    return Declared(
        first.name,
        first.form,
        first.kind or second.kind,
        tuple(dict.fromkeys((*first.states, *second.states))),
        first.unit,
        min(first.low, second.low),
        max(first.high, second.high),
        tuple(dict.fromkeys((*first.fails, *second.fails))),
        tuple(dict.fromkeys((*first.also, *second.also))),
        first.outside and second.outside,
    )
