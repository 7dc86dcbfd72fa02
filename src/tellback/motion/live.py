"""One aeroplane live: what is done with it by hand, what comes of that, and back again.

What is done is plain data (`Action`), and what comes of it follows from that alone: the same
actions from the same starting state lead to the same, so that a list of them is a run to keep.
No question over all states is asked here; a move takes as long as it takes a run to go on.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from tellback.book.model import Book
from tellback.book.scenario import Setting
from tellback.logic.answers.why import Reason, explained
from tellback.logic.facts import Facts
from tellback.logic.impossible import EntersImpossible, stated_at
from tellback.logic.instants import Instant, Instants, Watched
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.run import Moment, Unsettled
from tellback.logic.scene import pairs_of, scene
from tellback.logic.settings import BadSetting, number_of
from tellback.logic.words import fault_text, literal_text
from tellback.motion.line_text import line_text
from tellback.motion.rounds import Rounds
from tellback.motion.run import Line, lines_from
from tellback.motion.runner import numbers_outside
from tellback.motion.script import setting_text
from tellback.motion.stage import Contradicted, Stage
from tellback.motion.times import clock
from tellback.motion.trace import STEP, Event, Frame
from tellback.refusals import Refusal

MOVE, SET, FAIL, MEND, ADVANCE, SETTLE = "move", "set", "fail", "mend", "advance", "settle"


class NothingToUndo(Refusal):
    """There is nothing before, or nothing undone, to go to."""


@dataclass(frozen=True, slots=True)
class Action:
    """Something done: `kind` is move, set, fail, mend, advance or settle.

    `thing` goes to the position, state, number or failure mode `state`; `seconds` pass, or a
    reading takes so long to its number.
    """

    kind: str
    thing: str = ""
    state: str = ""
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class Done:
    """What came of an action: all that changed, event by event, up to `seconds` from the start.

    `unrest` tells what goes on without end, if anything does.
    """

    action: Action
    seconds: float
    lines: tuple[Line, ...]
    unrest: str = ""

    def __str__(self) -> str:
        told = [text for line in self.lines for text in line_text(line, clock(line.seconds))]
        told += [f"  It is broken off: {self.unrest}."] * bool(self.unrest)
        return "\n".join(told) or "  nothing changes"


@dataclass(frozen=True, slots=True)
class Standing:
    """How all stands at a time: of each thing what is seen, in words.

    `numbers` are where readings truly stand, `failed` the failures there are, `under_way` what is
    moving or waiting, each with the seconds it takes yet.
    """

    seconds: float
    things: Mapping[str, str]
    numbers: Mapping[str, float]
    failed: tuple[str, ...]
    under_way: Mapping[str, float]

    @property
    def settled(self) -> bool:
        """Nothing is under way."""
        return not self.under_way


@dataclass(frozen=True, slots=True)
class _After:
    """What an action has left: the stage as it stands, and the new frames and instants."""

    done: Done
    stage: Stage
    frames: tuple[Frame, ...]
    instants: tuple[Instant, ...]


class Live:
    """An aeroplane in a starting state, to be stepped by hand; see `tellback.live`.

    Every step returns what came of it. Raises BadSetting for what cannot be set so, with what can.
    """

    def __init__(
        self,
        book: Book,
        *,
        start: str = "",
        changes: Sequence[str] = (),
        aeroplane: str = "",
        actions: Iterable[Action] = (),
    ) -> None:
        self._book, self._aeroplane = book, aeroplane
        self._start, self._changes = start, tuple(changes)
        self.picture = picture_of(book, aeroplane)
        self._facts = Facts(self.picture)
        self._begin = self._begun(self.picture)
        self._past: list[_After] = []
        self._undone: list[Action] = []
        for action in actions:
            self.do(action)

    # -- what is done -----------------------------------------------------------------------

    def move(self, control: str, position: str) -> Done:
        """A control goes to a position now; a lock may forbid it, which is then the outcome.

        From where it springs it goes back at once: it is pressed, not held.
        """
        return self.do(Action(MOVE, control, position))

    def set(self, thing: str, state: str, seconds: float = 0.0) -> Done:
        """A situation is `yes` or `no`, or a reading from outside goes to a number.

        The number has its unit (`140 kt`); with `seconds` it takes so long to go there.
        """
        return self.do(Action(SET, thing, state, seconds))

    def fail(self, thing: str, mode: str) -> Done:
        """Something fails, in one of its modes."""
        return self.do(Action(FAIL, thing, mode))

    def mend(self, thing: str) -> Done:
        """Something works again."""
        return self.do(Action(MEND, thing))

    def advance(self, seconds: float) -> Done:
        """Time passes, with all that comes in it."""
        return self.do(Action(ADVANCE, seconds=seconds))

    def settle(self) -> Done:
        """Time passes until nothing is under way any more, or the same comes again."""
        return self.do(Action(SETTLE))

    def do(self, action: Action) -> Done:
        """An action; what was undone before it is forgotten.

        Raises EntersImpossible, until it is undone, after what led to the impossible.
        """
        entered = stated_at(self.picture, self.moment, 0.0)
        if entered is not None:
            raise EntersImpossible("what was done last", entered)
        after = _played(self._facts, self._now, action)
        self._past.append(after)
        self._undone.clear()
        return after.done

    def undo(self) -> Done:
        """The last action was not; it is returned, and `redo` does it again."""
        if not self._past:
            raise NothingToUndo("nothing has been done that could be undone")
        last = self._past.pop()
        self._undone.append(last.done.action)
        return last.done

    def redo(self) -> Done:
        """What was undone last is done again."""
        if not self._undone:
            raise NothingToUndo("nothing has been undone that could be done again")
        action, *rest = self._undone[::-1]
        done = self.do(action)
        self._undone = rest[::-1]
        return done

    # -- what there is ----------------------------------------------------------------------

    @property
    def done(self) -> tuple[Done, ...]:
        """All that was done, from the first on, with what came of it."""
        return tuple(after.done for after in self._past)

    @property
    def actions(self) -> tuple[Action, ...]:
        """All that was done: with the starting state, a run to keep."""
        return tuple(done.action for done in self.done)

    @property
    def moment(self) -> Moment:
        """The moment that it has come to."""
        return self._now.moment

    @property
    def standing(self) -> Standing:
        """How all stands now."""
        moment, variables = self.moment, self.picture.system.variables
        return Standing(
            moment.time,
            self._facts.at(moment),
            {**moment.numbers, **self._now.numbers},
            tuple(
                fault_text(v.thing, v.values[moment.state[v.name]])
                for v in variables.values()
                if v.kind == "failure" and moment.state[v.name]
            ),
            {name: pending.due - moment.time for name, pending in moment.under_way.items()},
        )

    def why(self, question: str) -> Reason:
        """Why `question` is so now, or not so: back to what was done, failed or set."""
        condition = understand(self._book, question, self._aeroplane)
        picture = picture_of(self._book, self._aeroplane, condition)
        past = self._past
        if picture is not self.picture:  # it tells numbers apart that are one and the same here
            past, now, facts = [], self._begun(picture), Facts(picture)
            for action in self.actions:
                past.append(_played(facts, now, action))
                now = past[-1].stage
        begin = self._begun(picture).moment
        passed = [Instant(begin.time, begin.state, False), *(i for a in past for i in a.instants)]
        end = past[-1].stage.moment if past else begin
        return explained(picture, condition, self.text, Instants(picture, passed), end)

    @property
    def text(self) -> str:
        """From where it began and how far it has come, in words."""
        start = scene(self.picture, self._start, self._changes).text
        return f"{start}, {clock(self.moment.time)} later" if self._past else start

    @property
    def _now(self) -> Stage:
        return self._past[-1].stage if self._past else self._begin

    def _begun(self, picture: Picture) -> Stage:
        moment = replace(scene(picture, self._start, self._changes).moment, time=0.0)
        return Stage(
            picture,
            moment,
            numbers_outside(picture, self._start, pairs_of(picture.names, self._changes)),
        )


# -- one action -----------------------------------------------------------------------------


def _played(facts: Facts, now: Stage, action: Action) -> _After:
    """What comes of an action, the stage before it left as it is."""
    picture = facts.picture
    watched = Watched(picture.aeroplane.evaluator)
    stage = now.like(watched)
    unrest = ""
    try:
        if action.kind in (ADVANCE, SETTLE):
            unrest = _pass(stage, action.seconds if action.kind == ADVANCE else inf)
        else:
            _make(stage, picture, action)
    except Contradicted as fault:
        unrest = str(fault)
    except Unsettled as fault:
        unrest = fault.message
    frames = tuple(stage.frames)
    lines = tuple(lines_from(picture, frames, facts))
    done = Done(action, stage.time, lines, unrest)
    return _After(done, stage, frames[1:], tuple(watched.passed))


def _pass(stage: Stage, seconds: float) -> str:
    """Time passes; what goes on without end, where no time was said."""
    ends = stage.time + seconds
    rounds = Rounds(stage)
    while (time := stage.next_time()) is not None and time <= ends:
        if stage.next_event() and seconds == inf:
            unrest = rounds.closed(alone=not stage.is_touched)
            if unrest is not None:
                return unrest.text
    if seconds < inf:
        stage.pass_to(ends)
    return ""


def _make(stage: Stage, picture: Picture, action: Action) -> None:
    """Something is moved, set, fails or works again now."""
    name = picture.names.find(action.thing)
    state = "ok" if action.kind == MEND else action.state
    values = picture.settings([(action.thing, state)]).values
    variable = next((picture.system.variables[n] for n in values), None)
    kind = variable.kind if variable else "reading"
    wanted = {MOVE: ("control",), FAIL: ("failure",), MEND: ("failure",)}
    if kind not in wanted.get(action.kind, ("situation", "reading")):
        raise BadSetting(
            f"{name} cannot be {action.kind} so",
            "A control is moved, a situation or a reading from outside is set, and what has "
            "`fails` in the book fails.",
        )
    if action.kind == MOVE:
        ((_, value),) = values.items()
        position = variable.values[value] if variable else state
        text = literal_text(picture.system, name, [value])
        outcome = stage.move({name: position}, 0.0)
        stage.note(Event(STEP, text, outcome=outcome, things=(name,)))
        return
    setting = _setting(picture, name, kind, action, values)
    stage.set([setting])
    unit = picture.system.regions[name].unit if kind == "reading" else ""
    things = () if kind == "failure" else (name,)
    stage.note(Event(STEP, setting_text(setting, unit), things=things))


def _setting(
    picture: Picture, name: str, kind: str, action: Action, values: Mapping[str, int]
) -> Setting:
    if kind == "failure":
        ((variable, value),) = values.items()
        word = picture.system.variables[variable].values[value]
        return Setting(name, "works") if action.kind == MEND else Setting(name, "fails", word)
    if kind == "situation":
        ((variable, value),) = values.items()
        return Setting(name, "is", picture.system.variables[variable].values[value])
    number = str(number_of(picture.system, name, action.state))
    how = "goes" if action.seconds else "is"
    return Setting(name, how, number, seconds=action.seconds)
