"""Effects: what does moving this control do? Here and in other states, at once and after a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tellback.book.model import Book, Indication, Means, Supply, Thing, Unit
from tellback.logic.facts import Change, Facts, kind_of, said
from tellback.logic.formula import Formula, Ref, neg
from tellback.logic.items import Item, View
from tellback.logic.picture import Picture, picture_of
from tellback.logic.run import Moment
from tellback.logic.scene import pairs_of, scene
from tellback.logic.settings import BadSetting
from tellback.logic.space import Node
from tellback.logic.words import listed


@dataclass(frozen=True, slots=True)
class Effect:
    """A change here; `always` if it follows at once in every possible state (with no failures).

    `when` is the smallest condition for it that is met here; None where that was not asked (what
    comes after a time, memories) or not decided.
    """

    change: Change
    always: bool
    when: tuple[Item, ...] | None


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A change at once that comes only in other states, and the smallest condition for it."""

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
    before = where.moment.state[name]
    if value == before:
        raise BadSetting(f"{picture.system.variables[name].thing} is already so", "")
    runner = picture.aeroplane
    history = [where.moment, *runner.history(runner.move(where.moment, wanted))]
    here = Facts(picture).changes(history, moved=[picture.system.variables[name].thing])
    always = _Always(picture, name, before, value)
    told = {change.thing for change in here}
    return Effects(
        moved=_move_text(picture, name, value),
        aeroplane=picture.book.aeroplane,
        start=where.text,
        effects=tuple(always.judge(change, where.moment) for change in here),
        elsewhere=tuple(always.elsewhere(told)),
    )


def _move_text(picture: Picture, name: str, value: int) -> str:
    variable = picture.system.variables[name]
    return said(variable.thing, variable.kind, variable.values[value])


class _Always:
    """Judges over all possible states without failures what a move does at once."""

    def __init__(self, picture: Picture, name: str, before: int, after: int) -> None:
        self.picture = picture
        self.view = View(picture, to_root=True)
        self.space = self.view.space
        self.name, self.before, self.after = name, before, after
        system = picture.system
        self.failures = [v.name for v in system.failures()]
        self.intact = self.space.all_of(self.space.literal(n, (0,)) for n in self.failures)

    def _brought(self, formula: Formula) -> Node:
        """Where the move brings the formula about, with no failures."""
        node = self.view.of(formula)
        was = self.space.assume(node, self.name, self.before)
        will = self.space.assume(node, self.name, self.after)
        return self._no_failures(will & ~was)

    def _no_failures(self, node: Node) -> Node:
        return self.space.exists(node & self.intact, self.failures)

    def _care(self, node: Node) -> Node:
        here = self.space.literal(self.name, (self.before,))
        possible, _ = self.view.care(node, here, failures=0)
        return self.space.assume(self._no_failures(possible & here), self.name, self.before)

    def judge(self, change: Change, moment: Moment) -> Effect:
        """Whether a change here comes always, and if not, the smallest condition met here."""
        formula = _state_formula(self.picture.book.thing(change.thing), change.after)
        if formula is None or change.seconds > 0:
            return Effect(change, False, None)
        brought = self._brought(formula)
        care = self._care(brought)
        if care & ~brought == self.space.false:
            return Effect(change, True, ())
        for cube in self.view.cubes(brought, care):
            if all(moment.state[n] in values for n, values in cube.items()):
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
                for cube in self.view.cubes(brought, self._care(brought), 8):
                    text = said(thing.name, kind_of(thing), word)
                    yield Elsewhere(thing.name, text, self._items(cube.items()))
                    break


def _words(thing: Thing) -> tuple[str, ...]:
    match thing:
        case Unit():
            return ("running", "not running")
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
            first = Ref((thing.name, _words(thing)[0]))
            return first if word == _words(thing)[0] else neg(first)
    return None


def _text(answer: Effects) -> list[str]:
    lines = [f"{answer.moved} ({answer.start}):"]
    if not answer.effects:
        lines.append("  nothing changes here.")
    for effect in answer.effects:
        lines.append(f"  {effect.change}{_when(effect)}")
    if answer.elsewhere:
        lines.append("  In other states it would also bring about:")
        lines += [
            f"    {e.text}: if {listed(i.text for i in e.when) or 'nothing hinders'}"
            for e in answer.elsewhere[:12]
        ]
        if len(answer.elsewhere) > 12:
            lines.append(f"    ... and {len(answer.elsewhere) - 12} more")
    return lines


def _when(effect: Effect) -> str:
    if effect.always:
        return " — always"
    if effect.when:
        return f" — here because {listed(i.text for i in effect.when)}"
    return ""
