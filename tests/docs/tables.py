"""Tables of the pages that are made from the program itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import partial

from tellback.book.keys import KEYS, SECTIONS, TYPES, Key
from tests.docs.answers import of_all_answers

_FORMS = tuple(SECTIONS.values())
_OF_ANY_THING = tuple(k for k in KEYS[_FORMS[0]] if all(k in KEYS[form] for form in _FORMS))
_TAKES = {**TYPES, "words": "a text or a list"}


def of_any_thing() -> str:
    """The keys that things of every kind may carry."""
    return _table(map(_row, _OF_ANY_THING))


def keys_of(kind: str) -> str:
    """The keys of a kind; those that any thing may carry are in a table of their own."""
    shared = _OF_ANY_THING if kind in _FORMS else ()
    return _table(_row(key) for key in KEYS[kind] if key not in shared)


def _table(rows: Iterable[str]) -> str:
    return "\n".join(["| key | takes | meaning |", "|---|---|---|", *rows]) + "\n"


def _row(key: Key) -> str:
    needed = " **(needed)**" if key.needed else ""
    each = f", each *{key.of}*" if key.of in KEYS and key.of not in _FORMS else ""
    return f"| `{key.name}` | {_TAKES[key.type]}{each} | {key.help}{needed} |"


TABLES: Mapping[str, Callable[[], str]] = {
    "answers": of_all_answers,
    "keys of any thing": of_any_thing,
    **{f"keys of {kind}": partial(keys_of, kind) for kind in KEYS},
}
"""What may stand between the marks of a generated table, by name."""
