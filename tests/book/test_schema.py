"""The JSON Schema says of keys what the reader says."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tellback.book.keys import KEYS
from tellback.book.nodes import Items, Node, Scalar
from tellback.book.schema import json_schema
from tellback.book.sources import Report
from tellback.book.yaml_nodes import read_file

BOOK = Path(__file__).parents[2] / "books" / "s94"
SCHEMA = json_schema()


def plain(node: Node) -> Any:
    if isinstance(node, Scalar):
        return node.text or None
    if isinstance(node, Items):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.pairs}


def fits(value: Any, schema: dict[str, Any]) -> bool:
    """Whether a value fits, for the words of JSON Schema that ours uses."""
    if "$ref" in schema:
        return fits(value, SCHEMA["$defs"][schema["$ref"].rpartition("/")[2]])
    if "anyOf" in schema and not any(fits(value, one) for one in schema["anyOf"]):
        return False
    if "enum" in schema and value not in schema["enum"]:
        return False
    if not all(fits(value, one) for one in schema.get("allOf", ())):
        return False
    kinds = {"object": dict, "array": list, "string": str, "null": type(None)}
    wanted = schema.get("type", [])
    wanted = [wanted] if isinstance(wanted, str) else wanted
    if wanted and not any(isinstance(value, kinds[w]) for w in wanted if w in kinds):
        return False
    if isinstance(value, list):
        return all(fits(item, schema.get("items", {})) for item in value)
    return not isinstance(value, dict) or fits_keys(value, schema)


def fits_keys(value: dict[str, Any], schema: dict[str, Any]) -> bool:
    if not set(schema.get("required", ())) <= set(value):
        return False
    for key, inner in value.items():
        named = schema.get("properties", {}).get(key)
        patterns = [s for p, s in schema.get("patternProperties", {}).items() if re.match(p, key)]
        known = [named] if named else patterns
        rest = schema.get("additionalProperties", True)
        if not known and (rest is False or (rest is not True and not fits(inner, rest))):
            return False
        if known and not any(fits(inner, one) for one in known):
            return False
    return True


def references(schema: Any) -> Iterator[str]:
    if isinstance(schema, dict):
        yield from (value for key, value in schema.items() if key == "$ref")
        for value in schema.values():
            yield from references(value)
    if isinstance(schema, list):
        for value in schema:
            yield from references(value)


def test_it_is_plain_json_and_every_reference_leads_somewhere() -> None:
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA
    assert {r.rpartition("/")[2] for r in references(SCHEMA)} <= set(SCHEMA["$defs"])


def test_every_key_of_the_table_is_there() -> None:
    for kind, keys in KEYS.items():
        definition = SCHEMA["$defs"][kind.replace(" ", "-")]
        patterned = "".join(definition.get("patternProperties", {}))
        for key in keys:
            assert (
                key.name in definition["properties"]
                or key.name.replace("POSITION", ".+") in patterned
            )


def test_the_example_book_fits() -> None:
    files = sorted(BOOK.rglob("*.yaml"))
    assert len(files) > 2
    for path in files:
        tree = read_file(path, path.name, Report())
        assert tree is not None
        assert fits(plain(tree), SCHEMA), path.name


def test_what_the_reader_refuses_does_not_fit() -> None:
    chapter = {"chapter": "24", "title": "T"}
    assert fits(chapter, SCHEMA)
    assert not fits({"chapter": "24"}, SCHEMA)
    assert not fits({**chapter, "controls": {"c": {}}}, SCHEMA)
    assert not fits(
        {**chapter, "controls": {"c": {"positions": ["A", "B"], "levels": "x"}}}, SCHEMA
    )
    assert not fits({**chapter, "latches": {"l": {"set when": "a"}}}, SCHEMA)
    assert not fits([{"clam": "always a"}], SCHEMA)
    drops = {"positions": ["A", "B"], "drops to A when": {"when": "x", "sauce": "y"}}
    assert not fits({**chapter, "controls": {"c": drops}}, SCHEMA)
