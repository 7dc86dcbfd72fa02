"""Bad input of many kinds: each has a friendly error at the right place, and none a traceback.

The table is the promise: what a writer gets wrong, and what the first error says and points at.
"""

from __future__ import annotations

import time
from typing import NamedTuple

import pytest

from tellback.diagnostics import Diagnostic, render
from tests.small_books import HEAD, read_text


class Bad(NamedTuple):
    """A faulty text, and line, column and message of its first error."""

    text: str
    line: int
    column: int
    message: str


# Chapters, without the two lines of their heading.
CHAPTERS: tuple[Bad, ...] = (
    Bad("controls:\n\ta: {}\n", 2, 1, "the line is indented with a tab"),
    Bad(
        "controls:\n  a: {positions: [X, Y]}\n  A: {positions: [X, Y]}\n",
        3,
        3,
        "`A` stands here twice; it is already on line 4",
    ),
    Bad("controls: &x\n  a: {positions: [X, Y]}\n", 1, 11, "`&x` marks a part for repeating"),
    Bad("controls: *x\n", 1, 11, "`*x` repeats another part of the file"),
    Bad(
        "controls: !!map\n  a: {positions: [X, Y]}\n",
        1,
        11,
        "`!!map` is a YAML tag; a book has none",
    ),
    Bad("chapter: 1\ntitle: x\n---\na: 1\n", 3, 1, "a second document begins here"),
    Bad(
        "controls: " + "[" * 40 + "]" * 40,
        1,
        40,
        "the file is nested deeper than 30 levels",
    ),
    Bad(
        "title: x\nchapter: 24\nnote: gate #3\n",
        3,
        12,
        "the text ends before `#3`, as # after a space begins a comment",
    ),
    Bad("note: a\x00b\n", 1, 8, "there is an unseen control character here (U+0000)"),
    Bad('note: "abc\n', 1, 7, "the quotes opened here are never closed"),
    Bad(
        "controls: [a, b\nnote: x\n",
        1,
        11,
        "the list in [ ] that begins here is not closed properly",
    ),
    Bad("controls: {a: 1\n", 1, 11, "what is in { } from here is not closed properly"),
    Bad("note: @x\n", 1, 7, "a text may not begin with this character"),
    Bad("note: a: b\n", 1, 8, "a colon that makes a key is not expected here"),
    Bad("note\n", 1, 1, "this line has no colon"),
    Bad("- a\n", 1, 1, "this does not fit here: a key and a colon were expected"),
    Bad('note: "\\q"\n', 1, 8, "the backslash in double quotes means something else here"),
    Bad("note: > x\n", 1, 9, "text after > or | must begin on the next line"),
    Bad(
        "controls:\n   a: {positions: [X, Y]}\n  b: {positions: [X, Y]}\n",
        3,
        3,
        "this does not fit here: a key and a colon were expected",
    ),
    Bad(
        "note: ]\n",
        1,
        7,
        "something is missing before this bracket, or the bracket is one too many",
    ),
    Bad("[a]: b\n", 1, 1, "a key must be a name"),
    Bad("? {a: b}\n: c\n", 1, 3, "a key must be a name"),
    Bad("note: - a\n", 1, 7, "a list with dashes must begin on a line of its own"),
    Bad(" note: a\n", 1, 6, "a colon that makes a key is not expected here"),
    Bad("gizmos:\n  a: {}\n", 1, 1, "the chapter file has no key `gizmos`"),
    Bad("control:\n  a: {}\n", 1, 1, "the chapter file has no key `control`"),
    Bad("controls:\n  a: {position: [X, Y]}\n", 2, 7, "`a` has no key `position`"),
    Bad("controls:\n  a: {levels: [X, Y]}\n", 2, 6, "`a` has no `positions`"),
    Bad("controls:\n  a: x\n", 2, 6, "`a` is not a mapping of keys"),
    Bad("controls:\n  a:\n", 2, 5, "`a` is not a mapping of keys"),
    Bad("controls:\n", 1, 1, "nothing stands after `controls:`"),
    Bad("controls: [x]\n", 1, 11, "`controls` wants a mapping of names"),
    Bad("controls:\n  a: {positions: [X]}\n", 2, 18, "`positions` needs at least two"),
    Bad("controls:\n  a: {positions: [X, x]}\n", 2, 18, "`positions` needs at least two"),
    Bad(
        "controls:\n  a: {positions: {X: Y}}\n",
        2,
        18,
        "`positions` wants a list of words, such as [OFF, ON]",
    ),
    Bad(
        "controls:\n  a: {positions: [X, Y], normally: Z}\n",
        2,
        36,
        "`Z` is not one of the positions",
    ),
    Bad("controls:\n  a: {positions: [X, Y], guarded: maybe}\n", 2, 35, "`maybe` is not yes or no"),
    Bad(
        "controls:\n  a: {positions: [X, Y], springs: {Z: X}}\n",
        2,
        36,
        "`Z` is not one of the positions",
    ),
    Bad(
        "controls:\n  a: {positions: [X, Y], springs: {X: X}}\n", 2, 36, "X cannot spring to itself"
    ),
    Bad(
        "controls:\n  a: {positions: [X, Y], fails: [stops]}\n",
        2,
        34,
        "`stops` is not a failure mode of this thing",
    ),
    Bad(
        "controls:\n  a: {positions: [X, Y], drops to Z when: always}\n",
        2,
        26,
        "there is no position Z",
    ),
    Bad("controls:\n  a (b): {positions: [X, Y]}\n", 2, 3, "a name has no brackets or commas"),
    Bad(
        "controls:\n  a and b: {positions: [X, Y]}\n",
        2,
        3,
        "`and` cannot be part of a name: it joins conditions",
    ),
    Bad("controls:\n  a <n>: {positions: [X, Y]}\n", 2, 5, "`<n>` stands for nothing here"),
    Bad(
        "controls:\n  a <n>: {positions: [X, Y], for each: n of 1 2}\n",
        2,
        40,
        "`for each` wants a letter and its members, a hundred at most",
    ),
    Bad(
        "controls:\n  a <n>: {positions: [X, Y], for each: n in [1, 2]}\n",
        2,
        10,
        "what is in { } from here is not closed properly",
    ),
    Bad(
        "controls:\n  a: {positions: [X, Y]}\nunits:\n  A: {}\n",
        4,
        3,
        "`A` is declared twice; it already names a control in chapters/24-test.yaml, line 4",
    ),
    Bad(
        "controls:\n  a: {positions: [X, Y], also called: b}\nunits:\n  b: {}\n",
        4,
        3,
        "`b` is declared twice; it already names a control in chapters/24-test.yaml, line 4",
    ),
    Bad("readings:\n  p: {range: 0 to 5}\n", 2, 6, "`p` has no `unit`"),
    Bad(
        "readings:\n  p: {unit: parsec, range: 0 to 5}\n",
        2,
        13,
        "`parsec` is not a unit known here",
    ),
    Bad("readings:\n  p: {unit: psi, range: 5}\n", 2, 25, "`5` is not a range"),
    Bad("readings:\n  p: {unit: psi, range: 5 to 1}\n", 2, 25, "the range has no width"),
    Bad("readings:\n  p: {unit: psi, range: a to 1}\n", 2, 25, "`a to 1` is not a number"),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, normally: 7}\n",
        2,
        43,
        "7 is outside the range of `p`: 0 to 5",
    ),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, fails: [stops]}\n",
        2,
        41,
        "`stops` is not a failure mode of a reading",
    ),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, fails: [reads 9]}\n",
        2,
        41,
        "`reads 9` is outside the range",
    ),
    Bad(
        "readings:\n"
        "  p: {unit: psi, range: 0 to 5, follows: [{reads: 1}], moves: [{to: 1, rate: 2}]}\n",
        2,
        6,
        "`p` has both `follows` and `moves`",
    ),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, moves: [{to: 1, rate: 0}]}\n",
        2,
        55,
        "a rate must be more than zero",
    ),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, moves: [{to: 1, rate: 5 psi}]}\n",
        2,
        55,
        "`5 psi` does not say in which time",
    ),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, moves: [{to: 1}]}\n",
        2,
        41,
        "a row of `moves` has no `rate`",
    ),
    Bad("situations:\n  g: {normally: perhaps}\n", 2, 17, "`perhaps` is not yes or no"),
    Bad("means:\n  m: {}\n", 2, 6, "`m` has no `when`"),
    Bad('means:\n  m: {when: ""}\n', 2, 13, "`when` states no condition"),
    Bad("means:\n  m: {when any of: always}\n", 2, 20, "`when any of` wants named ways"),
    Bad(
        "means:\n  m: {when: [always, {source: 1}]}\n",
        2,
        22,
        "the statement under `when` has no `when`",
    ),
    Bad(
        "units:\n  u: {kind: pump, fails: [stuck open]}\n",
        2,
        27,
        "`stuck open` is not a failure mode of this thing",
    ),
    Bad("units:\n  u: {needs: [b]}\n", 2, 15, "there is nothing called `b` in this book"),
    Bad("units:\n  u: {}\n  v: {needs: [u]}\n", 3, 15, "it is not said what `u` is doing"),
    Bad("units:\n  u: {feeds one: [u]}\n", 2, 19, "`u` is a unit; a supply is expected here"),
    Bad("supplies:\n  s: {levels: [lost]}\n", 2, 15, "`levels` needs at least two"),
    Bad("supplies:\n  s: {fed by: [u]}\n", 2, 16, "there is nothing called `u` in this book"),
    Bad("supplies:\n  s: {fed by: [s via s]}\n", 2, 18, "`via` does not fit here"),
    Bad(
        "supplies:\n  s: {}\n  t: {fed by: [{from: s, delivers: full}]}\n",
        3,
        36,
        "`full` is not one of the levels",
    ),
    Bad(
        "supplies:\n  s: {}\n  t: {fed by: [{from: s, delivers: lost}]}\n",
        3,
        36,
        "lost is the lowest level: nothing is delivered",
    ),
    Bad(
        "supplies:\n  s: {}\n  t: {fed by: [{through: s}]}\n",
        3,
        16,
        "a row of `fed by` has no `from`",
    ),
    Bad(
        "surfaces:\n  f: {points: [A, B], drives: {d: {to: C}}}\n",
        2,
        40,
        "`C` is neither a point nor a control",
    ),
    Bad(
        "controls:\n"
        "  l: {positions: [A, C]}\n"
        "surfaces:\n"
        "  f: {points: [A, B], drives: {d: {to: l}}}\n",
        4,
        40,
        "`f` has no point C as `l` has",
    ),
    Bad(
        "surfaces:\n  f: {points: [A, B], drives: {d: {to: A, takes: 5}}}\n",
        2,
        50,
        "the time has no unit",
    ),
    Bad(
        "surfaces:\n  f: {points: [A, B], drives: {d: {to: A, takes: 5 kg}}}\n",
        2,
        50,
        "`5 kg` is not a time",
    ),
    Bad(
        "surfaces:\n  f: {points: [A, B], falls to C when: always}\n", 2, 23, "there is no point C"
    ),
    Bad("latches:\n  l: {set when: always}\n", 2, 6, "`l` has no `cleared when`"),
    Bad("indications:\n  i: {level: danger}\n", 2, 14, "`danger` is not a level"),
    Bad("indications:\n  i: {shows: q}\n", 2, 14, "there is nothing called `q` in this book"),
    Bad("units:\n  u: {why: [because]}\n", 2, 13, "a reason says of what kind it is"),
    Bad("units:\n  u: {why: [{computed: a, regulation: b}]}\n", 2, 13, "a reason has one kind"),
    Bad(
        "units:\n  u: {applies to: T7}\n",
        2,
        19,
        "`T7` is not a variant, option or service bulletin",
    ),
    Bad(
        "units:\n  u: {applies to: serials 9-5}\n", 2, 19, "`9-5` is not a range of serial numbers"
    ),
    Bad("groups:\n  g: [x]\n", 2, 7, "there is nothing called `x` in this book"),
    Bad("groups:\n  g:\n", 2, 3, "the group `g` has no list of members"),
    Bad("units:\n  u: {}\ngroups:\n  u: [u]\n", 4, 3, "`u` is declared twice"),
    Bad("impossible:\n  - {source: x}\n", 2, 5, "`impossible` has no `when`"),
    Bad("impossible: always\n", 1, 13, "`impossible` wants a list of mappings"),
    Bad(
        "controls:\n  a: {positions: [X, Y]}\n    b: 1\n",
        3,
        5,
        "this does not fit here: a key and a colon were expected",
    ),
    Bad('note: "a" b\n', 1, 11, "this does not fit here: a key and a colon were expected"),
    Bad("controls:\n- a\n-b\n", 3, 1, "this line has no colon"),
    Bad("note: `x`\n", 1, 7, "a text may not begin with this character"),
    Bad("note: {a: b}}\n", 1, 13, "this does not fit here: a key and a colon were expected"),
    Bad("title2: x\n\t\tb: 1\n", 2, 1, "the line is indented with a tab"),
    Bad("note: ab\x85c\n", 1, 9, "there is an unseen control character here (U+0085)"),
    Bad("note: a\u00adb\n", 1, 8, "there is an unseen control character here (U+00AD)"),
    Bad("note: !ruby x\n", 1, 7, "`!ruby` is a YAML tag; a book has none"),
    Bad("means:\n  m: {when: always, source: 28-20, p.6}\n", 2, 36, "`m` has no key `p.6`"),
    Bad("means:\n  m: {when: any of (always, never)}\n", 2, 27, "a bracket is not closed"),
    Bad(
        "surfaces:\n  f: {points: [A, B], falls to A when: {when: always, takes: 5}}\n",
        2,
        62,
        "the time has no unit",
    ),
    Bad(
        "units:\n  u: {kind: pump, runs when any of: {}}\n",
        2,
        37,
        "`runs when any of` wants named ways",
    ),
    Bad("units:\n  u: {runs when: []}\n", 2, 18, "`runs when` has an empty list"),
    Bad(
        "controls:\n"
        "  true: {positions: [X, Y]}\n"
        "  a:\n"
        "    positions: [X, Y]\n"
        "    drops to X when:\n"
        "      when: a at Z\n",
        6,
        18,
        "`a` has no position Z: it has X, Y",
    ),
    Bad(
        "means:\n  m:\n    when: >\n      always and\n      b running\n",
        5,
        7,
        "there is nothing called `b` in this book",
    ),
    Bad(
        "means:\n  m:\n    when: always and\n      b running\n",
        4,
        7,
        "there is nothing called `b` in this book",
    ),
    Bad(
        "means:\n  m: {when: 'always and b running'}\n",
        2,
        25,
        "there is nothing called `b` in this book",
    ),
    Bad(
        "units:\n  pump <n>:\n    for each: n in [1, 2]\n    runs when: pump <n> runnning\n",
        4,
        25,
        "`runnning` does not fit `pump 1`, which is a unit",
    ),
    Bad("impossible:\n  - on groud\n", 2, 5, "there is nothing called `on groud` in this book"),
    Bad(
        "supplies:\n  s: {fed by: [s through u]}\n",
        2,
        26,
        "there is nothing called `u` in this book",
    ),
    Bad(
        "supplies:\n  s: {fed by: [{from: s, through: [always, u]}]}\n",
        2,
        44,
        "there is nothing called `u` in this book",
    ),
    Bad(
        'controls:\n  n: {positions: ["", Y]}\n',
        2,
        18,
        "`positions` wants a list of words, such as [OFF, ON]",
    ),
    Bad('units:\n  u: {why: {computed: "a, b", sauce: c}}\n', 2, 31, "a reason has no key `sauce`"),
    Bad(
        "latches:\n  l: {set when: always, cleared when: never, set wins: often}\n",
        2,
        56,
        "`often` is not yes or no",
    ),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, follows: [{reads: 9}]}\n",
        2,
        51,
        "9 is outside the range of `p`: 0 to 5",
    ),
    Bad(
        "readings:\n  p: {unit: psi, range: 0 to 5, starts at: 1}\n",
        2,
        44,
        "`p`: it has `normally` instead",
    ),
    Bad("readings:\n  p: {unit: bars, range: 0 to 5}\n", 2, 13, "`bars` is not a unit known here"),
    Bad(
        "indications:\n  i: {fails: [stops]}\n",
        2,
        15,
        "`stops` is not a failure mode of this thing",
    ),
    Bad(
        "units:\n  u: {}\ngroups:\n  g: [u]\nmeans:\n  m: {when: g running}\n",
        6,
        13,
        "`g` is a group: say of how many of them this is so",
    ),
)


