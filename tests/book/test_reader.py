"""What reading makes of good books: forms of statements, `for each`, sources and defaults."""

from __future__ import annotations

from tellback.book.conditions import All, Any, Held, Not, State
from tellback.book.model import (
    Control,
    Indication,
    Latch,
    Means,
    Reading,
    Supply,
    Surface,
    Thing,
    Unit,
    Why,
)
from tests.small_books import DEFAULT, book_of, read_text


def only(text: str, name: str) -> Thing:
    return book_of(text).thing(name)


def test_the_four_forms_of_a_statement() -> None:
    thing = only(
        """\
chapter: 24
title: Test
source: FCM 24
situations: {a: {}, b: {}}
units:
  u:
    source: p.1
    runs when any of:
      plain: a
      full:
        when: not b
        source: p.2
        why:
          - {computed: "a, b", source: p.7}
          - {regulation: somewhere}
    shed when:
      - {when: a, applies to: T1}
      - {when: b, applies to: [serials 3-5, not T1 and serials 9]}
""",
        "u",
    )
    assert isinstance(thing, Unit)
    plain, full = thing.ways
    assert (plain.name, plain.condition, plain.source) == (
        "plain",
        State("a", "yes"),
        "FCM 24, p.1",
    )
    assert (full.name, full.condition, full.source) == (
        "full",
        Not(State("b", "yes")),
        "FCM 24, p.2",
    )
    assert full.whys == (
        Why("computed", "a, b", "p.7"),
        Why("instructor's view", "somewhere"),
    )
    assert full.key == "runs when any of"
    assert [s.applies.alternatives for s in thing.shed] == [
        (((True, "T1"),),),
        (((True, "serials 3-5"),), ((False, "T1"), (True, "serials 9"))),
    ]


def test_for_each_fills_names_and_texts() -> None:
    book = book_of(
        "units:\n  pump <n>:\n    for each: n in [1, 2]\n    needs: [bus <n>]\n"
        "    also called: P<n>\nsupplies:\n  bus <n>: {for each: 'n in [1, 2]', fed by: P<n>}\n"
        "impossible:\n  - {when: pump <n> running, for each: 'n in [1, 2]'}\n"
        "means:\n  <s> <n>:\n    for each:\n      - n in [1, 2]\n      - s in [left, right]\n"
        "    when: P<n> running\n"
    )
    pump = book.thing("pump 2")
    assert isinstance(pump, Unit)
    assert (pump.family, pump.index, pump.also) == ("pump <n>", (("n", "2"),), ("P2",))
    assert (pump.needs[0].text, pump.needs[0].condition) == ("bus 2", State("bus 2", "live"))
    assert [s.text for s in book.impossible] == ["pump 1 running", "pump 2 running"]
    assert [t.name for t in book.things if isinstance(t, Means)] == [
        "left 1", "right 1", "left 2", "right 2",
    ]  # fmt: skip


def test_a_statement_tells_a_thing_by_its_own_name_however_it_is_written() -> None:
    light = only(
        "units:\n  left pump: {kind: pump}\n  left pump fan: {kind: fan}\n"
        "supplies:\n  left line: {fed by: left pump}\nindications:\n  LEFT DRY:\n"
        "    kind: light\n    needs: [LEFT line]\n"
        "    shown when: LEFT pump not running or LEFT Pump  fan running\n",
        "LEFT DRY",
    )
    assert isinstance(light, Indication)
    assert [need.text for need in light.needs] == ["left line"]
    assert light.ways[0].text == "left pump not running or left pump fan running"


def test_alternatives_of_for_each_may_give_one_member_another_text() -> None:
    book = book_of(
        "units:\n  u <n>:\n    - {for each: 'n in [1, 2]', applies to: T1}\n"
        "    - {for each: 'n in [1, 2]', applies to: not T1}\n"
    )
    assert [t.name for t in book.things] == ["u 1", "u 2", "u 1", "u 2"]


def test_feeds_in_both_ways_of_writing() -> None:
    thing = only(
        "units:\n  gen: {kind: generator}\n  tie: {kind: contactor}\nsupplies:\n"
        "  a: {kind: bus, fed by: gen}\n"
        "  b:\n    kind: bus\n    levels: [lost, reduced, normal]\n    fed by:\n"
        "      - gen through tie\n"
        "      - from: a\n        through: [tie, gen running]\n"
        "        when: b otherwise lost\n        delivers: reduced\n",
        "b",
    )
    assert isinstance(thing, Supply)
    first, second = thing.feeds
    tie, gen = State("tie", "running"), State("gen", "running")
    lost = State("b", "otherwise lost")
    assert (first.source, first.level, first.when) == ("gen", "normal", None)
    assert [s.condition for s in first.through] == [tie]
    assert (first.through[0].place.line, first.through[0].place.column) == (12, 21)
    assert first.statement.condition == All((gen, tie))
    assert (second.source, second.level) == ("a", "reduced")
    assert second.statement.condition == All((State("a", "live"), tie, gen, lost))
    assert second.statement.text == "a through tie and gen running when b otherwise lost"


