"""The type book as frozen data: what each kind of thing declares.

A `Book` holds every aeroplane of the fleet; `for_aeroplane` (in `tellback.book.effectivity`)
gives the book of one, in which every name is declared once and every statement applies.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tellback.book.conditions import Condition
from tellback.diagnostics import Place

if TYPE_CHECKING:
    from tellback.book.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Why:
    """A reason: `kind` is regulation, accident report, manufacturer, computed or instructor's view.

    A reason without a source counts as instructor's view.
    """

    kind: str
    text: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Effectivity:
    """To which aeroplanes something applies: any of `alternatives`, each a conjunction of terms.

    A term is (affirmed, word), the word a variant, option or bulletin by name, or `serials 5-12`.
    Without alternatives it applies to all.
    """

    alternatives: tuple[tuple[tuple[bool, str], ...], ...] = ()
    text: str = ""


@dataclass(frozen=True, slots=True)
class Statement:
    """A condition as the book states it, with what belongs to it.

    `key` is the key it stands under (`runs when`), `name` the name of the way, if it has one.
    """

    condition: Condition
    text: str
    place: Place
    key: str = ""
    name: str = ""
    source: str = ""
    whys: tuple[Why, ...] = ()
    applies: Effectivity = Effectivity()


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """What every named thing has. `name` is as declared, `index` the members of `for each`.

    `family` is the name as written with `<n>` (the same for all members), `index` the pairs
    (`n`, `1`) that were put in.
    """

    name: str
    place: Place
    chapter: str = ""
    form: str = ""
    also: tuple[str, ...] = ()
    source: str = ""
    whys: tuple[Why, ...] = ()
    applies: Effectivity = Effectivity()
    was: str = ""
    note: str = ""
    fails: tuple[str, ...] = ()
    family: str = ""
    index: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Control(Thing):
    """A switch, lever, selector, handle or push-button; `springs` maps a position to its return."""

    positions: tuple[str, ...]
    normally: str
    guarded: bool = False
    springs: tuple[tuple[str, str], ...] = ()
    drops: tuple[tuple[str, Statement], ...] = ()
    barred: tuple[tuple[str, Statement], ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a following or moving reading: the value, when, and the rate a second."""

    value: float
    when: Statement | None
    rate: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Thing):
    """A number in `unit` within [low, high].

    Outside (an input, with `normally`) unless it has `follows` rows or `moves` rows
    (`starts_at` is its value in a starting state). The first row that applies counts.
    """

    unit: str
    low: float
    high: float
    normally: float = 0.0
    follows: tuple[Row, ...] = ()
    moves: tuple[Row, ...] = ()

    @property
    def is_outside(self) -> bool:
        """Whether it is an input."""
        return not self.follows and not self.moves


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation(Thing):
    """A yes/no fact from outside."""

    normally: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Means(Thing):
    """A named internal yes/no; it holds when any of its ways is met."""

    ways: tuple[Statement, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit(Thing):
    """A component. Without ways it runs whenever it is available."""

    needs: tuple[Statement, ...] = ()
    ways: tuple[Statement, ...] = ()
    shed: tuple[Statement, ...] = ()
    feeds_one: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Feed:
    """One row of `fed by`: delivers `level` when the source is on and the path is closed.

    `source` names a unit or a supply; `through` are conditions (contactor closed, valve open or at
    a position) with their texts; `when` is None if the row has no condition of its own.
    """

    source: str
    through: tuple[Statement, ...]
    when: Statement | None
    level: str
    statement: Statement


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply(Thing):
    """A bus, circuit, duct or feed with levels from lowest (lost) to highest."""

    levels: tuple[str, ...] = ("lost", "normal")
    feeds: tuple[Feed, ...] = ()
    shed: tuple[Statement, ...] = ()


@dataclass(frozen=True, slots=True)
class Drive:
    """Moves a surface `to` a point, or to the position of a control (`to_control`).

    `takes` is the time in seconds for the whole travel; `only_toward` a point or empty.
    `when` is None for a drive that applies whenever its needs are met.
    """

    name: str
    to: str
    to_control: str
    when: Statement | None
    needs: tuple[Statement, ...]
    takes: float
    only_toward: str
    statement: Statement


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface(Thing):
    """Whatever has named points and travel; the first drive that applies acts."""

    points: tuple[str, ...]
    starts_at: str
    drives: tuple[Drive, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Latch(Thing):
    """A memory: set by one condition, cleared by another; clearing wins unless `set_wins`."""

    sets: tuple[Statement, ...]
    clears: tuple[Statement, ...]
    set_wins: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Indication(Thing):
    """A light, flag, gauge, message or sound; `shows` names the reading of a gauge."""

    level: str = ""
    ways: tuple[Statement, ...] = ()
    inhibits: tuple[Statement, ...] = ()
    resets: tuple[Statement, ...] = ()
    needs: tuple[Statement, ...] = ()
    shows: str = ""


@dataclass(frozen=True, slots=True)
class Variant:
    """A variant, option or service bulletin and the serial numbers that have it."""

    name: str
    serials: tuple[tuple[int, int], ...]
    place: Place


@dataclass(frozen=True, slots=True)
class StartingState:
    """A named starting state: pairs (thing, state or number as text) that differ from normal."""

    name: str
    settings: tuple[tuple[str, str], ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Claim:
    """What the instructor says, as a statement to prove: `always`, `never`, `if`, `only if`.

    `condition` is what must hold in every possible state that meets `given`; at most
    `failures` failures (None: any number). `start` limits to runs from one starting state.
    """

    text: str
    condition: Condition
    given: tuple[Condition, ...]
    given_text: tuple[str, ...]
    failures: int | None
    start: str
    source: str
    whys: tuple[Why, ...]
    applies: Effectivity
    place: Place


@dataclass(frozen=True, slots=True)
class Step:
    """One item of a procedure: `kind` is do, check, wait, if or say.

    `statement` is what is done, looked at, waited for or asked; ALWAYS for a wait of `seconds`
    and for what is only said. `then` and `otherwise` are the branches of an `if`.
    """

    kind: str
    statement: Statement
    seconds: float = 0.0
    then: tuple[Step, ...] = ()
    otherwise: tuple[Step, ...] = ()
    from_memory: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Procedure:
    """A flow, checklist or list of memory items: steps in order.

    `called_for` are the ways in which it is called for, `done_from` the starting states it is
    done from, `secures` what it must bring about; `was` is a former name.
    """

    name: str
    kind: str
    called_for: tuple[Statement, ...]
    done_from: tuple[str, ...]
    secures: tuple[Statement, ...]
    steps: tuple[Step, ...]
    source: str
    whys: tuple[Why, ...]
    applies: Effectivity
    note: str
    place: Place
    was: str = ""


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit in `unit`: at least `low`, at most `high`, None where it has no such end.

    Both ends alike are the value at which something is to be or to happen. `of` are the readings
    it limits, if the book has them; `title` is that of its file. It holds under `when`, if that is
    given, and in the `case` that the book has no condition for.
    """

    name: str
    title: str
    of: tuple[str, ...]
    low: float | None
    high: float | None
    unit: str
    when: Statement | None
    case: str
    from_memory: bool
    source: str
    whys: tuple[Why, ...]
    applies: Effectivity
    note: str
    place: Place


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a chapter's drawing has on a sheet of its own: rows of things, each from left to right.

    One row only gives the order; more than one also say what stands above what.
    """

    title: str
    rows: tuple[tuple[str, ...], ...]

    @property
    def things(self) -> tuple[str, ...]:
        """All that is on it, in order."""
        return tuple(name for row in self.rows for name in row)


@dataclass(frozen=True, slots=True)
class Chapter:
    """An ATA 100 chapter: its number as written, its title and source.

    `sheets` are what its drawing has on sheets of their own; `not_drawn` is left out there.
    """

    number: str
    title: str
    source: str
    place: Place
    sheets: tuple[Sheet, ...] = ()
    not_drawn: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """A whole type book, or (with `aeroplane` set) the part of it that one aeroplane has.

    Compared by identity, so that what was worked out for a book can be kept for it.
    """

    folder: str
    type_name: str
    manual: str
    revision: str
    variants: tuple[Variant, ...]
    options: tuple[Variant, ...]
    bulletins: tuple[Variant, ...]
    chapters: tuple[Chapter, ...]
    things: tuple[Thing, ...]
    groups: Mapping[str, tuple[str, ...]]
    starts: tuple[StartingState, ...]
    impossible: tuple[Statement, ...]
    claims: tuple[Claim, ...]
    procedures: tuple[Procedure, ...] = ()
    limits: tuple[Limit, ...] = ()
    scenarios: tuple[Scenario, ...] = ()
    aeroplane: str = ""

    def thing(self, name: str) -> Thing:
        """The thing of that canonical name; KeyError if there is none."""
        for thing in self.things:
            if thing.name == name:
                return thing
        raise KeyError(name)
