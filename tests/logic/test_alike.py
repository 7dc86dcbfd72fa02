"""Aeroplanes of a variant that move alike: one is asked for the other, and nothing else changes."""

from collections.abc import Iterator

import pytest

from tellback.book.effectivity import aeroplanes, for_aeroplane
from tellback.diagnostics import Diagnostic
from tellback.logic.alike import Alike
from tellback.logic.check import check
from tellback.logic.formula import Ref
from tellback.logic.picture import picture_of
from tests.small_books import book_of

FLEET = """\
type: Test type
manual: Test manual
revision: 1
variants:
  T1: {serials: 1-30}
service bulletins:
  SB 24-001: {serials: 11-30}
"""

BOOK = """
controls:
  pump switch: {positions: [OFF, ON]}
  spare switch: {positions: [OFF, ON]}
units:
  pump: {kind: pump, fails: [stops], runs when: pump switch at ON}
  spare pump: {kind: pump, runs when: spare switch at ON}
latches:
  memory: {set when: pump running, cleared when: pump switch at OFF}
indications:
  PUMP ON:
    kind: light
    shown when:
      - {when: LIGHT, applies to: SB 24-001}
      - {when: never, applies to: not SB 24-001}
"""

LIGHTS = (
    "pump running",
    "pump running and pump switch at OFF",
    "memory set and spare switch at ON",
    "memory clear and pump running and pump switch at OFF",
)


def _fleet(light: str) -> str:
    return BOOK.replace("LIGHT", light)


def _told(found: tuple[Diagnostic, ...]) -> Iterator[tuple[str, str, str]]:
    for one in found:
        yield one.code, one.place.file, one.message.partition(" (on ")[0]


@pytest.mark.parametrize("light", LIGHTS)
def test_a_fleet_checked_together_is_found_as_each_aeroplane_alone(light: str) -> None:
    book = book_of(_fleet(light), FLEET)
    one, other = aeroplanes(book)
    together = check(book)
    alone = {*_told(check(book, one)), *_told(check(book, other))}
    codes = {"missing-for-aeroplane", "no-alternative"}
    assert {told for told in _told(together) if told[0] not in codes} == alone
    shown = [d for d in together if d.code == "never-shown"]
    never = "pump switch at OFF" in light
    assert [d.message.endswith("(on T1)") for d in shown] == [not never]


def test_what_only_is_shown_otherwise_moves_alike() -> None:
    book = book_of(_fleet("pump running"), FLEET)
    one, other = (picture_of(for_aeroplane(book, name)) for name in aeroplanes(book))
    alike = Alike(one, other)
    assert alike.speaks_alike(Ref(("pump", "running")))
    assert not alike.speaks_alike(Ref(("PUMP ON", "shown")))


def test_what_changes_otherwise_does_not() -> None:
    looked_at = _fleet("pump running").replace(
        "cleared when: pump switch at OFF", "cleared when: PUMP ON shown"
    )
    book = book_of(looked_at, FLEET)
    one, other = (picture_of(for_aeroplane(book, name)) for name in aeroplanes(book))
    assert not Alike(one, other).speaks_alike(Ref(("pump", "running")))
