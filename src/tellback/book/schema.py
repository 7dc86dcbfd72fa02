"""The JSON Schema of a book's files, for editors; made from the table of keys."""

from __future__ import annotations

import re
from typing import Any as Anything

from tellback.book.keys import KEYS, SECTIONS, Key

Schema = dict[str, Anything]

# an editor may take `ON`, `05` or `~` for something else than text
_TEXT: Schema = {"type": ["string", "number", "boolean", "null"]}
_WORDS: Schema = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT}]}
_SETTINGS: Schema = {"type": ["object", "null"], "additionalProperties": _TEXT}
_YES_OR_NO: Schema = {"enum": ["yes", "no", True, False]}
_ALTERNATIVES = frozenset({*SECTIONS.values(), "drive", "limit"})
_FILES = ("type file", "chapter file", "procedure file", "scenario file", "numbers file")


def json_schema() -> Schema:
    """The schema of each of a book's files; a definition per kind.

    It knows keys and shapes; what names and conditions mean only the reader knows.
    """
    claims = {"type": "array", "items": _kind("claim")}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Tellback type book",
        "anyOf": [*map(_kind, _FILES), claims],
        "$defs": {_name(kind): _definition(keys) for kind, keys in KEYS.items()},
    }


def _name(kind: str) -> str:
    return kind.replace(" ", "-")


def _kind(kind: str) -> Schema:
    return {"$ref": f"#/$defs/{_name(kind)}"}


def _definition(keys: tuple[Key, ...]) -> Schema:
    plain: Schema = {}
    patterns: Schema = {}
    for key in keys:
        value = {"description": key.help, **_value(key)}
        if "POSITION" in key.name:
            patterns[f"^{re.sub('POSITION', '.+', key.name)}$"] = value
        else:
            plain[key.name] = value
        if key.type == "statement" and "POSITION" not in key.name:
            plain[f"{key.name} any of"] = _any_of(key)
        elif key.type == "statement":
            patterns[f"^{re.sub('POSITION', '.+', key.name)} any of$"] = _any_of(key)
    definition: Schema = {"type": "object", "properties": plain, "additionalProperties": False}
    if patterns:
        definition["patternProperties"] = patterns
    needed = [key for key in keys if key.needed]
    conditions = [_needed(key) for key in needed]
    return {**definition, "allOf": conditions} if conditions else definition


def _needed(key: Key) -> Schema:
    if key.type != "statement":
        return {"required": [key.name]}
    return {"anyOf": [{"required": [key.name]}, {"required": [f"{key.name} any of"]}]}


def _any_of(key: Key) -> Schema:
    ways = {"type": "object", "minProperties": 1, "additionalProperties": _statement()}
    return {"description": f"{key.help}: named ways, one of which is enough", **ways}


def _statement() -> Schema:
    """A condition, a mapping with `when`, or alternatives; a free drive adds `takes`."""
    one = {"anyOf": [_TEXT, _kind("statement"), _kind("free drive")]}
    return {"anyOf": [*one["anyOf"], {"type": "array", "items": one, "minItems": 1}]}


def _value(key: Key) -> Schema:
    match key.type:
        case "yes or no":
            return _YES_OR_NO
        case "words" | "conditions" | "path":
            return _WORDS
        case "pairs" | "settings":
            return _SETTINGS
        case "statement":
            return _statement()
        case "rows" | "steps" | "feeds" | "reasons":
            return _list(key)
        case "named":
            return {"type": "object", "additionalProperties": _named(key.of)}
    return _TEXT


def _list(key: Key) -> Schema:
    texts = [_TEXT] if key.of in {"feed", "impossible"} else []
    item = {"anyOf": [_kind(key.of), *texts]}
    rows = {"type": "array", "items": item}
    return rows if key.type in {"rows", "steps"} else {"anyOf": [rows, *item["anyOf"]]}


def _named(of: str) -> Schema:
    if of == "sheet":
        return {"anyOf": [_WORDS, {"type": "array", "items": _WORDS}]}
    if of in {"words", "settings"}:
        return _WORDS if of == "words" else _SETTINGS
    one = _kind(of)
    if of == "variant":
        # `{serials: 1-12, 15}` puts a second range beside `serials`
        return {"anyOf": [{"type": "object"}, _TEXT]}
    return {"anyOf": [one, {"type": "array", "items": one}]} if of in _ALTERNATIVES else one