# Things that the conditions below may speak of.
BOOK = """\
controls:
  switch: {positions: [OFF, ON]}
  lever: {positions: [UP, DOWN]}
readings:
  pressure: {unit: psi, range: 0 to 3000}
  speed: {unit: kt, range: 0 to 400}
situations:
  on ground: {}
units:
  pump 1: {kind: pump, fails: [stops]}
  pump 2: {kind: pump}
supplies:
  system: {kind: circuit, fed by: pump 1}
  bus: {kind: bus, fed by: pump 2}
surfaces:
  flaps: {points: [UP, 5, 20]}
groups:
  pumps: [pump 1, pump 2]
means:
"""

# Conditions, with the column within the condition.
CONDITIONS: tuple[tuple[str, int, str], ...] = (
    ("", 0, "`when` states no condition"),
    ("pump 1", 1, "it is not said what `pump 1` is doing"),
    ("pump 1 runing", 8, "`runing` does not fit `pump 1`, which is a unit"),
    ("pump 3 running", 1, "there is nothing called `pump 3` in this book"),
    ("pmup 1 running", 1, "there is nothing called `pmup 1` in this book"),
    ("switch at FEED", 11, "`switch` has no position FEED: it has OFF, ON"),
    ("switch at DOWN", 11, "`switch` has no position DOWN: it has OFF, ON"),
    ("switch ON", 8, "`ON` does not fit `switch`, which is a control"),
    ("switch is at ON", 8, "`is` does not fit `switch`, which is a control"),
    ("pressure above 100", 16, "the number has no unit; `pressure` is in psi"),
    ("pressure above 100 kt", 16, "kt measures speed, psi measures pressure; `pressure` is in psi"),
    ("pressure above 100 parsec", 16, "parsec is not a unit known here; `pressure` is in psi"),
    ("pressure above high", 16, "a number in psi is expected here, not `high`"),
    ("pressure > 100 psi", 10, "`>` does not fit `pressure`, which is a reading"),
    (
        "pressure above 5000 psi",
        16,
        "`pressure` never comes to 5000 psi: its range is 0 to 3000 psi",
    ),
    ("pressure between 20 and 10 psi", 18, "the bigger number stands first"),
    ("pressure between 10 psi", 23, "`and` with the second number is missing"),
    ("pressure between 10 and 20", 25, "the number has no unit; `pressure` is in psi"),
    ("speed", 1, "it is not said what `speed` is doing"),
    ("on ground running", 11, "`running` does not fit here: the statement before it is complete"),
    ("on ground and", 13, "a statement is missing here"),
    ("and on ground", 1, "a statement is missing here"),
    (
        "on ground and pump 1 running or pump 2 running",
        30,
        "`and` and `or` stand side by side, so the sense is open",
    ),
    ("(on ground", 10, "a bracket is not closed"),
    ("on ground)", 10, "this bracket closes nothing"),
    ("any of (on ground, pump 1 running", 33, "a bracket is not closed"),
    ("any of on ground", 8, "a list in brackets is expected here"),
    ("at least 3 of (on ground, pump 1 running)", 10, "there are only 2 in the list"),
    ("at least two of (on ground)", 10, "a whole number from 1 up is expected here"),
    ("at least 3 pumps running", 1, "`pumps` has 2 members"),
    ("pumps running", 1, "`pumps` is a group: say of how many of them this is so"),
    ("any pump 1 running", 1, "`pump 1` is one thing, not a group"),
    ("any valve running", 5, "there is no group `valve` in this book"),
    ("any pump at ON", 10, "`at` does not fit `pump 1`, which is a unit"),
    ("both pumps runing", 12, "`runing` does not fit `pump 1`, which is a unit"),
    ("on ground for 3", 15, "the time has no unit"),
    ("on ground for 3 kg", 15, "`3 kg` is not a time"),
    ("on ground for 0 s", 15, "the time must be more than zero"),
    ("on ground for", 13, "a time such as `3 s` is expected here"),
    (
        "on ground comes on",
        11,
        "`comes on` is a moment, not a state: it can only set or clear a latch",
    ),
    ("flaps at 40", 10, "`flaps` has no point 40: it has UP, 5, 20"),
    ("flaps between 20 and 5", 15, "20 comes after 5"),
    ("flaps above", 11, "a point of `flaps` is missing: it has UP, 5, 20"),
    ("bus pressurised", 5, "`pressurised` does not fit `bus`, which is a supply"),
    ("system fed by lever", 15, "`lever` is a control; only a unit or a supply feeds"),
    ("system fed by", 13, "a statement is missing here"),
    ("system below full", 14, "`system` has no level full: it has lost, normal"),
    ("pump 2 failed", 8, "`failed` does not fit `pump 2`, which is a unit"),
    ("pump 1 closed", 8, "`closed` does not fit `pump 1`, which is a unit"),
    ("true switch at ON", 1, "`switch` is a control; only a reading has a true value"),
    ("true", 4, "a statement is missing here"),
    ("not", 3, "a statement is missing here"),
    ("not not not on ground", 13, "`not` stands here three times"),
    ("x <n> running", 3, "`<n>` stands for nothing here"),
    ("on ground, pump 1 running", 10, "a comma may only stand in a list such as `any of (a, b)`"),
    (
        "on ground pump 1 running",
        11,
        "`pump` does not fit here: the statement before it is complete",
    ),
    (
        "((((((((((((((((((((((((((((((((((((((((on ground))))))))))))))))))))))))))))))))))))))))",
        31,
        "the brackets are nested too deeply",
    ),
    ("on ground for 2 s for 2 s for 2 s", 27, "too many times one after the other"),
    ("speed above 1e3 kt", 13, "e3 is not a unit known here; `speed` is in kt"),
    (
        "speed above 99999999999999999999999999999999999999999999 kt",
        13,
        "the number is too long",
    ),
    ("any", 1, "`any` what? The name of a group is missing"),
    ("no", 1, "`no` what? The name of a group is missing"),
    ("every pump", 7, "it is not said what `pump 1` is doing"),
    ("pump 1 running and pmp 2 running", 20, "there is nothing called `pmp 2` in this book"),
    ("system at least reduced", 17, "`system` has no level reduced: it has lost, normal"),
    ("speed below 300 km", 13, "km measures length, kt measures speed; `speed` is in kt"),
    ("speed below 1,200 kt", 13, "`speed` never comes to 1,200 kt: its range is 0 to 400 kt"),
    ("pressure at high", 13, "a number in psi is expected here, not `high`"),
    ("flaps between UP", 16, "`and` with the second place is missing"),
    ("no pump at 5", 9, "`at` does not fit `pump 1`, which is a unit"),
    ("at least 1 pumps of", 18, "`of` does not fit `pump 1`, which is a unit"),
    ("is on ground", 1, "a statement is missing here"),
    ("any of (on ground) and (", 24, "a bracket is not closed"),
    ("any pump running for", 20, "a time such as `3 s` is expected here"),
    ("bus open", 5, "`open` does not fit `bus`, which is a supply"),
    ("flaps moving to 5", 14, "`to` does not fit here: the statement before it is complete"),
    ("none of ()", 10, "a statement is missing here"),
    ("on ground comes", 11, "`comes` does not fit here: the statement before it is complete"),
    ("flaps not", 1, "it is not said what `flaps` is doing"),
)


