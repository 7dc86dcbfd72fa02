"""The book as English sentences: a few lines of YAML, and what is read aloud."""

import pytest

from tellback.book.model import Book
from tellback.book.sentences import sentences
from tests.small_books import book_of

BOOK = """\
chapter: 28
title: Fuel
source: FCM 28
controls:
  boost switch: {positions: [OFF, ON], guarded: yes, springs: {ON: OFF}, source: p.1}
  gear lever:
    positions: [UP, DOWN]
    drops to DOWN when: not on ground for 2 min
    cannot go to UP when: on ground
readings:
  fuel level: {unit: kg, range: 0 to 900, normally: 800}
  shown level:
    unit: kg
    range: 0 to 900
    follows:
      - {reads: 900, when: fuel level above 400 kg}
      - {reads: 0}
situations:
  on ground: {}
means:
  low fuel: {when: fuel level below 100 kg or fuel level above 850 kg}
units:
  left spare pump:
    kind: pump
    needs: [DC bus 2, shown level at least 10 kg]
    fails: [stops]
    runs when any of:
      start: {when: boost switch at ON, source: p.6}
      low feed:
        when: (low fuel or boost switch at OFF) and tie contactor open
        why: [{computed: suction is not enough, source: p.7}]
  tie contactor: {kind: contactor}
supplies:
  DC bus 2:
    kind: bus
    fed by: [left spare pump through tie contactor]
surfaces:
  flaps:
    points: [UP, DOWN]
    drives: {motor: {to: DOWN, when: boost switch at ON, needs: [DC bus 2], takes: 24 s}}
latches:
  memory: {set when: low fuel comes on, cleared when: flaps at UP}
indications:
  FUEL LOW: {kind: light, level: caution, shown when: not low fuel}
groups: {pumps: [left spare pump, tie contactor]}
impossible: [on ground and fuel level above 850 kg]
"""

SAID = [
    "The boost switch: a control [FCM 28, p.1]. Its positions are OFF and ON, normally OFF. "
    "It is guarded. Let go at ON it returns to OFF.",
    "The gear lever: a control. Its positions are UP and DOWN, normally UP. It drops to DOWN when "
    "not on ground for 2 min. It cannot go to UP when on ground.",
    "The fuel level: a reading. It goes from 0 to 900 kg. It comes from outside and is normally "
    "800 kg.",
    "The shown level: a reading. It goes from 0 to 900 kg. It reads 900 kg when the fuel level is "
    "above 400 kg. Otherwise it reads 0 kg.",
    "“low fuel”: a means. It is so when the fuel level is below 100 kg or the fuel level is above "
    "850 kg.",
    "The left spare pump: a pump. It needs DC bus 2 and that the shown level is at least 10 kg. It "
    "runs (start) when the boost switch is at ON [FCM 28, p.6], or (low feed) when (low fuel or "
    "the boost switch is at OFF) and the tie contactor is open. Why (computed): suction is not "
    "enough [p.7]. It can fail: stops.",
    "The tie contactor: a contactor. It is closed whenever it is available.",
    "DC bus 2: a bus. Feeder 1 is the left spare pump, where the tie contactor is closed.",
    "The flaps: a surface. Its points are UP and DOWN, and it starts at UP. Drive 1 (motor) takes "
    "it to DOWN in 24 s for the whole travel when the boost switch is at ON. Drive 1 needs "
    "DC bus 2.",
    "The memory: a latch. It is set when low fuel begins to be so. It is cleared when the flaps "
    "are at UP. Clearing wins.",
    "FUEL LOW: a light. Its level is caution. It is shown when not low fuel.",
    "Pumps: left spare pump and tie contactor.",
    "It can never be that on ground and the fuel level is above 850 kg.",
    "Never low fuel, given at most 1 failure [p.9].",
]


@pytest.fixture(scope="module")
def book() -> Book:
    return book_of(
        BOOK, claims="- {claim: never low fuel, given: at most 1 failure, source: p.9}\n"
    )


@pytest.mark.parametrize("sentence", SAID, ids=lambda sentence: sentence[:20])
def test_a_thing_is_said(book: Book, sentence: str) -> None:
    assert sentence in sentences(book)


def test_every_thing_is_said_once_under_its_heading(book: Book) -> None:
    told = sentences(book)
    assert told[0] == "CHAPTER 28, FUEL"
    assert len([text for text in told if not text.isupper()]) == len(SAID) + len(
        {"on ground", "starting state"}
    )
