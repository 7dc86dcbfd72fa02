"""The checks say of small drawn books what the naive twin finds by looking at all states."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings

from tellback.book import conditions as c
from tellback.book.model import Book, Control, Indication, Latch, Reading, Unit
from tellback.logic.check import check
from tellback.logic.compiled import Computed, Evaluator
from tellback.logic.formula import Formula, Lit, literals
from tellback.logic.picture import Picture, picture_of
from tellback.logic.run import State
from tellback.logic.solve import Graph, Valuation
from tellback.logic.system import System
from tests.oracle.reach import possible_states
from tests.oracle.steps import NeverSteady
from tests.oracle.values import FeederCircle, Undecided, holds
from tests.strategies import BookText, books
from tests.twins import Twins, twins_of

quickly = settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
ERRORS = {"undecided", "feeders-in-a-circle", "never-at-rest", "starting-state"}


def codes(book: Book) -> dict[str, set[str]]:
    """For each code found, the lines of the things that have it."""
    found: dict[str, set[str]] = {}
    for diagnostic in check(book):
        if not diagnostic.place.file.startswith("claims"):
            found.setdefault(diagnostic.code, set()).add(str(diagnostic.place))
    return found


def fault_of(twins: Twins) -> str:
    """What keeps the oracle from giving the book a meaning."""
    try:
        possible_states(twins.frame)
    except (Undecided, FeederCircle, NeverSteady) as fault:
        return type(fault).__name__
    return ""


@settings(quickly, max_examples=40)
@given(books(memories=True, circles="any", most_states=200))
def test_a_book_has_an_error_exactly_if_it_has_no_meaning(text: BookText) -> None:
    twins = twins_of(text)
    found, fault = codes(twins.book), fault_of(twins)
    has_error = not ERRORS.isdisjoint(found)
    assert not has_error or fault
    assert has_error or not fault or "not-decided" in found, fault


@quickly
@given(books(memories=True, circles="positive"))
def test_what_never_happens(text: BookText) -> None:
    twins = twins_of(text)
    found = codes(twins.book)
    assert "not-decided" not in found
    for kind, code, word in (
        (Unit, "never-running", "running"),
        (Indication, "never-shown", "shown"),
        (Latch, "never-set", "set"),
    ):
        for thing in twins.book.things:
            if isinstance(thing, kind):
                happens = c.State(thing.name, word)
                sound = c.Not(c.State(thing.name, "failed")) if thing.fails else c.ALWAYS
                never = not any(
                    holds(twins.frame, state, happens) and holds(twins.frame, state, sound)
                    for state in twins.possible.states
                )
                assert (str(thing.place) in found.get(code, set())) == never, thing.name


@quickly
@given(books(memories=True, circles="positive", most_states=200))
def test_positions_that_do_nothing(text: BookText) -> None:
    twins = twins_of(text)
    faulted = codes(twins.book).get("position-without-effect", set())
    picture = picture_of(twins.book)
    states = [whole(picture, twins.state(state)) for state in twins.possible.states]
    for control in picture.book.things:
        if isinstance(control, Control) and spoken_of(picture.system, control.name):
            pairs = ((a, b) for a in range(len(control.positions)) for b in range(a))
            idle = any(alike(picture, states, control.name, *pair) for pair in pairs)
            assert (str(control.place) in faulted) == idle, control.name


def whole(picture: Picture, state: dict[str, int]) -> dict[str, int]:
    """The state with the last steady value of each condition, which is the present one."""
    lasts = picture.system.lasts
    state |= dict.fromkeys((rule.variable for rule in lasts), 0)
    values = Computed(picture.aeroplane.evaluator, state, quiet=True)
    return state | {rule.variable: values.of(rule.condition) for rule in lasts}


def alike(
    picture: Picture, states: list[dict[str, int]], control: str, one: int, other: int
) -> bool:
    """Whether no possible state tells two positions apart, by looking at each."""
    here = [state for state in states if state[control] in (one, other)]
    return all(
        seen(picture, {**s, control: one}) == seen(picture, {**s, control: other}) for s in here
    )


def seen(picture: Picture, state: dict[str, int]) -> list[float]:
    """All values, readings and conditions of rules in a state."""
    values, system = picture.aeroplane.values(state), picture.system
    found: list[float] = [values[key] for key in system.values]
    found += [values.of(formula) for formula in conditions(system)]
    for reading in picture.book.things:
        if isinstance(reading, Reading) and reading.follows:
            rows = (
                row.value
                for row in reading.follows
                if row.when is None or values.of(picture.formula(row.when.condition, reading.name))
            )
            found.append(next(rows, reading.low))
    return found


def spoken_of(system: System, name: str) -> bool:
    formulas = (*system.values.values(), *conditions(system))
    return any(lit.variable == name for formula in formulas for lit in literals(formula))


def conditions(system: System) -> list[Formula]:
    """The conditions of all rules."""
    found = [rule.condition for rule in (*system.steps, *system.bars)]
    found += [rule.condition for rule in system.delays]
    found += [rule.condition for rule in system.lasts]
    found += [sent for surface in system.surfaces for _, sent in surface.targets]
    return [*found, *(row for number in system.numbers for row, _, _ in number.rows)]


@settings(quickly, max_examples=30)
@given(books(memories=True, circles="any", most_states=200))
def test_compiled_values_are_the_values(text: BookText) -> None:
    picture = twins_of(text).picture
    system, evaluator = picture.system, Evaluator(picture.graph)
    for value in range(4):
        state = {n: min(value, len(v.values) - 1) for n, v in system.variables.items()}
        for name, variable in system.variables.items():
            for other in range(len(variable.values)):
                changed = {**state, name: other}
                for quiet in (False, True):
                    plain = interpreted(picture.graph, changed, quiet)
                    swift = Computed(evaluator, changed, quiet)
                    assert all(plain[key] == swift[key] for key in system.values)
                    assert all(plain.of(f) == swift.of(f) for f in conditions(system))


def interpreted(graph: Graph, state: State, quiet: bool) -> Valuation[int]:
    """The values of a state by the general evaluation."""
    known = dict.fromkeys(graph.system.edges(), 0) if quiet else {}

    def literal(lit: Lit) -> int:
        return int(state[lit.variable] in lit.values)

    return Valuation(graph, 1, 0, lambda bit: 1 - bit, literal, known)