# Type files and claims that go with the book above.
TYPES: tuple[Bad, ...] = (
    Bad("type: X\n", 1, 1, "the type file has no `variants`"),
    Bad("", 1, 1, "the file type.yaml is empty"),
    Bad("type: x\nvariants: x\n", 2, 11, "`variants` wants a mapping of names"),
    Bad("type: x\nvariants: {}\n", 2, 11, "there is no variant"),
    Bad(
        "type: x\nvariants:\n  A: {serials: x}\n",
        *(3, 16, "`x` is not a range of serial numbers"),
    ),
    Bad(
        "type: x\nvariants:\n  A: {serials: 1-5}\n  B: {serials: 5-6}\n",
        *(3, 3, "serial 5 belongs to A and to B"),
    ),
    Bad("type: x\nvariants: {A: 1-5}\noptions: {a: 1-2}\n", 3, 11, "`a` is declared twice"),
    Bad(
        "type: x\nvariants: {A: 1-5}\nstarting states:\n  s: {zz: 1}\n",
        *(4, 7, "there is nothing called `zz` in this book"),
    ),
    Bad(
        "type: x\nvariants: {A: 1-5}\nstarting states:\n  s: {switch: UP}\n",
        *(4, 15, "`UP` is not one of the positions"),
    ),
    Bad(
        "type: x\nvariants: {A: 1-5}\nstarting states:\n  s: {pump 1: running}\n",
        *(4, 7, "`pump 1` is a unit: its state follows from the rest"),
    ),
    Bad(
        "type: x\nvariants: {A: 1-5}\nstarting states:\n  s: {speed: 900}\n",
        *(4, 14, "900 is outside the range of `speed`: 0 to 400"),
    ),
    Bad(
        "type: x\nvariants: {A: 1-5}\nstarting states:\n  s: {on ground: maybe}\n",
        *(4, 18, "`maybe` is not yes or no"),
    ),
    Bad(
        "type: x\nvariants: {A: 1-5}\nstarting states: {s: 3}\n",
        *(3, 22, "`s` wants states by thing"),
    ),
)
CLAIMS: tuple[Bad, ...] = (
    Bad("a: b\n", 1, 1, "the file is not a list of claims"),
    Bad("- x\n", 1, 3, "a claim is not a mapping of keys"),
    Bad(
        "- {claim: on ground}\n",
        *(1, 11, "the claim does not say whether it is so always, never or when"),
    ),
    Bad("- {claim: if on ground}\n", 1, 11, "`if` stands here without `then`"),
    Bad("- claim: always on gruond\n", 1, 17, "there is nothing called `on gruond` in this book"),
    Bad(
        "- claim: never on ground\n  given: at most x failures\n",
        *(2, 10, "`x` is not a number of failures from 0 to 999"),
    ),
    Bad("- {claim: never on ground, from: x}\n", 1, 34, "`x` is not a starting state"),
    Bad(
        "- claim: if on ground then pump 9 running\n",
        *(1, 28, "there is nothing called `pump 9` in this book"),
    ),
    Bad("- {clam: never on ground}\n", 1, 4, "a claim has no key `clam`"),
)


