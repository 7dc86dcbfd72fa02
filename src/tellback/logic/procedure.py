"""A procedure carried out in time: step after step, and with a step left out or two swapped.

Each `do` is made at once, and then time runs until all has settled, unless a `wait` follows: then
it runs as long as that says. A control that springs back is held until then. What is looked at or
asked takes no time. At the end time runs until all has settled.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

from tellback.book.conditions import Condition
from tellback.book.model import Book, Control, Procedure, Step
from tellback.book.procedures import moves_of, statements_in
from tellback.logic.facts import Facts, Seen
from tellback.logic.impossible import EntersImpossible, lawful
from tellback.logic.picture import Picture, picture_of
from tellback.logic.run import Barred, Moment, Unsettled
from tellback.logic.words import listed

MADE = ""
BARRED = "barred"
ALREADY = "already so"
RELEASED = "does not stay"
SO = "so"
NOT_SO = "not so"
NEVER = "never so"

MOST_STEPS_OF_WAIT = 2000
"""So many events may pass while a condition is waited for."""

Numbered = tuple[str, Step]


@dataclass(frozen=True, slots=True)
class Made:
    """A step as it was made: what came of it, and the moments from before it to its end."""

    number: str
    step: Step
    outcome: str
    history: tuple[Moment, ...]

    @property
    def moves(self) -> bool:
        """Whether a control was moved."""
        return self.step.kind == "do" and self.outcome in (MADE, RELEASED)


@dataclass(frozen=True, slots=True)
class Course:
    """All steps that were made from a moment, and the moments after the last until settled."""

    made: tuple[Made, ...]
    rest: tuple[Moment, ...]

    @property
    def begin(self) -> Moment:
        """The moment before the first step."""
        return (self.made[0].history if self.made else self.rest)[0]

    @property
    def path(self) -> tuple[Moment, ...]:
        """All moments from before the first step to the settled end."""
        after = (moment for one in self.made for moment in one.history[1:])
        return (self.begin, *after, *self.rest[1:])

    @property
    def end(self) -> Moment:
        """The settled end."""
        return self.rest[-1]


def picture_for(book: Book, procedures: Iterable[Procedure], aeroplane: str = "") -> Picture:
    """The picture of an aeroplane in which all conditions of the procedures can be asked."""
    conditions: dict[Condition, None] = {}
    for procedure in procedures:
        conditions |= dict.fromkeys(s.condition for s in statements_in(procedure))
    return picture_of(book, aeroplane, *conditions)


def is_called_for(picture: Picture, procedure: Procedure, moment: Moment) -> bool:
    """Whether a way in which the procedure is called for is met."""
    return any(holds(picture, way.condition, moment) for way in procedure.called_for)


def holds(picture: Picture, condition: Condition, moment: Moment) -> bool:
    """Whether a condition is so at a moment."""
    return picture.aeroplane.holds(picture.formula(condition), moment.state)


def numbered(steps: Sequence[Step], before: str = "", first: int = 1) -> tuple[Numbered, ...]:
    """Steps with their numbers: `1`, `2` ..., those of branches `2.1`, `2.2` ..."""
    return tuple((f"{before}{number}", step) for number, step in enumerate(steps, first))


def branches(number: str, step: Step) -> tuple[tuple[Numbered, ...], tuple[Numbered, ...]]:
    """The numbered steps of both branches; those of `otherwise` count on from those of `then`."""
    before, count = f"{number}.", len(step.then)
    return numbered(step.then, before), numbered(step.otherwise, before, count + 1)


def step_at(procedure: Procedure, number: str) -> Step:
    """The step of a procedure that has a number."""
    first, *rest = (int(part) - 1 for part in number.split("."))
    step = procedure.steps[first]
    for place in rest:
        step = (*step.then, *step.otherwise)[place]
    return step


def neighbours(steps: Sequence[Numbered]) -> Iterator[tuple[str, str]]:
    """Every two steps that stand next to one another in a list, by their numbers."""
    for (one, _), (other, _) in pairwise(steps):
        yield one, other
    for number, step in steps:
        for branch in branches(number, step):
            yield from neighbours(branch)


def carry_out(
    picture: Picture,
    steps: Sequence[Step],
    moment: Moment,
    left_out: Collection[str] = (),
    swapped: Collection[str] = (),
    like: Course | None = None,
) -> Course:
    """The steps made in order from a settled moment; `left_out` and `swapped` by their numbers.

    `like` is the course of the same steps from the same moment, all of them made in order: what
    is made there before anything is otherwise is taken over. Raises Unsettled if the aeroplane
    does not come to rest on the way, EntersImpossible if it comes to what is stated impossible.
    """
    crew = _Crew(picture, left_out, swapped)
    return crew.course(steps, moment, crew.alike(like) if like else ())


class _Crew:
    """Makes steps; `held` are the controls that spring back when let go, and where to."""

    def __init__(
        self, picture: Picture, left_out: Collection[str], swapped: Collection[str]
    ) -> None:
        self.picture = picture
        self.runner = picture.aeroplane
        self.left_out = left_out
        self.swapped = swapped
        self.held: dict[str, int] = {}

    def course(self, steps: Sequence[Step], moment: Moment, known: Sequence[Made]) -> Course:
        """The course from a moment, the first so many steps of which are `known`."""
        work = self._in_order(numbered(steps))
        made: list[Made] = []
        while work:
            (number, step), *work = work
            if len(made) < len(known):
                one = known[len(made)]
            else:
                waits = bool(work) and work[0][1].kind == "wait"
                outcome, history = self._make(step, moment, waits)
                lawful(self.picture, history, f"step {number}")
                one = Made(number, step, outcome, tuple(history))
            made.append(one)
            moment = one.history[-1]
            if step.kind == "if":
                then, otherwise = branches(number, step)
                work = self._in_order(then if one.outcome == SO else otherwise) + work
        rest = lawful(self.picture, self.runner.history(moment), "what follows the last step")
        return Course(tuple(made), tuple(rest))

    def alike(self, course: Course) -> Sequence[Made]:
        """The steps of a course in order that are made here just so.

        Those before the one before the first that is otherwise, for a step is made otherwise where
        a wait follows it; and none that holds a control while the next one waits.
        """
        otherwise = {*self.left_out, *self.swapped}
        made = course.made
        count = next((i for i, one in enumerate(made) if one.number in otherwise), len(made))
        count = max(0, count - 1)
        while count and made[count].step.kind == "wait":
            count -= 1
        return made[:count]

    def _in_order(self, steps: Sequence[Numbered]) -> list[Numbered]:
        """The steps of a list as they are to be made."""
        kept = list(steps)
        places = [i for i, (number, _) in enumerate(kept) if number in self.swapped]
        if len(places) == 2:
            one, other = places
            kept[one], kept[other] = kept[other], kept[one]
        return [(number, step) for number, step in kept if number not in self.left_out]

    def _make(self, step: Step, moment: Moment, waits: bool) -> tuple[str, list[Moment]]:
        match step.kind:
            case "do":
                return self._do(step, moment, waits)
            case "wait":
                outcome, history = self._wait(step, moment)
                return outcome, history if waits else self._let_go(history)
            case "say":
                return MADE, [moment]
        return self._asked(step.statement.condition, moment), [moment]

    def _asked(self, condition: Condition, moment: Moment) -> str:
        return SO if holds(self.picture, condition, moment) else NOT_SO

    def _do(self, step: Step, moment: Moment, waits: bool) -> tuple[str, list[Moment]]:
        wanted = {
            name: self.picture.system.variables[name].values.index(position)
            for name, position in moves_of(step.statement.condition)
        }
        if all(moment.state[name] == value for name, value in wanted.items()):
            return ALREADY, [moment]
        try:
            after = self.runner.move(moment, wanted)
        except Barred:
            return BARRED, [moment]
        self._hold(wanted)
        history = [moment, *([after] if waits else self.runner.history(after))]
        stays = all(history[-1].state[name] == value for name, value in wanted.items())
        outcome = MADE if stays else RELEASED
        return outcome, history if waits else self._let_go(history, settles=True)

    def _hold(self, wanted: dict[str, int]) -> None:
        """Note which of the controls moved will spring back."""
        for name, value in wanted.items():
            back = springs_to(self.picture, name, value)
            if back is not None:
                self.held[name] = back

    def _let_go(self, history: list[Moment], settles: bool = False) -> list[Moment]:
        """What was held springs back; `settles`: and then time runs until all has settled."""
        held, self.held = self.held, {}
        if not held:
            return history
        try:
            after = self.runner.move(history[-1], held)
        except Barred:
            return history
        return [*history, *(self.runner.history(after) if settles else [after])]

    def _wait(self, step: Step, moment: Moment) -> tuple[str, list[Moment]]:
        if step.seconds:
            return MADE, self.runner.later(moment, step.seconds)
        history = [moment]
        while self._asked(step.statement.condition, history[-1]) == NOT_SO:
            if history[-1].settled:
                return NEVER, history
            if len(history) > MOST_STEPS_OF_WAIT:
                raise Unsettled(sorted(history[-1].under_way), timed=True)
            history.append(self.runner.next_event(history[-1]))
        return SO, history


def springs_to(picture: Picture, control: str, value: int) -> int | None:
    """Where a control goes back to when it is let go there; None if it stays."""
    thing = picture.book.thing(control)
    assert isinstance(thing, Control)
    back = dict(thing.springs).get(thing.positions[value])
    return None if back is None else thing.positions.index(back)


def moved_in(picture: Picture, step: Step) -> tuple[str, ...]:
    """The controls that a step moves."""
    return tuple(name for name, _ in moves_of(step.statement.condition) if step.kind == "do")


def changes_nothing(facts: Facts, made: Made) -> bool:
    """Whether nothing is seen to change in a step but the controls that it moves."""
    moved = moved_in(facts.picture, made.step)
    before, *after = made.history
    return all(facts.alike(before, moment, moved) for moment in after)


def is_idle(facts: Facts, procedure: Procedure, course: Course, made: Made) -> bool:
    """Whether a `do` changes nothing, and all ends alike without it, the waits after it as well.

    What is secured counts: a step that only puts a control where it is secured to be has its use.
    """
    if made.step.kind != "do" or made.outcome == BARRED:
        return False
    if not made.moves:
        return True
    if not changes_nothing(facts, made):
        return False
    picture = facts.picture
    try:
        other = carry_out(
            picture, procedure.steps, course.begin, left_out=[made.number], like=course
        )
    except EntersImpossible:
        return False
    ends = [(course.end, other.end), *_ends_of_wait(course, other, made)]
    moved = moved_in(picture, made.step)
    return all(facts.alike(one, without, moved) for one, without in ends) and all(
        holds(picture, s.condition, other.end) or not holds(picture, s.condition, course.end)
        for s in procedure.secures
    )


def _ends_of_wait(course: Course, other: Course, made: Made) -> Iterator[tuple[Moment, Moment]]:
    """The end of the waits right after a step, and the same where the step was left out."""
    waits = list(takewhile(lambda m: m.step.kind == "wait", _after(course, made)))
    for wait in waits[-1:]:
        yield from (
            (wait.history[-1], one.history[-1]) for one in other.made if one.number == wait.number
        )


def _after(course: Course, made: Made) -> Sequence[Made]:
    return course.made[course.made.index(made) + 1 :]


def differing(
    facts: Facts, one: Moment, other: Moment, apart_from: Collection[str] = ()
) -> list[tuple[Seen, str, str]]:
    """What is seen otherwise at two moments: what of which thing, and how it is at each.

    The feeder of a supply only where it is live at both.
    """
    here, there = facts.seen(one), facts.seen(other)
    return [
        (seen, here[seen], there[seen])
        for seen in here
        if here[seen] != there[seen] and here[seen] and there[seen] and seen[0] not in apart_from
    ]


def barred_text(picture: Picture, made: Made) -> str:
    """Which controls a lock keeps from going where a step moves them."""
    moment = made.history[-1]
    values = picture.aeroplane.values(moment.state)
    bars = {
        (rule.variable, picture.system.variables[rule.variable].values[rule.value])
        for rule in picture.system.bars
        if values.of(rule.condition) and moment.state[rule.variable] != rule.value
    }
    return listed(
        f"{name} cannot go to {position}"
        for name, position in moves_of(made.step.statement.condition)
        if (name, position) in bars
    )
