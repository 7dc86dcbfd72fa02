"""The exact picture of one aeroplane, prepared for questions; everything in it is made once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property, lru_cache

from tellback.book import conditions as c
from tellback.book.effectivity import for_aeroplane
from tellback.book.grammar import parse_condition
from tellback.book.model import Book, StartingState, Supply
from tellback.book.names import Names, names_of
from tellback.book.phrases import phrase
from tellback.logic.abreast import Abreast
from tellback.logic.compiled import Evaluator
from tellback.logic.cuts import parts_range
from tellback.logic.formula import Formula
from tellback.logic.groups import Groups
from tellback.logic.guided import GuidedRuns
from tellback.logic.layers import Layers
from tellback.logic.lower import Lowering
from tellback.logic.possible import Possible, Search
from tellback.logic.run import Aeroplane, Moment
from tellback.logic.settings import Settings, read_settings
from tellback.logic.solve import Graph
from tellback.logic.symbols import Symbols, variables_of
from tellback.logic.system import System
from tellback.logic.translate import Owner
from tellback.logic.witnesses import Witnesses
from tellback.refusals import Refusal


class Misunderstood(Refusal, ValueError):
    """A question that cannot be asked of the book: where in its text, why, what would mend it."""

    def __init__(self, text: str, column: int, width: int, message: str, mend: str) -> None:
        super().__init__(message, mend, text, column, width)


class Picture:
    """The system of one aeroplane with its diagrams, its runs and its possible states."""

    def __init__(self, book: Book, extra: tuple[c.Condition, ...]) -> None:
        self.book = book
        self.extra = extra

    @cached_property
    def names(self) -> Names:
        """The names that questions may use."""
        return names_of(self.book)

    @cached_property
    def groups(self) -> Groups:
        """The groups by the names of which things are told."""
        return Groups(self.names)

    @cached_property
    def _lowering(self) -> Lowering:
        return Lowering(self.book, self.names, self.extra)

    @cached_property
    def system(self) -> System:
        """The book as variables, values and changes."""
        return self._lowering.system()

    def phrase(self, condition: c.Condition) -> str:
        """The condition as text, by the names of the book."""
        return phrase(condition, self.names)

    def formula(self, condition: c.Condition, owner: str = "", row: int | None = None) -> Formula:
        """The formula of a condition, as the thing `owner` means it, or that row of its feeds."""
        assert self.system is not None
        return self._lowering.formula_for(condition, Owner(owner, row))

    def row(self, supply: Supply, row: int, level: int) -> Formula:
        """When a row of the feeds of a supply delivers at least this level."""
        assert self.system is not None
        return self._lowering.row_at(supply, row, level)

    @cached_property
    def graph(self) -> Graph:
        """Which value needs which."""
        return Graph(self.system)

    @cached_property
    def aeroplane(self) -> Aeroplane:
        """The aeroplane in time."""
        return Aeroplane(Evaluator(self.graph))

    @cached_property
    def abreast(self) -> Abreast:
        """Many runs of the aeroplane side by side."""
        return Abreast(self.graph)

    @cached_property
    def witnesses(self) -> Witnesses:
        """States that runs came to, in which a combination that is asked for may be."""
        return Witnesses(self.abreast, self.starts, self.symbols.space)

    @cached_property
    def guided(self) -> GuidedRuns:
        """Runs toward what was asked for so far."""
        return GuidedRuns(self.symbols, self.aeroplane, self.starts)

    @cached_property
    def symbols(self) -> Symbols:
        """The values as diagrams."""
        return Symbols(self.graph)

    @cached_property
    def starts(self) -> Mapping[str, Moment]:
        """The starting states, settled."""
        return {start.name: self.start(start) for start in starting_states(self.book)}

    def start(self, start: StartingState) -> Moment:
        """One starting state, settled; Unsettled or Misunderstood if it cannot be."""
        settings = read_settings(self.system, self.names, start.settings)
        return self.aeroplane.start(settings.values, settings.numbers)

    @cached_property
    def _searches(self) -> dict[tuple[int | None, str], Search]:
        return {}

    @cached_property
    def _possible(self) -> dict[tuple[object, ...], Possible]:
        return {}

    def possible(
        self,
        names: Iterable[str],
        formulas: Iterable[Formula] = (),
        failures: int | None = None,
        start: str = "",
    ) -> Possible:
        """The possible states as far as they concern these variables and values.

        They are those reached from all starting states, or from `start`; `failures` limits how
        many things may have failed at a time.
        """
        search = self._search(failures, start)
        bearing = search.bearing({*names, *variables_of(self.graph, formulas)})
        key = failures, start, bearing
        if key not in self._possible:
            self._possible[key] = search.over(bearing)
        return self._possible[key]

    def layers(self, goal: Formula, failures: int | None, start: str) -> Layers:
        """The possible states as far as they concern the goal, by the number of events."""
        search = self._search(failures, start)
        bearing = search.bearing(variables_of(self.graph, [goal]))
        key = failures, start, bearing
        if key not in self._layers:
            self._layers[key] = search.layers(bearing)
        return self._layers[key]

    @cached_property
    def _layers(self) -> dict[tuple[object, ...], Layers]:
        return {}

    def _search(self, failures: int | None, start: str) -> Search:
        if (failures, start) not in self._searches:
            states = [m.state for name, m in self.starts.items() if start in ("", name)]
            self._searches[failures, start] = Search(self.symbols, states, failures)
        return self._searches[failures, start]

    def settings(self, pairs: Sequence[tuple[str, str]]) -> Settings:
        """What `thing: state` pairs set; Misunderstood if something is not an input or memory."""
        return read_settings(self.system, self.names, pairs)


def starting_states(book: Book) -> tuple[StartingState, ...]:
    """The starting states of the book; where it has none, everything normal is one."""
    if book.starts:
        return book.starts
    place = book.chapters[0].place if book.chapters else book.variants[0].place
    return (StartingState("normal", (), place),)


def picture_of(book: Book, aeroplane: str = "", *questions: c.Condition) -> Picture:
    """The picture of one aeroplane of the fleet, kept for the next question.

    Conditions asked of it are needed where they compare a reading with a number of their own.
    """
    base = _picture(_one(book, aeroplane), ())
    new = tuple(q for q in questions if not _covered(base.system, q))
    return _picture(base.book, new) if new else base


def understand(book: Book, text: str, aeroplane: str = "") -> c.Condition:
    """The condition that a text states, in the names of the book; Misunderstood if it does not."""
    picture = _picture(_one(book, aeroplane), ())
    condition, faults = parse_condition(text, picture.names)
    if condition is not None:
        return condition
    fault = next(fault for fault in faults if fault.kind == "error")
    raise Misunderstood(text, fault.offset, fault.width, fault.message, fault.mend)


def _covered(system: System, condition: c.Condition) -> bool:
    """Whether the cuts and delays of the system already tell everything in the condition apart."""
    for node in c.walk(condition):
        match node:
            case c.Compare(name, low, low_in, high, high_in):
                bounds = [(low, 0 if low_in else 1), (high, 1 if high_in else 0)]
                regions = system.regions[name]
                for value, side in bounds:
                    cut = (value, side) if value is not None else None
                    needed = cut and parts_range(cut, regions.low, regions.high)
                    if needed and cut not in regions.cuts:
                        return False
            case c.Held() | c.Edge() | c.State(_, "paralleled"):
                return False
    return True


_one = lru_cache(maxsize=32)(for_aeroplane)
_picture = lru_cache(maxsize=32)(Picture)