def test_drives_and_what_needs_nothing() -> None:
    thing = only(
        "controls:\n  lever: {positions: [UP, DOWN]}\nsupplies:\n  s: {}\nsurfaces:\n  gear:\n"
        "    points: [UP, DOWN]\n    starts at: DOWN\n    drives:\n"
        "      main: {to: lever, needs: s, takes: 2 min, only toward: UP}\n"
        "    falls to DOWN when: {when: s lost, takes: 7 s}\n",
        "gear",
    )
    assert isinstance(thing, Surface)
    main, falls = thing.drives
    assert (main.to, main.to_control, main.takes, main.only_toward) == ("", "lever", 120, "UP")
    assert (main.when, main.needs[0].condition) == (None, State("s", "live"))
    assert (falls.name, falls.to, falls.takes) == ("falls to DOWN", "DOWN", 7)
    assert falls.statement.condition == Not(State("s", "live"))


def test_readings_outside_following_and_moving() -> None:
    book = book_of(
        "situations: {a: {}}\nreadings:\n  outside: {unit: ft, range: -1000 to 40000}\n"
        "  follower: {unit: psi, range: 10 to 50, follows: [{reads: 20, when: a}, {reads: 10}]}\n"
        "  mover: {unit: kPa, range: 0 to 5 bar, starts at: 1 bar, moves: [{to: 0, rate: 2}],\n"
        "    fails: [reads 1 bar]}\n"
    )
    outside, follower, mover = book.things[:3]
    assert isinstance(outside, Reading)
    assert isinstance(follower, Reading)
    assert isinstance(mover, Reading)
    assert (outside.low, outside.high, outside.normally) == (-1000, 40000, 0)
    assert [(row.value, row.when and row.when.text) for row in follower.follows] == [
        (20, "a"), (10, None),
    ]  # fmt: skip
    assert (mover.high, mover.normally, mover.moves[0].rate) == (500, 100, 2)
    assert mover.fails == ("reads 100",)


def test_controls_latches_and_indications() -> None:
    book = book_of(
        "situations: {a: {}}\ncontrols:\n  c:\n    positions: [OFF, ON, TEST]\n    normally: on\n"
        "    springs: {TEST: OFF}\n    guarded: yes\n    drops to OFF when: a for 2 s\n"
        "    cannot go to on when any of: {one: a, two: not a}\n"
        "latches:\n  l: {set when: a comes on, cleared when: c at OFF, set wins: yes}\n"
        "readings:\n  r: {unit: none, range: 0 to 1}\n"
        "indications:\n  G: {level: status, shows: r, needs: a, reset when: c at TEST}\n"
    )
    control, latch, gauge = book.thing("c"), book.thing("l"), book.thing("G")
    assert isinstance(control, Control)
    assert isinstance(latch, Latch)
    assert isinstance(gauge, Indication)
    assert (control.normally, control.springs, control.guarded) == ("ON", (("TEST", "OFF"),), True)
    assert [(p, s.condition) for p, s in control.drops] == [("OFF", Held(State("a", "yes"), 2))]
    assert [(p, s.name) for p, s in control.barred] == [("ON", "one"), ("ON", "two")]
    assert latch.set_wins
    assert (gauge.level, gauge.shows, gauge.ways) == ("status", "r", ())


def test_claims_in_all_forms() -> None:
    book = book_of(
        "situations: {a: {}, b: {}}\n",
        DEFAULT,
        "- {claim: always a, given: [no failures, b], from: normal, source: p.3}\n"
        "- {claim: never a, given: at most 2 failures}\n"
        "- claim: if a then b\n- {claim: 'a only if b'}\n",
    )
    a, b = State("a", "yes"), State("b", "yes")
    assert [c.condition for c in book.claims] == [a, Not(a), Any((Not(a), b)), Any((Not(a), b))]
    assert [c.failures for c in book.claims] == [0, 2, None, None]
    assert (book.claims[0].given, book.claims[0].start) == ((b,), "normal")


def test_a_book_without_starting_states_starts_in_the_normal_one() -> None:
    book = book_of("situations: {a: {}}\n", "type: T\nvariants: {A: 1-3}\n")
    assert [(s.name, s.settings) for s in book.starts] == [("normal", ())]


def test_findings_come_with_the_book() -> None:
    book, found = read_text(
        "readings: {r: {unit: ft, range: 0 to 9}}\nmeans: {m: {when: r above 99 ft}}\n"
    )
    assert book is not None
    assert [(d.kind, d.code) for d in found] == [("finding", "out-of-range")]