ONE = "procedures:\n  p: {kind: flow, done from: normal, "

PROCEDURES: tuple[Bad, ...] = (
    Bad("title: x\n", 1, 1, "the procedure file has no `procedures`"),
    Bad("procedures: {}\n", 1, 13, "there is no procedure"),
    Bad("procedures: [p]\n", 1, 13, "`procedures` wants a mapping of names"),
    Bad("procedures:\n  p: x\n", 2, 6, "`p` is not a mapping of keys"),
    Bad(
        "procedures:\n  p: {kind: flwo, done from: normal, steps: [{say: x}]}\n",
        *(2, 13, "`flwo` is not a kind of procedure"),
    ),
    Bad(
        "procedures:\n  p: {kind: flow, steps: [{say: x}]}\n",
        *(2, 6, "`p` has no `done from`; a flow wants it"),
    ),
    Bad(
        "procedures:\n  p: {kind: memory items, steps: [{say: x}]}\n",
        *(2, 6, "`p` has no `called for when`; memory items want it"),
    ),
    Bad(
        "procedures:\n  p: {kind: non-normal checklist, steps: [{say: x}]}\n",
        *(2, 6, "`p` has no `called for when`; a non-normal checklist wants it"),
    ),
    Bad(
        "procedures:\n  p: {kind: flow, done from: nrmal, steps: [{say: x}]}\n",
        *(2, 30, "`nrmal` is not a starting state"),
    ),
    Bad(f"{ONE}secures: pmup 1 running, steps: [{{say: x}}]}}\n", 2, 47,
        "there is nothing called `pmup 1` in this book"),
    Bad(f"{ONE}called for when: on grund, steps: [{{say: x}}]}}\n", 2, 55,
        "there is nothing called `on grund` in this book"),
    Bad(f"{ONE}stepps: [{{say: x}}]}}\n", 2, 38, "`p` has no key `stepps`"),
    Bad(f"{ONE}note: x}}\n", 2, 6, "`p` has no `steps`"),
    Bad(f"{ONE}steps: x}}\n", 2, 45, "`steps` wants a list of steps, each after a dash"),
    Bad(f"{ONE}steps: []}}\n", 2, 45, "`steps` has an empty list"),
    Bad(f"{ONE}steps: [x]}}\n", 2, 46, "the step is not a mapping of keys"),
    Bad(f"{ONE}steps: [{{doo: x}}]}}\n", 2, 47, "the step has no key `doo`"),
    Bad(f"{ONE}steps: [{{note: x}}]}}\n", 2, 46, "the step does not say what is done"),
    Bad(f"{ONE}steps: [{{say: x, do: switch at ON}}]}}\n", 2, 46, "a step does one thing"),
    Bad(f"{ONE}steps: [{{do: swich at ON}}]}}\n", 2, 51,
        "there is nothing called `swich` in this book"),
    Bad(f"{ONE}steps: [{{do: switch at OM}}]}}\n", 2, 61,
        "`switch` has no position OM: it has OFF, ON"),
    Bad(f"{ONE}steps: [{{do: 'switch: ON'}}]}}\n", 2, 51, "`switch: ON` is written with a colon"),
    Bad(f"{ONE}steps: [{{do: flaps at 5}}]}}\n", 2, 51,
        "`flaps at 5` cannot be done by hand: only a control goes where it is moved"),
    Bad(f"{ONE}steps: [{{do: switch at ON or lever at UP}}]}}\n", 2, 51,
        "`switch at ON or lever at UP` cannot be done by hand: only a control goes where it is "
        "moved"),
    Bad(f"{ONE}steps: [{{do: switch at ON and switch at OFF}}]}}\n", 2, 51,
        "`switch` goes to two positions in one step"),
    Bad(f"{ONE}steps: [{{check: pump 1 runing}}]}}\n", 2, 61,
        "`runing` does not fit `pump 1`, which is a unit"),
    Bad(f"{ONE}steps: [{{wait: 5 parsecs}}]}}\n", 2, 53, "`5 parsecs` is not a time"),
    Bad(f"{ONE}steps: [{{if: on ground}}]}}\n", 2, 46, "`if` stands here without `then`"),
    Bad(f"{ONE}steps: [{{say: x, then: [{{say: y}}]}}]}}\n", 2, 46,
        "`then` stands here without `if`"),
    Bad(f"{ONE}steps: [{{if: on ground, then: [{{do: levr at UP}}]}}]}}\n", 2, 74,
        "there is nothing called `levr` in this book"),
    Bad(f"{ONE}steps: [{{say: x, from memory: often}}]}}\n", 2, 68, "`often` is not yes or no"),
    Bad(f"{ONE}steps: [{{say: x, applies to: T9}}]}}\n", 2, 67,
        "`T9` is not a variant, option or service bulletin"),
    Bad(
        "procedures:\n  p: {kind: flow, done from: normal, steps: [{say: x}]}\n"
        "  p <n>:\n    kind: flow\n    done from: normal\n    for each: n in [1, 1]\n"
        "    steps: [{say: x}]\n",
        *(3, 3, "`p 1` is declared twice; it is already in procedures/test.yaml, line 3"),
    ),
)  # fmt: skip


