"""The reference of answers: the fields of each, read off the classes themselves."""

from __future__ import annotations

import inspect
import re
import typing
from collections.abc import Iterator
from dataclasses import Field, fields, is_dataclass

import tellback

PLAIN = {"str": "text", "int": "whole number", "float": "number", "bool": "true or false"}


def of_all_answers() -> str:
    """Every answer with its fields, then the parts of which they are made, each once."""
    answers: dict[type, list[str]] = {}
    for name in tellback.__all__:
        if kind := answer_of(name):
            answers.setdefault(kind, []).append(f"`tb.{name}`")
    parts: dict[type, None] = {}
    lines: list[str] = []
    for kind, names in answers.items():
        lines += [
            f"## {kind.__name__}",
            "",
            f"What {' and '.join(names)} answers. {told(kind)}",
            "",
        ]
        lines += [*table(kind), ""]
    for kind in answers:
        collect(kind, parts)
    lines += ["## Parts", ""]
    for kind in parts:
        if kind not in answers:
            lines += [f"### {kind.__name__}", "", told(kind), "", *table(kind), ""]
    return "\n".join(lines).rstrip() + "\n"


def answer_of(name: str) -> type | None:
    """The class that a public function answers with, if it is one of ours."""
    function = getattr(tellback, name)
    if not inspect.isfunction(function):
        return None
    kind = typing.get_type_hints(inspect.unwrap(function)).get("return")
    return kind if isinstance(kind, type) and is_answer(kind) else None


def is_answer(kind: object) -> bool:
    return isinstance(kind, type) and is_dataclass(kind) and kind.__name__ not in ("Book", "Moment")


def collect(kind: type, found: dict[type, None]) -> None:
    """The classes within the fields of a class, the nearest first."""
    within = [part for hint in hints(kind).values() for part in classes(hint)]
    new = [part for part in within if part not in found]
    found.update(dict.fromkeys(new))
    for part in new:
        collect(part, found)


def classes(hint: object) -> Iterator[type]:
    """The classes of ours that a type speaks of."""
    if is_answer(hint):
        assert isinstance(hint, type)
        yield hint
    for part in typing.get_args(hint):
        yield from classes(part)


def hints(kind: type) -> dict[str, object]:
    """The types of the fields that are told; a moment is told by its time and numbers."""
    known = typing.get_type_hints(kind)
    return {field.name: known[field.name] for field in told_fields(kind)}


def told_fields(kind: type) -> list[Field[object]]:
    return [field for field in fields(kind) if field.repr]


def told(kind: type) -> str:
    """What a class says of itself."""
    return re.sub(r"\s+", " ", inspect.getdoc(kind) or "").strip()


def table(kind: type) -> list[str]:
    rows = [f"| `{name}` | {said(hint)} |" for name, hint in hints(kind).items()]
    return ["| field | holds |", "|---|---|", *rows]


def said(hint: object) -> str:
    """A type in words."""
    if hint is type(None):
        return "null"
    if isinstance(hint, type) and not typing.get_args(hint):
        return PLAIN.get(hint.__name__, f"*{hint.__name__}*")
    parts = [part for part in typing.get_args(hint) if part is not Ellipsis]
    origin = typing.get_origin(hint)
    if origin in (tuple, list):
        whole = Ellipsis in typing.get_args(hint) or origin is list
        each = " and ".join(said(part) for part in parts)
        return f"list of {each}" if whole else f"list: {', '.join(map(said, parts))}"
    if origin is not None and origin.__name__ in ("dict", "Mapping"):
        return f"object: {said(parts[0])} to {said(parts[1])}"
    return " or ".join(said(part) for part in parts)
