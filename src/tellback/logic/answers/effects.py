"""Effects: what does moving this control do? Here and in other states, at once and after a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial

from tellback.book.english import running_words
from tellback.book.model import Book, Indication, Means, Supply, Thing, Unit
from tellback.logic.answers.together import without_passing
from tellback.logic.combinations import Combinations
from tellback.logic.facts import Change, Facts, changes_text, kind_of, said, sameness
from tellback.logic.formula import Formula, Lit, Ref, conj, disj, neg
from tellback.logic.items import Item, View
from tellback.logic.picture import Picture, picture_of
from tellback.logic.possible import Possible
from tellback.logic.primes import Cube
from tellback.logic.run import Moment
from tellback.logic.scene import pairs_of, scene
from tellback.logic.settings import BadSetting
from tellback.logic.space import Node
from tellback.logic.symbols import variables_of
from tellback.logic.system import DelayRule
from tellback.logic.words import alike, listed
from tellback.logic.world import MOST_EDGES

PATIENCE = 20_000
"""The effort of search that one effect may take."""

PATIENCE_ELSEWHERE = 50_000
"""The effort of search for all that a move does elsewhere."""

LITTLE = 1_000
"""The effort of search for the shortest condition of one change elsewhere."""

FEW_ITEMS = 14
"""With more things than this bearing on a change elsewhere its condition may be too long."""

LONGEST = 8
"""The most things that a condition for a change elsewhere may speak of."""

MOST_LINES = 12
"""How many conditions for what comes elsewhere are printed."""

FEW = 4
"""How many conditions for one change elsewhere are searched for."""


@dataclass(frozen=True, slots=True)
class Effect:
    """A change here; `always` if it follows at once in every possible state (with no failures).

    `when` is the smallest condition for it that is met here; None where that was not asked (what
    comes after a time or through a memory, memories themselves) or not decided. What comes through
    a memory in some of the states is not told as coming always.
    """

    change: Change
    always: bool
    when: tuple[Item, ...] | None


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A change at once that comes only in other states, and a condition for it.

    The condition is enough and can be; where more than a few things bear on the change, it may be
    longer than it must be.
    """

    thing: str
    text: str
    when: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Effects:
    """Everything that moving a control does from a starting state, and may do elsewhere."""

    moved: str
    aeroplane: str
    start: str
    effects: tuple[Effect, ...]
    elsewhere: tuple[Elsewhere, ...]

    def __str__(self) -> str:
        return "\n".join(_text(self))