LIMIT = "title: Speeds\nlimits:\n  top: {"

NUMBERS: tuple[Bad, ...] = (
    Bad("limits: {}\n", 1, 1, "the numbers file has no `title`"),
    Bad("title: x\n", 1, 1, "the numbers file has no `limits`"),
    Bad("title: x\nlimits: {}\n", 2, 9, "there is no limit"),
    Bad("title: x\nlimits: [top]\n", 2, 9, "`limits` wants a mapping of names"),
    Bad("title: x\nlimts:\n  top: {at most: 5 kt}\n", 2, 1, "the numbers file has no key `limts`"),
    Bad("title: x\nlimits:\n  top: 165 kt\n", 3, 8, "`top` is not a mapping of keys"),
    Bad("title: x\nlimits:\n  top: []\n", 3, 8, "`top` has an empty list"),
    Bad("title: x\nlimits:\n  top (1): {at most: 5 kt}\n",
        *(3, 3, "a name has no brackets or commas")),
    Bad(f"{LIMIT}at mots: 5 kt}}\n", 3, 9, "`top` has no key `at mots`"),
    Bad(f"{LIMIT}note: x}}\n", 3, 8, "`top` has no number"),
    Bad(f"{LIMIT}at most: 5 kt, at least: 2 kt}}\n", 3, 8, "`top` has more than one number"),
    Bad(f"{LIMIT}at most: }}\n", 3, 9, "nothing stands after `at most:`"),
    Bad(f"{LIMIT}at most: fast}}\n", 3, 18, "a number is expected here, not `fast`"),
    Bad(f"{LIMIT}at most: 165}}\n", 3, 18, "the number has no unit"),
    Bad(f"{LIMIT}at most: 165 knotts}}\n", 3, 18, "`knotts` is not a unit known here"),
    Bad(f"{LIMIT}at most: 165 kt indicated}}\n", 3, 25, "`indicated` does not fit here"),
    Bad(f"{LIMIT}at most: '165 kt, 180 kt'}}\n", 3, 25, "`,` does not fit here"),
    Bad(f"{LIMIT}between: 90 V}}\n", 3, 22, "`and` with the second number is missing"),
    Bad(f"{LIMIT}between: 110 and 90 V}}\n", 3, 18, "the bigger number stands first"),
    Bad(f"{LIMIT}between: 3 kt and 90 V}}\n", 3, 18,
        "kt measures speed, V measures voltage; `top` is in V"),
    Bad(f"{LIMIT}at most: 3, unit: nun}}\n", 3, 27, "`nun` is not a unit known here"),
    Bad(f"{LIMIT}at most: 5 kt, of: sped}}\n", 3, 28,
        "there is nothing called `sped` in this book"),
    Bad(f"{LIMIT}at most: 5 kt, of: flaps}}\n", 3, 28,
        "`flaps` is a surface; a reading is expected here"),
    Bad(f"{LIMIT}at most: 5 psi, of: speed}}\n", 3, 18,
        "psi measures pressure, kt measures speed; `speed` is in kt"),
    Bad(f"{LIMIT}at most: 5, of: speed}}\n", 3, 18, "the number has no unit; `speed` is in kt"),
    Bad(f"{LIMIT}at most: 5 kt, of: [speed, pressure]}}\n", 3, 18,
        "kt measures speed, psi measures pressure; `pressure` is in psi"),
    Bad(f"{LIMIT}at most: 5 kt, of: speed, unit: kt}}\n", 3, 41, "`top` has the unit of `speed`"),
    Bad(f"{LIMIT}at most: 5 kt, when: flaps at 25}}\n", 3, 39,
        "`flaps` has no point 25: it has UP, 5, 20"),
    Bad(f"{LIMIT}at most: 5 kt, from memory: often}}\n", 3, 37, "`often` is not yes or no"),
    Bad(f"{LIMIT}at most: 5 kt, applies to: T9}}\n", 3, 36,
        "`T9` is not a variant, option or service bulletin"),
    Bad(f"{LIMIT}at most: 5 kt, why: heat}}\n", 3, 29, "a reason says of what kind it is"),
    Bad(f"{LIMIT}at most: 5 kt}}\n  top <n>:\n    at most: 5 kt\n", 4, 7,
        "`<n>` stands for nothing here"),
    Bad(
        f"{LIMIT}at most: 5 kt}}\n  <w>:\n    for each: w in [top]\n    at most: 6 kt\n",
        *(4, 3, "`top` is declared twice; it is already in numbers/test.yaml, line 3"),
    ),
)  # fmt: skip


