"""An answer as plain data, the twin of its text."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

from tellback.logic.run import Moment


def as_json(answer: object) -> Any:
    """The answer as dictionaries, lists, texts and numbers, under the names of its fields.

    The answer itself also says what it is (`answer`) and carries its text (`text`); fields
    without a `repr` serve that text alone and are left out.
    """
    plain = _plain(answer)
    if isinstance(plain, dict):
        return {"answer": type(answer).__name__.casefold(), **plain, "text": str(answer)}
    return plain


def _plain(value: object) -> Any:
    if isinstance(value, Moment):
        return {"seconds": value.time, "state": dict(value.state), "numbers": dict(value.numbers)}
    if is_dataclass(value) and not isinstance(value, type):
        shown = [field.name for field in fields(value) if field.repr]
        return {name: _plain(getattr(value, name)) for name in shown}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, dict):
        return {str(key): _plain(part) for key, part in value.items()}
    return value
