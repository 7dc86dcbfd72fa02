"""What is so of every member of a group, told once by the name of the group.

The book's grammar is the judge: a text that names the group must read back to what the texts of
the members say together, each by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tellback.book.conditions import All, Any, Condition, Not
from tellback.book.grammar import parse_condition
from tellback.book.names import Names, of_group

if TYPE_CHECKING:
    from tellback.logic.items import Item


@dataclass(frozen=True, slots=True)
class Together:
    """The text for something that is so of all these members of a group."""

    text: str
    members: tuple[str, ...]


class Groups:
    """The groups of a book, by the names of which its things can be told."""

    def __init__(self, names: Names) -> None:
        self._names = names
        self._of: dict[str, list[str]] = {}
        several = [group for group, members in names.groups.items() if len(members) > 1]
        for group in sorted(several, key=lambda group: -len(names.groups[group])):
            for member in names.groups[group]:
                self._of.setdefault(member, []).append(group)
        self._known: dict[str, tuple[Together, ...]] = {}

    def together(self, thing: str, text: str) -> tuple[Together, ...]:
        """How a text about a thing is told where it is so of a group, the largest group first."""
        if thing not in self._of:
            return ()
        if text not in self._known:
            self._known[text] = tuple(self._texts(thing, text))
        return self._known[text]

    def _texts(self, thing: str, text: str) -> Iterable[Together]:
        meant = self._read(text)
        if meant is None:
            return
        for group in self._of[thing]:
            members = self._names.groups[group]
            told = _told(group, members, thing, text)
            if told and self._is_part(meant, members.index(thing), self._read(told)):
                yield Together(told, members)

    def _read(self, text: str) -> Condition | None:
        return parse_condition(text, self._names)[0]

    def _is_part(self, meant: Condition, place: int, whole: Condition | None) -> bool:
        """Whether a condition says at this place of its members what was meant."""
        match whole:
            case All(parts) if place < len(parts):
                return parts[place] == meant
            case Not(Any(parts)) if place < len(parts):
                return Not(parts[place]) == meant
        return False


def _told(group: str, members: Sequence[str], thing: str, text: str) -> str:
    """A text about a thing, said of its group; empty if it does not begin with the thing."""
    if text == f"not {thing}":
        return of_group("no", group, members)
    if not text.startswith(thing):
        return ""
    state = text.removeprefix(thing)
    if state.startswith(" not "):
        return f"{of_group('no', group, members)} {state.removeprefix(' not ')}"
    return f"{of_group('every', group, members)}{state}"


def told_together(items: Iterable[Item]) -> list[str]:
    """The texts of items, those of a whole group as one where the first of them stands."""
    left = list(items)
    texts = []
    while left:
        first, *others = left
        whole = next((one for one in first.together if _is_whole(one, left)), None)
        texts.append(whole.text if whole else first.text)
        left = [one for one in others if whole is None or whole not in one.together]
    return texts


def _is_whole(together: Together, items: Iterable[Item]) -> bool:
    """Whether the same is so of every member of the group."""
    things = {one.thing for one in items if together in one.together}
    return things.issuperset(together.members)