def check(found: tuple[Diagnostic, ...], bad: Bad, file: str, head: int = 0) -> None:
    """The first diagnostic is the expected one, and every one is complete."""
    first = found[0]
    place = (first.place.file, first.place.line - head, first.place.column)
    assert (*place, first.message) == (file, bad.line, bad.column, bad.message)
    for diagnostic in found:
        assert diagnostic.mend
        assert len(render(diagnostic).splitlines()) in {2, 4}


@pytest.mark.parametrize("bad", CHAPTERS, ids=lambda bad: bad.message[:50])
def test_chapter(bad: Bad) -> None:
    headed = "chapter:" in bad.text
    book, found = read_text(bad.text)
    check(found, bad, "chapters/24-test.yaml", 0 if headed else HEAD.count("\n"))
    assert book is None


@pytest.mark.parametrize(("text", "column", "message"), CONDITIONS)
def test_condition(text: str, column: int, message: str) -> None:
    head = f"{HEAD}{BOOK}  test: {{when: "
    book, found = read_text(f'{head}"{text}"}}\n')
    before = len(head) - head.rindex("\n")
    bad = Bad(text, head.count("\n") + 1, before + column, message)
    check(found, bad, "chapters/24-test.yaml")
    assert (book is None) == (found[0].kind == "error")


