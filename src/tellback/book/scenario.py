"""A scenario as frozen data: what happens when, and what it is expected to bring."""

from __future__ import annotations

from dataclasses import dataclass

from tellback.book.model import Effectivity, Statement, Why
from tellback.diagnostics import Place


@dataclass(frozen=True, slots=True)
class Setting:
    """What is put otherwise from outside in a scenario: a situation, a reading or a failure.

    `how` is `is` (at once: yes, no, or a number in the reading's unit), `goes` (a reading on its
    way to the number, in `seconds` or at `rate` a second, the other being 0), `fails` (in the mode
    that `state` names) or `works` (again).
    """

    thing: str
    how: str
    state: str = ""
    seconds: float = 0.0
    rate: float = 0.0


@dataclass(frozen=True, slots=True)
class Happening:
    """One step of a scenario: `kind` is do, set, carry out, ask, say or expect.

    It comes `at` so many seconds, or as soon as `when` holds, and `later` seconds after that; with
    none of them, at once after the step before. `statement` is what is done or expected, ALWAYS
    for the rest, with the text. `held` is how long a control that springs back is held, `pace` the
    seconds that each step of the `procedure` takes.
    """

    kind: str
    statement: Statement
    at: float | None = None
    when: Statement | None = None
    later: float = 0.0
    settings: tuple[Setting, ...] = ()
    procedure: str = ""
    held: float = 0.0
    pace: float = 0.0
    note: str = ""


@dataclass(frozen=True, slots=True)
class Expectation:
    """What a scenario is expected to bring: the statement's condition, and when it is so.

    `form` is `always`, `never`, `at` (`begins`), or `from`: so from `begins` (None: from the
    beginning) to `ends` (None: to the end) and neither just before nor just after. Times count as
    they are written, to `within` seconds.
    """

    statement: Statement
    form: str
    begins: float | None = None
    ends: float | None = None
    within: float = 0.5


@dataclass(frozen=True, slots=True)
class Scenario:
    """Events on a time line, from a starting state with changes; what they are expected to bring.

    It ends at `ends` seconds; if that is None, when all has happened and settled.
    """

    name: str
    start: str
    changes: tuple[tuple[str, str], ...]
    happenings: tuple[Happening, ...]
    expectations: tuple[Expectation, ...]
    ends: float | None
    source: str
    whys: tuple[Why, ...]
    applies: Effectivity
    note: str
    place: Place
