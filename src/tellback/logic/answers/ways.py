"""Ways: when does X happen? As the book states it, and what else brings it about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tellback.book import conditions as c
from tellback.book.model import Book, Surface
from tellback.logic.answers.cubes import Case, Found, all_met, found_in
from tellback.logic.answers.denied import denied_lines
from tellback.logic.answers.few_lines import CAN_BE, IN_PASSING, NEVER, OPEN, STATED, Way, few_lines
from tellback.logic.answers.shortest import (
    Shortest,
    passing,
    shortest_of,
    shortest_of_found,
    told,
)
from tellback.logic.answers.ways_text import ways_text
from tellback.logic.attempts import tried
from tellback.logic.formula import Formula, Lit, conj, neg
from tellback.logic.given import understand_given
from tellback.logic.limits import ANSWER_SECONDS, OutOfReach, within
from tellback.logic.path import Paths
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.said import in_words
from tellback.logic.space import Node
from tellback.logic.subjects import Stated, Subject, Subjects
from tellback.logic.symmetry import Statement
from tellback.logic.translate import failure_name

PATIENCE = 10_000
"""The effort of search for whether one way can come about."""


@dataclass(frozen=True, slots=True)
class Ways:
    """When X happens.

    `ways` are those of the book, in its order; where it names none (`named` is False), they are
    worked out, with what they share said once. `always`: X is so whenever its `needs` are met.
    `what_else` brings X about as well. One of all of these is met wherever X is so: that is
    `proved`. `through` are the means of which alone X comes.

    `inhibited` is what keeps an indication off and `cancelled` what cancels it: the ways are those
    without. `beaten` is what keeps a stated way from bringing X about where it is met at the same
    time. `decided` is False where a way that is not stated may never be met, or say more than
    it must.

    `denied`: the ways to what is not so are told by the statements that name it, denied; a reading
    is then the indicated one, elsewhere in ways that are worked out the true one.
    `beginning`: it is set off by something that comes on or goes out, told as it is stated.
    `ends` is the kind of thing X is if nothing stands behind it, else empty. `shortest` are all
    shortest combinations of items, if they were asked for and can be listed.
    """

    question: str
    aeroplane: str
    verb: str
    given: tuple[str, ...]
    named: bool
    always: bool
    through: tuple[Statement, ...]
    ways: tuple[Way, ...]
    what_else: tuple[Way, ...]
    needs: tuple[Statement, ...]
    inhibited: tuple[Statement, ...]
    cancelled: tuple[Statement, ...]
    beaten: tuple[Statement, ...]
    not_failed: tuple[str, ...]
    proved: bool
    decided: bool
    denied: bool = False
    beginning: bool = False
    ends: str = ""
    shortest: Shortest | None = None

    def __str__(self) -> str:
        return ways_text(self)


def ways(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    given: Sequence[str] = (),
    shortest: bool = False,
) -> Ways:
    """When `question` is so: the ways that the book states, and what else brings it about.

    Each `given` is a condition, `no failures` or `at most N failures`, taken for granted. With
    `shortest`, the answer has all shortest combinations as well, if these are not out of reach.
    Raises Misunderstood if a text does not parse and OutOfReach if the answer is.
    """
    condition = understand(book, question, aeroplane)
    assumed, failures = understand_given(book, given, aeroplane)
    picture = picture_of(book, aeroplane, condition, *assumed)
    with within(ANSWER_SECONDS, "finding the ways"):
        answer = ways_of(picture, condition, assumed, tuple(given), failures)
    if not shortest or answer.shortest or answer.beginning:
        return answer
    try:
        with within(ANSWER_SECONDS, "finding the shortest combinations"):
            combinations = shortest_of(picture, condition, assumed, False, tuple(given), failures)
    except OutOfReach:
        return answer
    return replace(answer, shortest=combinations)


def ways_of(
    picture: Picture,
    condition: c.Condition,
    given: Sequence[c.Condition] = (),
    given_text: tuple[str, ...] = (),
    failures: int | None = None,
) -> Ways:
    """The same of a picture, for conditions already understood."""
    subject = Subjects(picture).of(condition)
    answer = _about(picture, subject, given_text)
    if subject.edges:
        return _beginning(answer, picture, subject, failures)
    case = Case(picture, subject, given, False, given_text, failures)
    return _NamedWays(case).added_to(answer) if subject.named else _worked_out(case, answer)


def _beginning(answer: Ways, picture: Picture, subject: Subject, failures: int | None) -> Ways:
    """What sets a change off by coming on or going out, told as it is stated."""
    known = passing(picture, subject, failures)
    return replace(
        answer,
        ways=tuple(_stated(one, OPEN if known else NEVER) for one in subject.stated),
        beaten=told(subject.beaten),
        beginning=True,
    )


def _about(picture: Picture, subject: Subject, given: tuple[str, ...]) -> Ways:
    """An answer before any way is looked for."""
    return Ways(
        question=subject.text,
        aeroplane=picture.book.aeroplane,
        verb=subject.verb,
        given=given,
        named=subject.named,
        always=subject.always,
        through=told(subject.through),
        ways=(),
        what_else=(),
        needs=told(subject.needs),
        inhibited=told(subject.inhibited),
        cancelled=told(subject.cancelled),
        beaten=(),
        not_failed=(),
        proved=True,
        decided=True,
    )


def _stated(one: Stated, status: str, covered_by: tuple[int, ...] = ()) -> Way:
    return Way(one.name, one.said, one.text, one.source, STATED, status, covered_by)


class _NamedWays:
    """The ways that the book states, judged over the possible states."""

    def __init__(self, case: Case) -> None:
        self.case, self.space, self.none = case, case.space, case.space.false
        subject, view = case.subject, case.view
        self.base = case.base
        for not_cancelled in self._not_cancelled():
            self.base = self.base & view.of(not_cancelled)
        called = [self.space.true] if subject.always else case.stated
        self.called = [node & case.needed.node & self.base for node in called]
        self.met = [node & case.target for node in self.called]
        alone = self.space.any_of(view.of(one.alone) for one in subject.stated)
        self.alone = alone & case.needed.node & self.base
        self.beaten = [view.of(one.formula) for one in subject.beaten]

    @property
    def widest(self) -> Node:
        """Which combinations are not known to be impossible."""
        return self.case.found.widest

    def added_to(self, answer: Ways) -> Ways:
        """The answer with the ways, what else there is, and what is proved of them."""
        case = self.case
        found, sure = self._what_else()
        stated = self._stated() if case.subject.stated else []
        own = self._own_failure()
        return replace(
            answer,
            ways=tuple(stated),
            what_else=tuple(few_lines(case, found)),
            beaten=told(
                one
                for one, node in zip(case.subject.beaten, self.beaten, strict=True)
                if node & self.alone & self.widest != self.none
            ),
            not_failed=(case.subject.thing.name,) if own and case.subject.thing else (),
            proved=self._are_enough(own) and self._are_all(found),
            decided=sure and all_met(case, found),
        )

    def _what_else(self) -> tuple[list[Found], bool]:
        """What brings X about where no stated way is met; and whether it is sure that it does."""
        elsewhere = self.base & ~self.space.any_of(self.met)
        if self.case.target & elsewhere & self.widest == self.none:
            return [], True
        return found_in(self.case, elsewhere)

    def _own_failure(self) -> str:
        """The variable of the failure of X itself, if that can keep X from being so."""
        thing = self.case.subject.thing
        name = failure_name(thing.name) if thing else ""
        spoilt = self._spoilt() & self.widest != self.none
        return name if spoilt and name in self.case.picture.system.variables else ""

    def _spoilt(self) -> Node:
        """Where a stated way is met and nothing beats it, and yet X is not so."""
        called = self.space.any_of(self.called) & ~self.space.any_of(self.beaten)
        return called & ~self.case.target

    def _are_enough(self, own_failure: str) -> bool:
        """Whether every stated way is enough while X itself has not failed."""
        sound = self.space.literal(own_failure, (0,)) if own_failure else self.space.true
        return self._spoilt() & sound & self.widest == self.none

    def _are_all(self, found: Iterable[Found]) -> bool:
        """Whether a stated way or something found is met wherever X is so."""
        met = [*self.met, *(one.where for several in found for one in several.all)]
        return self.case.target & self.base & self.widest & ~self.space.any_of(met) == self.none

    # -- each of the stated ways ---------------------------------------------------------------

    def _stated(self) -> list[Way]:
        status = self._status_of_each()
        return [
            _stated(one, status[i], self._covering(i) if status[i] in (CAN_BE, OPEN) else ())
            for i, one in enumerate(self.case.subject.stated)
            if not self._is_no_drive(i)
        ]

    def _is_no_drive(self, i: int) -> bool:
        """Whether it drives a surface that may go elsewhere, but never to the point asked for."""
        asked_for = self.case.view.of(self.case.subject.stated[i].alone)
        return isinstance(self.case.subject.thing, Surface) and asked_for == self.none

    def _status_of_each(self) -> list[str]:
        """Whether each way can come about; where it is met in no lasting state, perhaps in passing.

        A surface that takes its time is moved in lasting states alone.
        """
        found = [self._status(i) for i in range(len(self.met))]
        thing = self.case.subject.thing
        lasts = isinstance(thing, Surface) and all(drive.takes for drive in thing.drives)
        passing = [i for i, met in enumerate(self.met) if found[i] == NEVER and met != self.none]
        if not passing or lasts or not self.case.subject.verb or not self._may_be_after():
            return found
        alone = len(passing) == 1 and not {CAN_BE, OPEN}.intersection(found)
        perhaps = IN_PASSING if alone and self._comes_to_be() else OPEN
        return [perhaps if i in passing else status for i, status in enumerate(found)]

    def _may_be_after(self) -> bool:
        """Whether what the change leads to is not excluded."""
        return bool(passing(self.case.picture, self.case.subject, self.case.failures))

    def _comes_to_be(self) -> bool:
        """Whether what the change leads to can be, and is so in no starting state."""
        picture = self.case.picture
        after = picture.formula(self.case.subject.condition)
        starts = picture.starts.values()
        if any(picture.aeroplane.holds(after, start.state) for start in starts):
            return False
        return bool(self._can_be(after))

    def _status(self, i: int) -> str:
        can_be = self.case.found.comes_about(self.met[i])
        if can_be is None:
            can_be = self._comes_about(self.case.subject.stated[i])
        if can_be is None:
            return OPEN
        if can_be:
            return CAN_BE
        self.case.found.exclude(self.met[i])
        return NEVER

    def _comes_about(self, one: Stated) -> bool | None:
        """The same, by a search among what bears on this way alone, and by trying moves."""
        case, subject = self.case, self.case.subject
        asked = [one.formula, *(need.formula for need in subject.needs), subject.happens]
        inhibited = (neg(off.formula) for off in subject.inhibited)
        return self._can_be(conj([*asked, *case.given, *inhibited, *self._not_cancelled()]))

    def _can_be(self, goal: Formula) -> bool | None:
        """Whether the goal can be; None if that was not decided."""
        picture, failures = self.case.picture, self.case.failures
        met = picture.possible((), [goal], failures).meets(picture.symbols.of(goal), PATIENCE)
        if met is None and tried(picture, Paths(picture, failures, ""), goal):
            return True
        return met

    def _not_cancelled(self) -> Iterator[Formula]:
        subject = self.case.subject
        if subject.cancelled and subject.thing:
            yield Lit(f"{subject.thing.name} cancelled", frozenset({0}))

    def _covering(self, i: int) -> tuple[int, ...]:
        """The numbers of the other ways that are met wherever this one is: as few as will do.

        Of two that are met in the same states, the later one is covered.
        """
        others = [j for j in range(len(self.met)) if self._may_cover(j, i)]
        if not others or self.met[i] & self.widest == self.none:
            return ()
        apart = self.met[i] & ~self.space.any_of(self.met[j] for j in others)
        if self.case.found.comes_about(apart) is not False:
            return ()
        for j in reversed(list(others)):
            fewer = [other for other in others if other != j]
            if self._cover(fewer, i):
                others = fewer
        return tuple(j + 1 for j in others)

    def _cover(self, others: Iterable[int], i: int) -> bool:
        apart = self.met[i] & self.widest & ~self.space.any_of(self.met[j] for j in others)
        return apart == self.none

    def _may_cover(self, j: int, i: int) -> bool:
        """Whether a way is another one that can be, and no later wording of the same states."""
        mine, other = self.met[i] & self.widest, self.met[j] & self.widest
        return j != i and other != self.none and not (j > i and mine == other)


# -- what the book does not state ----------------------------------------------------------------


def _worked_out(case: Case, answer: Ways) -> Ways:
    """The answer with the ways to what the book does not name."""
    found, sure = found_in(case, case.space.true)
    shortest = shortest_of_found(case, found, sure)
    worked_out = replace(
        answer,
        always=any(f.told == {} for f in found),
        ways=tuple(few_lines(case, [f for f in found if f.told])),
        not_failed=shortest.not_failed,
        decided=shortest.exact and shortest.met,
        ends=_end(case, shortest),
        shortest=shortest,
    )
    denied = () if worked_out.always else denied_lines(case)
    if not denied or _length(worked_out.ways) <= _length(denied):
        return worked_out
    known = {thing for way in denied for several in way.not_failed for thing in several}
    return replace(worked_out, ways=denied, not_failed=tuple(known), decided=True, denied=True)


def _length(ways: Iterable[Way]) -> int:
    """How long ways are to read."""
    return sum(len(in_words(way.said)) for way in ways)


def _end(case: Case, shortest: Shortest) -> str:
    """What kind of thing X is if its only way is itself; else empty."""
    ways = [way.items for way in shortest.combinations]
    texts = [item.text.replace(",", "") for item in ways[0]] if len(ways) == 1 else []
    return ways[0][0].kind if texts == [case.subject.text.replace(",", "")] else ""