def effects(
    book: Book,
    move: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Effects:
    """What the move (`control: position`) does from a starting state, until all has settled.

    Raises Barred if the control cannot be moved there now.
    """
    picture = picture_of(book, aeroplane)
    where = scene(picture, start, changes)
    wanted = picture.settings(pairs_of([move])).values
    ((name, value),) = wanted.items()
    if value == where.moment.state[name]:
        told = f"already so ({where.text}): {_move_text(picture, name, value)}"
        raise BadSetting(told, "Ask from another starting state, or of another position.")
    runner = picture.aeroplane
    history = [where.moment, *runner.history(runner.move(where.moment, wanted))]
    here = Facts(picture).changes(history, moved=[picture.system.variables[name].thing])
    always = _Always(picture, where.moment, name, value)
    told_here = {change.thing for change in here}
    return Effects(
        moved=_move_text(picture, name, value),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        effects=tuple(always.judge(change) for change in here),
        elsewhere=tuple(always.elsewhere(told_here)),
    )


def _move_text(picture: Picture, name: str, value: int) -> str:
    variable = picture.system.variables[name]
    return said(variable.thing, variable.kind, variable.values[value])


def _supplies_moved(picture: Picture, control: str) -> list[str]:
    """The supplies that a move of the control may change at once: a reason cannot stop at them."""
    return [
        thing.name
        for thing in picture.book.things
        if isinstance(thing, Supply) and control in variables_of(picture.graph, _levels(thing))
    ]


def _levels(supply: Supply) -> list[Formula]:
    return [Ref((supply.name, f"at least {k}")) for k in range(1, len(supply.levels))]


class _Always:
    """Judges over all possible states without failures what a move does at once.

    Only where it sets off no memory that bears on what is asked: what follows then has come to
    stay. States in which the move cannot be made do not count.
    """

    def __init__(self, picture: Picture, moment: Moment, name: str, after: int) -> None:
        self.picture = picture
        self.view = View(picture, to_root=False, apart=_supplies_moved(picture, name))
        self.now = self.view.now(moment)
        self.space = self.view.space
        self.name, self.before, self.after = name, moment.state[name], after
        system = picture.system
        self.failures = [v.name for v in system.failures()]
        self.intact = self.space.all_of(self.space.literal(n, (0,)) for n in self.failures)
        bars = [r.condition for r in system.bars if (r.variable, r.value) == (name, after)]
        self.patience = PATIENCE_ELSEWHERE
        self.hindered = self._was(self._of(disj(bars))) | self._then(self._of(system.impossible))
        self.here = self.space.literal(name, (self.before,)) & ~self.hindered

    def _of(self, formula: Formula) -> Node:
        """The formula; a delay is one item, unless the move may begin or break its condition."""
        moved = any(self._moved_delays(formula))
        return self.picture.symbols.of(formula) if moved else self.view.of(formula)

    def _moved_delays(self, formula: Formula) -> Iterator[DelayRule]:
        """The delays behind a formula whose conditions look at the control."""
        graph = self.picture.graph
        behind = variables_of(graph, [formula])
        for rule in self.picture.system.delays:
            if rule.variable in behind and self.name in variables_of(graph, [rule.condition]):
                yield rule

    def _long_since(self, rule: DelayRule) -> Node:
        """If the delay has elapsed, its condition holds before the move: so it is when steady."""
        elapsed = self.space.literal(rule.variable, (1,))
        return ~elapsed | self._was(self.picture.symbols.of(rule.condition))

    def _was(self, node: Node) -> Node:
        """Where it is so before the move, nothing having failed."""
        return self._intact(self.space.assume(node, self.name, self.before))

    def _then(self, node: Node) -> Node:
        """Where it is so in the instant after the move, nothing else having changed."""
        return self._intact(self.space.assume(node, self.name, self.after))

    def _due(self, formula: Formula) -> Node:
        """Where a change is due in the instant after the move: at once, or by what then comes on.

        What comes on may bar at last what was due at once, and has happened.
        """
        symbols = self.picture.symbols
        node = self._then(symbols.of(formula))
        watched = [r for r in self.picture.system.lasts if r.variable in self.space.support(node)]
        for rule in watched:
            was = self._was(symbols.of(rule.condition))
            last = self.space.literal(rule.variable, (1,))
            both = (last & was) | ~(last | was)
            node = self.space.exists(node & both, [rule.variable])
        return node | self._then(symbols.quiet_values.of(formula)) if watched else node

    def _intact(self, node: Node) -> Node:
        return self.space.exists(node & self.intact, self.failures)

    def _brought(self, formula: Formula) -> Node:
        """Where the move brings the formula about and sets off no memory that bears on it.

        Nowhere if such a memory watches too many things come and go to tell.
        """
        node = self._of(formula)
        brought = self._then(node) & ~self._was(node)
        brought = brought & self.space.all_of(map(self._long_since, self._moved_delays(formula)))
        set_off = list(self._set_off(formula)) if brought != self.space.false else []
        watched = variables_of(self.picture.graph, set_off)
        if sum(rule.variable in watched for rule in self.picture.system.lasts) > MOST_EDGES:
            return self.space.false
        return brought & ~self.space.any_of(map(self._due, set_off))

    def _set_off(self, formula: Formula) -> Iterator[Formula]:
        """When the memories that bear at once on the formula may be due to change by the move."""
        graph = self.picture.graph
        names, followed = variables_of(graph, [formula]), set[str]()
        while names - followed:
            rules = [r for r in self.picture.system.steps if r.variable in names - followed]
            followed |= names
            for i, rule in enumerate(rules):
                behind = variables_of(graph, [rule.condition])
                names |= behind
                if self.name in (*behind, rule.variable):
                    there = Lit(rule.variable, frozenset({rule.value}))
                    earlier = (r.condition for r in rules[:i] if r.variable == rule.variable)
                    yield conj([rule.condition, neg(there), *map(neg, earlier)])

    def _combinations(self, brought: Node) -> Combinations:
        return self.view.combinations([brought, self.here], failures=0)

    def _before(self, states: Node, brought: Node) -> Node:
        """States before the move, of the things that the change depends on alone."""
        items = {self.name, *self.space.support(brought)}
        others = [name for name in self.space.support(states) if name not in items]
        left = self.space.assume(states & self.here, self.name, self.before)
        return self.space.exists(left & self.intact, [*self.failures, *others])

    def judge(self, change: Change) -> Effect:
        """Whether a change here comes always, and if not, the smallest condition met here."""
        formula = _state_formula(self.picture.book.thing(change.thing), change.after)
        if formula is None or change.seconds > 0:
            return Effect(change, False, None)
        brought = self._brought(formula)
        found = self._combinations(brought)
        found.settle(partial(self.view.cubes, brought), brought, self.here, patience=PATIENCE)
        can_be = self._before(found.widest, brought)
        if can_be & ~brought == self.space.false:
            return Effect(change, True, ())
        for cube in self.view.cubes(brought, can_be):
            if all(self.now[n] in values for n, values in cube.items()):
                return Effect(change, False, self._items(cube.items()))
        return Effect(change, False, None)

    def _items(self, cube: Iterable[tuple[str, frozenset[int]]]) -> tuple[Item, ...]:
        return tuple(self.view.item(n, v) for n, v in cube)

    def elsewhere(self, told: set[str]) -> Iterator[Elsewhere]:
        """What changes at once in other possible states only."""
        for thing in self.picture.book.things:
            if thing.name in told:
                continue
            for word in _words(thing):
                formula = _state_formula(thing, word)
                brought = self._brought(formula) if formula is not None else self.space.false
                if brought == self.space.false:
                    continue
                cube = self._possibly(brought)
                if cube is not None:
                    text = said(thing.name, kind_of(thing), word)
                    yield Elsewhere(thing.name, text, self._items(cube.items()))

    def _possibly(self, brought: Node) -> Cube | None:
        """A smallest condition for a change that is known to be met in a possible state."""
        found = self._combinations(brought)
        shortest = partial(self.view.cubes, brought, limit=LONGEST)
        if len(self.space.support(brought)) <= FEW_ITEMS and self.patience > 0:
            with self._charged(found.possible):
                found.settle(shortest, brought, self.here, patience=min(LITTLE, self.patience))
        cubes = list(shortest(self._before(found.widest, brought)))
        for cube in cubes:
            if self.space.cube(cube) & self.here & found.known != self.space.false:
                return cube
        for cube in cubes[:FEW]:
            with self._charged(found.possible):
                can_be = found.can_be(self.space.cube(cube) & self.here, self.patience // FEW)
            if can_be:
                return cube
        return None

    @contextmanager
    def _charged(self, possible: Possible) -> Iterator[None]:
        """What is searched meanwhile is taken from the patience that is left."""
        effort = possible.effort
        yield
        self.patience -= possible.effort - effort


def _words(thing: Thing) -> tuple[str, ...]:
    match thing:
        case Unit():
            return running_words(thing.form)
        case Supply():
            return ("live", "lost")
        case Indication():
            return ("shown", "not shown")
        case Means():
            return ("yes", "no")
    return ()


def _state_formula(thing: Thing, word: str) -> Formula | None:
    """The formula of a state that follows at once; None for memories and readings."""
    match thing:
        case Unit() | Supply() | Indication() | Means() if word in _words(thing):
            affirmed, _ = _words(thing)
            state = "running" if isinstance(thing, Unit) else affirmed
            first = Ref((thing.name, state))
            return first if word == affirmed else neg(first)
    return None


def _text(answer: Effects) -> list[str]:
    lines = [f"{answer.moved} ({answer.start}):"]
    if not answer.effects:
        lines.append("  nothing changes here.")
    passing = without_passing([effect.change for effect in answer.effects])
    shown = [effect for effect in answer.effects if effect.change in passing]
    told = _told_before(answer.effects)
    for group in alike(shown, lambda e: (sameness(e.change), _when(e, told[e]))):
        lines.append(
            f"  {changes_text([e.change for e in group])}{_when(group[0], told[group[0]])}"
        )
    if answer.elsewhere:
        lines.append("  In other states it would also bring about, to give one case of each:")
        groups = alike(answer.elsewhere, lambda e: e.when)
        lines += [f"    {_elsewhere(group)}" for group in groups[:MOST_LINES]]
        if len(groups) > MOST_LINES:
            lines.append(f"    ... and {sum(map(len, groups[MOST_LINES:]))} more")
    return lines


def _elsewhere(group: Sequence[Elsewhere]) -> str:
    condition = listed(item.text for item in group[0].when)
    return f"if {condition or 'nothing hinders'}: {listed(e.text for e in group)}"


def _told_before(effects: Sequence[Effect]) -> dict[Effect, frozenset[Item]]:
    """What has been told of all that each effect comes through, one through another."""
    behind: dict[str, frozenset[Item]] = {}
    before: dict[Effect, frozenset[Item]] = {}
    for effect in effects:
        nothing = frozenset[Item]()
        before[effect] = nothing.union(*(behind.get(n, nothing) for n in effect.change.through))
        behind[effect.change.thing] = before[effect].union(effect.when or ())
    return before


def _when(effect: Effect, told: frozenset[Item]) -> str:
    """When it comes, less what is told of that through which it comes."""
    if effect.always:
        return " — always"
    fresh = [item.text for item in effect.when or () if item not in told]
    also = "also " if len(fresh) < len(effect.when or ()) else ""
    return f" — here {also}because {listed(fresh)}" if fresh else ""
