"""Asks the same thing in two ways, and tells where two answers about a book contradict each other.

Nothing here knows the right answer: only that what a run comes to can be, that what is proved holds
in every run, that what takes a thing away has taken it away when the run has settled, and so on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

import tellback as tb
from tellback.book import conditions as c
from tellback.book.model import Book, Indication, Latch, Surface, Unit
from tellback.logic.answers.can import IMPOSSIBLE, POSSIBLE
from tellback.logic.answers.claims import FALSE, PROVED
from tellback.logic.formula import Formula
from tellback.logic.impossible import EntersImpossible
from tellback.logic.limits import TooLarge
from tellback.logic.picture import Misunderstood, Picture, picture_of, understand
from tellback.logic.run import Barred, Moment, Unsettled
from tellback.logic.settings import BadSetting
from tellback.logic.words import literal_text

WALKS, STEPS = 4, 12
"""So many runs are made from each starting state, with so many moves or events in each."""


@dataclass(frozen=True)
class Seen:
    """A possible moment that a run came to: from where, and how many failed at most on the way."""

    start: str
    moment: Moment
    failures: int


@dataclass(frozen=True)
class Asked:
    """A question to a book, with its picture and the moments that runs came to."""

    book: Book
    text: str
    picture: Picture
    formula: Formula
    seen: Sequence[Seen]
    random: Random

    def so(self, moment: Moment) -> bool:
        """Whether what is asked is so at a moment."""
        return self.picture.aeroplane.holds(self.formula, moment.state)

    def holds(self, condition: c.Condition, moment: Moment) -> bool:
        """Whether a condition is so at a moment."""
        return self.picture.aeroplane.holds(self.picture.formula(condition), moment.state)


Check = Callable[[Asked], Iterable[str]]


def contradictions(
    book: Book, text: str, random: Random, checks: Sequence[Check] = ()
) -> Iterator[str]:
    """What the answers about `text` say against one another, or against runs, by all checks."""
    condition = understand(book, text)
    picture = picture_of(book, "", condition)
    impossible = picture.system.impossible
    if any(picture.aeroplane.holds(impossible, first.state) for first in picture.starts.values()):
        return  # the check tells of it
    seen = list(wander(picture, random))
    asked = Asked(book, text, picture, picture.formula(condition), seen, random)
    for check in checks or CHECKS:
        try:
            found = list(check(asked))
        except (TooLarge, Unsettled, EntersImpossible, Barred):
            continue
        yield from (f"{check.__name__}: {told}" for told in found)


def widened(text: str, others: Sequence[str], random: Random) -> str:
    """The question, or one made of it."""
    other = random.choice(others)
    return random.choice(
        [text, text, f"not ({text})", f"({text}) and ({other})", f"({text}) or not ({other})",
         f"({text}) for 3 s"]
    )  # fmt: skip


def wander(picture: Picture, random: Random) -> Iterator[Seen]:
    """Moments of runs in which inputs are moved and time passes, by possible states alone."""
    for start, first in picture.starts.items():
        for _ in range(WALKS):
            seen = Seen(start, first, failed(picture, first))
            yield seen
            for _ in range(STEPS):
                after = step(picture, seen.moment, random)
                if after is not None:
                    seen = Seen(start, after, max(seen.failures, failed(picture, after)))
                    yield seen


def step(picture: Picture, moment: Moment, random: Random) -> Moment | None:
    """A move, or the next event; None if that cannot be."""
    runner = picture.aeroplane
    try:
        if not moment.settled and random.random() < 0.5:
            after = runner.next_event(moment)
        else:
            inputs = [v for v in picture.system.variables.values() if v.is_input]
            variable = random.choice(inputs)
            value = random.randrange(len(variable.values))
            after = runner.move(moment, {variable.name: value})
    except (Barred, Unsettled):
        return None
    return None if runner.holds(picture.system.impossible, after.state) else after


def failed(picture: Picture, moment: Moment) -> int:
    """How many things have failed."""
    return sum(moment.state[v.name] > 0 for v in picture.system.failures())


# -- what can be ----------------------------------------------------------------------------


def reached_and_excluded(asked: Asked) -> Iterator[str]:
    """What a run comes to is proved impossible, or a claim is proved that a run breaks."""
    start_of_run = asked.random.choice(asked.seen).start
    given = [([], 99), (["no failures"], 0), (["at most 1 failure"], 1)]
    verdicts: dict[tuple[str, int], str] = {}
    for start in ("", start_of_run):
        for words, most in given:
            can = tb.can(asked.book, asked.text, given=words, start=start)
            never = tb.claim(asked.book, f"never ({asked.text})", given=words, start=start)
            where = f"{asked.text} given {words} from {start or 'anywhere'}"
            verdicts[start, most] = can.verdict
            if (can.verdict, never.verdict) in ((POSSIBLE, PROVED), (IMPOSSIBLE, FALSE)):
                yield f"{where}: can says {can.verdict}, claim {never.verdict}"
            for run in (can.run, never.run):
                if run is not None and not asked.so(run.end):
                    yield f"{where}: the run ends where it is not so"
            come = [s for s in asked.seen if start in ("", s.start) and s.failures <= most]
            if can.verdict == IMPOSSIBLE and any(asked.so(s.moment) for s in come):
                yield f"{where}: proved impossible, but a run comes to it"
            if never.verdict == PROVED and any(asked.so(s.moment) for s in come):
                yield f"{where}: never proved, but a run comes to it"
    for (start, most), verdict in verdicts.items():
        wider = [w for (s, m), w in verdicts.items() if s in ("", start) and m >= most]
        if verdict == POSSIBLE and IMPOSSIBLE in wider:
            yield f"{asked.text} from {start}, {most} failures: possible, with more allowed not"


def stated_as_given(asked: Asked) -> Iterator[str]:
    """What is given, and what is asked together with it, come to the same."""
    other = asked.random.choice(asked.random.choice(words_of(asked.book)))
    together = tb.can(asked.book, f"({asked.text}) and ({other})").verdict
    given = tb.can(asked.book, asked.text, given=[other]).verdict
    swapped = tb.can(asked.book, other, given=[asked.text]).verdict
    claimed = tb.claim(asked.book, f"if {asked.text} then not ({other})").verdict
    opposite = {FALSE: POSSIBLE, PROVED: IMPOSSIBLE}.get(claimed, claimed)
    verdicts = {together, given, swapped, opposite}
    if {POSSIBLE, IMPOSSIBLE} <= verdicts:
        yield f"{asked.text} and {other}: {together}, {given}, {swapped}, {opposite}"


def words_of(book: Book) -> list[list[str]]:
    """What may be asked of things of a book, thing by thing."""
    found = []
    for thing in book.things:
        match thing:
            case Unit():
                found.append([f"{thing.name} running", f"{thing.name} available"])
            case Indication():
                found.append([f"{thing.name} shown"])
            case Latch():
                found.append([f"{thing.name} set", f"{thing.name} clear"])
            case Surface():
                found.append([f"{thing.name} at {point}" for point in thing.points])
    return found


# -- what takes it away ---------------------------------------------------------------------

Changes = tuple[str, ...]


def taken_away(asked: Asked) -> Iterator[str]:
    """Sets of `losses`, of any size and up to one, against runs and against `stops`."""
    start = asked.random.choice(asked.seen).start
    every = tb.losses(asked.book, asked.text, start=start)
    few = tb.losses(asked.book, asked.text, start=start, order=2)
    one = tb.losses(asked.book, asked.text, start=start, order=1)
    if not every.so_now:
        return
    # Where some never come to rest, sets may be left out in one way and not in the other.
    if not (every.restless or every.disputed or few.restless or few.disputed):
        if every.order is None and counts(every.counts, 2) != counts(few.counts, 2):
            yield f"losses of {asked.text} from {start}: {every.counts}, up to 2 {few.counts}"
        if counts(few.counts, 1) != counts(one.counts, 1):
            yield f"losses of {asked.text} from {start}: up to 2 {few.counts}, up to 1 {one.counts}"
    for chosen in {*every.sets, *few.sets, *one.sets}:
        changes = tuple(f"{failure.thing}: {failure.mode}" for failure in chosen)
        if is_so_after(asked, start, changes):
            yield f"losses of {asked.text} from {start}: still so after {changes}"
    singly = {one_of for one_of in one.sets if len(one_of) == 1}
    alone = {(failure.thing, failure.mode) for (failure,) in singly}
    if () not in one.sets:
        yield from stopped(asked, start, alone, bool(one.restless or one.disputed))


def stopped(asked: Asked, start: str, lost: set[tuple[str, str]], restless: bool) -> Iterator[str]:
    """The changes of `stops` against runs; its failures against those of `losses`."""
    answer = tb.stops(asked.book, asked.text, start=start)
    failures = set()
    for stop in answer.stops:
        for item in stop.changes if len(stop.changes) == 1 else ():
            for state in item.states:
                if item.kind == "failure" and state != "ok":
                    failures.add((item.thing, state))
            if item.kind in ("control", "failure", "situation"):
                for state in item.states:
                    changes = (f"{item.thing}: {state}",)
                    if state != "ok" and is_so_after(asked, start, changes):
                        yield f"stops of {asked.text} from {start}: still so after {changes}"
    broken = {(v.thing, v.values[asked.picture.starts[start].state[v.name]])
              for v in asked.picture.system.failures()}  # fmt: skip
    already = {thing for thing, mode in broken if mode != "ok"}
    there = {(thing, mode) for thing, mode in failures if thing not in already}
    if not (answer.restless or answer.disputed or restless) and there != lost:
        yield f"{asked.text} from {start}: stopped by {there}, lost by {lost}"


def counts(of: Sequence[tuple[int, int]], most: int) -> dict[int, int]:
    """How many sets of each size there are, up to a size."""
    return {size: count for size, count in of if size <= most}


def is_so_after(asked: Asked, start: str, changes: Changes) -> bool:
    """Whether it is so when all has settled after changes, as a question there is told."""
    try:
        return bool(tb.losses(asked.book, asked.text, start=start, changes=changes, order=0).so_now)
    except (BadSetting, Barred, EntersImpossible, Unsettled):
        return False


# -- what a change brings -------------------------------------------------------------------


def told_of_changes(asked: Asked) -> Iterator[str]:
    """What `effects` and `signs` tell at last of a thing against what is so there afterwards."""
    system, random = asked.picture.system, asked.random
    start, first = random.choice(list(asked.picture.starts.items()))
    variable = random.choice([v for v in system.variables.values() if v.is_input])
    value = random.randrange(len(variable.values))
    if value == first.state[variable.name] or (variable.kind == "failure" and value == 0):
        return
    if variable.kind == "reading":
        return
    change = f"{variable.thing}: {variable.values[value]}"
    if variable.kind == "failure":
        answer = tb.signs(asked.book, [change], start=start)
        changes, impossible = answer.changes, answer.impossible
    else:
        moved = tb.effects(asked.book, change, start=start)
        changes, impossible = tuple(e.change for e in moved.effects), moved.impossible
    if impossible is not None:
        try:
            tb.why(asked.book, asked.text, start=start, changes=[change])
        except EntersImpossible:
            return
        yield f"{change} from {start} comes to the impossible, and yet a question is asked there"
        return
    end = asked.picture.aeroplane.settle(
        asked.picture.aeroplane.move(first, {variable.name: value})
    )
    last = {one.thing: one.after for one in changes if one.kind != "feeder"}
    for thing, after in last.items():
        form = {"running": f"{thing} running", "not running": f"not {thing} running",
                "shown": f"{thing} shown", "not shown": f"not {thing} shown",
                "set": f"{thing} set", "clear": f"{thing} clear",
                "lost": f"{thing} lost", "live": f"{thing} live"}.get(after)  # fmt: skip
        if form and not asked.holds(understand(asked.book, form), end):
            yield f"{change} from {start}: told {form}, but at the end it is not"
        if form and tb.can(asked.book, form).verdict == IMPOSSIBLE:
            yield f"{change} from {start}: {form}, which is proved impossible"


# -- ways -----------------------------------------------------------------------------------


def met_by_ways(asked: Asked) -> Iterator[str]:
    """Where it is so without failures some way is met; where a way and its needs are, it is so."""
    answer = tb.ways(asked.book, asked.text, shortest=True).shortest
    if answer is None or answer.verb or answer.beginning or answer.passing or answer.extent:
        return
    try:
        ways = [
            [understand(asked.book, item.text) for item in combination.items]
            for combination in answer.combinations
        ]
        needs = [understand(asked.book, statement.text) for statement in answer.needs]
        inhibited = [understand(asked.book, statement.text) for statement in answer.inhibited]
    except Misunderstood:
        return
    for seen in asked.seen:
        if failed(asked.picture, seen.moment):
            continue
        met = any(all(asked.holds(i, seen.moment) for i in items) for items in ways)
        off = any(asked.holds(statement, seen.moment) for statement in inhibited)
        so = asked.so(seen.moment)
        if so and not met:
            yield f"{asked.text} is so without any of its ways: {state_text(asked, seen)}"
        if met and not off and not so and all(asked.holds(n, seen.moment) for n in needs):
            yield f"{asked.text} is not so though a way is met: {state_text(asked, seen)}"


def state_text(asked: Asked, seen: Seen) -> str:
    """The state of a moment in words."""
    system = asked.picture.system
    return "; ".join(literal_text(system, n, [v]) for n, v in seen.moment.state.items())


CHECKS = (reached_and_excluded, stated_as_given, taken_away, told_of_changes, met_by_ways)
