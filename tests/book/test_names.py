"""Names that look like one that is not there, and what several of a kind are called."""

from __future__ import annotations

import pytest

from tellback.book.names import near, plural, singulars

NAMES = (
    "left wiper switch",
    "left agent switch",
    "left conditioner switch",
    "right conditioner switch",
    "left AC bus",
    "left DC bus",
    "left engine",
    "right engine",
    "left duct temperature",
    "gear lever",
    "take-off warning",
    "wing electric pump",
    "wing electric pump switch",
)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("left pack switch", ()),
        ("left park brake switch", ()),
        ("left engine", ("left engine",)),
        ("left egine", ("left engine",)),
        ("rigth engine", ("right engine",)),
        ("gear leaver", ("gear lever",)),
        ("left bus", ("left DC bus", "left AC bus")),
        ("left duct temp", ("left duct temperature",)),
        ("left conditionerswitch", ("left conditioner switch",)),
        ("take off warning", ("take-off warning",)),
        ("wing electic pump", ("wing electric pump",)),
        ("x" * 200, ()),
    ],
)
def test_a_name_is_meant_if_each_word_is(text: str, meant: tuple[str, ...]) -> None:
    assert near(text.casefold(), {name.casefold(): name for name in NAMES}) == meant


@pytest.mark.parametrize(
    ("one", "several"),
    [
        ("bleed switch", "bleed switches"),
        ("AC bus", "AC buses"),
        ("battery", "batteries"),
        ("relay", "relays"),
        ("gear box", "gear boxes"),
        ("pump", "pumps"),
    ],
)
def test_several_are_called_as_a_group_may_be(one: str, several: str) -> None:
    assert plural(one) == several
    assert one in singulars(several)