@pytest.mark.parametrize("bad", TYPES, ids=lambda bad: bad.message[:50])
def test_type_file(bad: Bad) -> None:
    book, found = read_text(BOOK.removesuffix("means:\n"), bad.text)
    assert book is None
    check(found, bad, "type.yaml")


@pytest.mark.parametrize("bad", CLAIMS, ids=lambda bad: bad.message[:50])
def test_claims(bad: Bad) -> None:
    book, found = read_text(BOOK.removesuffix("means:\n"), claims=bad.text)
    assert book is None
    check(found, bad, "claims.yaml")


@pytest.mark.parametrize("bad", PROCEDURES, ids=lambda bad: bad.message[:50])
def test_procedures(bad: Bad) -> None:
    book, found = read_text(BOOK.removesuffix("means:\n"), procedures=bad.text)
    assert book is None
    check(found, bad, "procedures/test.yaml")


@pytest.mark.parametrize("bad", NUMBERS, ids=lambda bad: bad.message[:50])
def test_numbers(bad: Bad) -> None:
    book, found = read_text(BOOK.removesuffix("means:\n"), numbers=bad.text)
    assert book is None
    check(found, bad, "numbers/test.yaml")


def test_all_errors_of_a_book_come_in_one_go() -> None:
    chapter = BOOK + "  one: {when: pmp 1 running and pump 2 runs}\n  two: {wen: on ground}\n"
    _, found = read_text(chapter, "type: x\nvariants: {A: x}\n", "- {claim: on ground}\n")
    assert [(d.place.file, d.place.line, d.code) for d in found] == [
        ("chapters/24-test.yaml", 22, "unknown-name"),
        ("chapters/24-test.yaml", 22, "wrong-state"),
        ("chapters/24-test.yaml", 23, "unknown-key"),
        ("claims.yaml", 1, "claim"),
        ("type.yaml", 2, "serials"),
    ]


