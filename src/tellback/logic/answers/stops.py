"""Stops: what ends X, from this state? Every minimal change of inputs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from tellback.book.model import Book
from tellback.logic.all_sets import few_enough, minimal_ending
from tellback.logic.answers.stops_text import stop_text, stops_text
from tellback.logic.formula import Formula, disj
from tellback.logic.items import Item
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.merged import Changed, items_of, merged
from tellback.logic.minimal import FailureSet, minimal_sets
from tellback.logic.outcome import Choice, Outcome
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.run import Moment, Unsettled
from tellback.logic.scene import ended_after, passing, scene
from tellback.logic.space import Node, Space
from tellback.logic.symbols import bearing_on, diagram_order, variables_of

LISTED = 100


@dataclass(frozen=True, slots=True)
class Stop:
    """A minimal change of inputs that ends X, and after how many seconds.

    Of a control or reading it may list several states: each of them does as well as the others.
    """

    changes: tuple[Item, ...]
    seconds: float

    def __str__(self) -> str:
        return stop_text(self)


@dataclass(frozen=True, slots=True)
class Stops:
    """The minimal changes of inputs, up to `order` at a time (None: any number), that end X.

    Every listed one was run in time, and none leads to an impossible state. `barred` are
    those that would end it if no lock forbade them, `left` is how many were not looked at one by
    one, `disputed` how many ended otherwise in time. `restless` counts the sets of changes after
    which the aeroplane does not come to rest, which were left out. `passed` is as in Losses.
    """

    question: str
    aeroplane: str
    start: str
    so_now: bool
    stops: tuple[Stop, ...]
    order: int | None
    barred: tuple[tuple[Item, ...], ...]
    left: int
    disputed: int = 0
    restless: int = 0
    passed: float | None = None

    def __str__(self) -> str:
        return "\n".join(stops_text(self))


@within(ANSWER_SECONDS, "finding what ends it")
def stops(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
    order: int | None = 1,
) -> Stops:
    """The minimal changes of controls, situations, readings and failures that end `question`."""
    condition = understand(book, question, aeroplane)
    picture = picture_of(book, aeroplane, condition)
    where = scene(picture, start, changes)
    formula = picture.formula(condition)
    so_now = picture.aeroplane.holds(formula, where.moment.state)
    found: list[Changed[float]] = []
    barred: list[Changed[float]] = []
    left = disputed = restless = 0
    if so_now:
        changing = _Changing(picture, where.moment, formula)
        sets, count, restless = changing.sets(order)
        for chosen in islice(sets, LISTED):
            if changing.is_barred(chosen):
                barred.append(Changed.of(chosen, 0.0))
                continue
            seconds = changing.ended_after(chosen)
            if seconds is None:
                disputed += 1
            else:
                found.append(Changed.of(chosen, round(seconds, 6)))
        found.sort(key=lambda one: (len(one.changes), one.outcome))
        left = max(0, count - LISTED)
    return Stops(
        question=picture.phrase(condition),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        so_now=so_now,
        stops=tuple(
            Stop(items_of(picture, one.changes), one.outcome) for one in merged(picture, found)
        ),
        order=order,
        barred=tuple(items_of(picture, one.changes) for one in merged(picture, barred)),
        left=left,
        disputed=disputed,
        restless=restless,
        passed=passing(picture, where.path, formula),
    )


class _Changing:
    """Any inputs that bear on a formula changed from a moment."""

    def __init__(self, picture: Picture, moment: Moment, formula: Formula) -> None:
        self.picture = picture
        self.moment = moment
        system = picture.system
        near = bearing_on(picture.graph, formula)
        near |= variables_of(picture.graph, [system.impossible])
        self.bearing = bearing_on(picture.graph, disj([formula, system.impossible]))
        self.runner = picture.aeroplane.following(self.bearing)
        self.names = [
            n for n in diagram_order(picture.graph) if n in near and system.variables[n].is_input
        ]
        self.formula = formula

    def _values(self, name: str) -> list[int]:
        """The values of an input, the present one first."""
        now = self.moment.state[name]
        count = len(self.picture.system.variables[name].values)
        return [now, *(v for v in range(count) if v != now)]

    def sets(self, order: int | None) -> tuple[Iterable[FailureSet], int, int]:
        """The minimal changes that may be made and after which, settled, the formula is not so.

        What is impossible does not count: more changes with it may be possible. Also says how
        many there are, and how many were left out as the aeroplane does not come to rest.
        """
        changes = [(n, value) for n in self.names for value in self._values(n)[1:]]
        if order is not None and few_enough(len(changes), order):
            abreast = self.picture.abreast.following(self.bearing)
            tried, restless = minimal_ending(abreast, self.moment, self.formula, changes, order)
            return tried, len(tried), restless
        space = Space([(n, len(self._values(n))) for n in self.names])
        ended, endless = self._by_diagram(space)
        normal = dict.fromkeys(self.names, 0)
        sets = minimal_sets(space, ended, normal, order)
        found = (tuple((n, self._values(n)[i]) for n, i in chosen) for chosen in sets)
        return found, sets.count, minimal_sets(space, endless, normal, order).count

    def _by_diagram(self, space: Space) -> tuple[Node, Node]:
        """The changes that end it, and those after which all does not come to rest: all at once.

        Each input's values are numbered from the present one.
        """
        chosen = {n: self._choice(space, n) for n in self.names}
        outcome = Outcome(self.picture.graph, space, self.moment, chosen, self.bearing)
        outcome.settle()
        endless = outcome.restless & ~outcome.impossible
        return ~outcome.values.of(self.formula) & ~outcome.impossible & ~endless, endless

    def _choice(self, space: Space, name: str) -> Choice:
        at = {value: i for i, value in enumerate(self._values(name))}
        return tuple(space.literal(name, (at[v],)) for v in range(len(at)))

    def is_barred(self, chosen: FailureSet) -> bool:
        """Whether a lock forbids one of the changes."""
        return self.picture.aeroplane.barred(self.moment, dict(chosen)) is not None

    def ended_after(self, chosen: FailureSet) -> float | None:
        """After how many seconds the changes made in time end it; None if they do not."""
        try:
            history = self.runner.history(self.runner.move(self.moment, dict(chosen)))
        except Unsettled:
            return None
        return ended_after(self.runner, self.formula, history)
