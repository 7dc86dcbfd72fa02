"""The shortest reasons of functions of the S94, beside a symbolic simplifier and a SAT solver.

All are given the same function of yes/no variables: the items at which the program stops, one of
k states written as k - 1 questions "is it this one?" (a later one counts if all before it are
no); nothing is said of which combinations can be. The simplifier finds one shortest sum, not all
primes; the SAT solver proposes the smallest set of literals that meets every counterexample found
so far, and tries it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from statistics import median

from benchmarks.apart import NOT_INSTALLED, Measured, apart
from benchmarks.asking import the_book
from benchmarks.measures import Row, percentile, seconds
from tellback.book.model import Unit
from tellback.logic.diagram import Diagram
from tellback.logic.items import View, apart_from
from tellback.logic.picture import picture_of, understand
from tellback.logic.primes import primes
from tellback.logic.space import Node, Space

FEWEST, MOST = 5, 15
LIMIT = 5.0
"""The seconds that a library may take over a function, with starting and reading the book."""

EVERY = 3
"""One unit in so many is taken, so that the whole does not take too long."""

LIBRARIES = {
    "`simplify_logic` of `sympy`": "with_sympy",
    "prime implicants with hitting sets of `python-sat`": "with_pysat",
}


def rows() -> Iterator[Row]:
    """The program on each function, then each library on the same."""
    names = units()
    ours = [apart("benchmarks.ways_elsewhere", "with_tellback", name) for name in names]
    counted = {name: measured.result for name, measured in zip(names, ours, strict=True)}
    what = f"all primes of {len(names)} units of {FEWEST} to {MOST} items: median"
    yield Row(what, _times(ours), note=f"{sum(counted.values())} primes")
    for library, function in LIBRARIES.items():
        theirs = []
        for name in names:
            measured = apart("benchmarks.ways_elsewhere", function, name, limit=LIMIT)
            if function == "with_pysat" and measured.result not in (None, counted[name]):
                raise SystemExit(f"{name}: {measured.result} primes, not {counted[name]}")
            theirs.append(measured)
            if measured.missing == NOT_INSTALLED:
                break
        yield Row(f"the same by {library}", *_told(theirs))


def _times(several: list[Measured]) -> str:
    times = [measured.seconds for measured in several]
    return f"{seconds(median(times))}; longest {seconds(percentile(times, 1))}"


def _told(several: list[Measured]) -> tuple[str, str, str]:
    answered = [measured for measured in several if not measured.missing]
    if not answered:
        return several[0].missing, "", ""
    late = len(several) - len(answered)
    return _times(answered), "", f"{late} more over {LIMIT:.0f} s" if late else ""


def units() -> list[str]:
    """Some of the units whose running hangs on so many items."""
    return list(_functions())[::EVERY]


@cache
def _functions() -> dict[str, tuple[Space, Node]]:
    book = the_book()
    picture = picture_of(book)
    found: dict[str, tuple[Space, Node]] = {}
    for unit in picture.book.things:
        if isinstance(unit, Unit):
            condition = understand(book, f"{unit.name} running")
            view = View(picture, False, apart_from(condition))
            node = view.of(picture.formula(condition))
            if FEWEST <= len(view.space.support(node)) <= MOST:
                found[unit.name] = _in_yes_and_no(view.space.diagram(node))
    return found


def _in_yes_and_no(diagram: Diagram) -> tuple[Space, Node]:
    """The function with each item of k values written as k - 1 yes/no variables."""
    sizes = dict(zip(diagram.names, diagram.sizes, strict=True))
    questions = {n: [f"{n} {value}" for value in range(sizes[n] - 1)] for n in diagram.support()}
    space = Space([(question, 2) for each in questions.values() for question in each])
    found = [space.false, space.true]
    for point in diagram.inner_nodes():
        *children, result = (found[child] for child in diagram.children[point])
        asked = questions[diagram.names[diagram.variable[point]]]
        for question, child in reversed(list(zip(asked, children, strict=True))):
            yes = space.literal(question, (1,))
            result = (yes & child) | (~yes & result)
        found.append(result)
    return space, found[diagram.root]


def prepare() -> None:
    """Work out the functions, which is not timed."""
    _functions()


def with_tellback(name: str) -> int:
    """The number of primes by the program."""
    space, node = _functions()[name]
    return primes(space, node, lambda _: False).count


def with_sympy(name: str) -> int:
    """How many terms the simplifier leaves."""
    from sympy import ITE, false, simplify_logic, symbols, true
    from sympy.logic.boolalg import Or

    diagram = _diagram(name)
    items = {index: symbols(f"x{index}") for index in sorted(set(diagram.variable[2:]))}
    parts = [false, true]
    for point in diagram.inner_nodes():
        low, high = diagram.children[point]
        parts.append(ITE(items[diagram.variable[point]], parts[high], parts[low]))
    simple = simplify_logic(parts[diagram.root].to_nnf(), form="dnf", force=True)
    return len(Or.make_args(simple))


def with_pysat(name: str) -> int:
    """The number of primes by a SAT solver and an enumerator of hitting sets."""
    from pysat.examples.hitman import Hitman
    from pysat.solvers import Solver

    diagram = _diagram(name)
    items = sorted({diagram.variable[point] + 1 for point in diagram.inner_nodes()})
    found = 0
    with (
        Hitman(solver="g4", htype="sorted") as proposals,
        Solver(name="g4", bootstrap_with=_false_where(diagram)) as solver,
    ):
        for item in items:
            proposals.block([item, -item])
        while (proposed := proposals.get()) is not None:
            if not solver.solve(assumptions=proposed):
                found += 1
                proposals.block(proposed)
                continue
            model = set(solver.get_model())
            proposals.hit([-item if item in model else item for item in items])
    return found


def _false_where(diagram: Diagram) -> list[list[int]]:
    """Clauses that hold where the function is false: a yes/no variable for each of its points."""
    points = {point: len(diagram.names) + 1 + point for point in range(len(diagram.variable))}
    clauses = [[-points[0]], [points[1]], [-points[diagram.root]]]
    for point in diagram.inner_nodes():
        item, (low, high) = diagram.variable[point] + 1, diagram.children[point]
        me, low, high = points[point], points[low], points[high]
        clauses += [[-item, -me, high], [-item, me, -high], [item, -me, low], [item, me, -low]]
    return clauses


def _diagram(name: str) -> Diagram:
    space, node = _functions()[name]
    return space.diagram(node)