def test_names_are_not_called_unknown_while_a_file_cannot_be_read() -> None:
    _, found = read_text("units:\n  a: {runs when: zz running}\n", "type: [\n")
    assert {d.code for d in found} == {"yaml"}


HOSTILE: dict[str, str] = {
    "open brackets": "a: " + "[" * 300_000,
    "open braces": "{a: " * 300_000,
    "dashes": "- " * 500_000,
    "question marks": "? " * 500_000,
    "alias bomb": "a: &a [1]\n" + "".join(f"a{i}: &a{i} [*a, *a]\n" for i in range(20_000)),
    "many values": "note: [" + "a," * 900_000 + "a]",
    "many keys": "\n".join(f"k{i}: v" for i in range(90_000)),
    "one key": "k: v\n" * 90_000,
    "long key": "k" * 1_900_000 + ": v",
    "long condition": "means: {m: {when: '" + "x and " * 300_000 + "x'}}",
    "long number": "means: {m: {when: 'on ground for " + "9" * 1_000_000 + " s'}}",
    "brackets in a condition": "means: {m: {when: '" + "(" * 900_000 + "'}}",
    "nots": "means: {m: {when: '" + "not " * 2_000 + "x'}}",
    "tabs": "\ta: b\n" * 300_000,
    "unseen characters": "\x01" * 1_900_000,
    "unknown names": "means:\n" + "".join(f"  m{i}: {{when: z{i} on}}\n" for i in range(12_000)),
    "members": "units:\n" + "".join(
        f"  u{i} <n>:\n    for each: n in [{', '.join(map(str, range(99)))}]\n"
        for i in range(1_900)
    ),
    "groups": "units:\n" + "".join(f"  u{i}: {{}}\n" for i in range(100))
    + f"groups: {{g: [{', '.join(f'u{i}' for i in range(100))}]}}\nmeans:\n"
    + "".join(f"  m{i}: {{when: {' or '.join(['any g running'] * 40)}}}\n" for i in range(900)),
    "serials": "units:\n  u: {applies to: 'serials " + "1, " * 600_000 + "2'}",
    "comments": "a: b #c\n" * 200_000,
    "quote": 'a: "' + "\n" * 1_900_000,
    "spaces": " " * 1_900_000 + "a: b",
}  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_text_ends_soon_with_an_error(text: str) -> None:
    start = time.process_time()
    book, found = read_text(HEAD + text)
    assert time.process_time() - start < 5
    assert book is None
    assert 0 < len(found) <= 202
