"""Why: why is X so now, or not so? The smallest reason, the chain, and what is missing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tellback.book import conditions as c
from tellback.book.model import Book, Latch, Why
from tellback.logic.acting import Acts
from tellback.logic.answers.missing import missing
from tellback.logic.answers.remedies import remedies_of
from tellback.logic.answers.why_text import why_text
from tellback.logic.chain import Chain, Link
from tellback.logic.formula import Formula, Lit, Neg, Ref, disj, neg
from tellback.logic.instants import Instants, instants_of
from tellback.logic.items import Item, apart_from
from tellback.logic.limits import ANSWER_SECONDS, within
from tellback.logic.picture import Picture, picture_of, understand
from tellback.logic.reasons import At
from tellback.logic.run import Moment
from tellback.logic.scene import passing, scene, settings_of
from tellback.logic.speech import Fact
from tellback.logic.subjects import Subject, Subjects
from tellback.logic.words import either, when_text


@dataclass(frozen=True, slots=True)
class Reason:
    """Why X is so (or not so) at a moment; `told` is that in words.

    `because` are the facts that make it so at once, the nearest links of the `chain`, which goes
    back from them to what somebody moved, what failed, what came from outside, or what was so in
    the starting state. `by` names the way, the drive or the feeder that acts. `missing` gives, if
    X is not so, for each of the nearest ways what it lacks, and `changed_by` what changes the
    latches that it names; `remedies` are the smallest changes that would bring X about. `whys` are
    the book's reasons for the statements met. Of a memory or an input, `history` tells since when
    it is so. `passed` tells after how many seconds X was no longer so, if it was so before all had
    settled.
    """

    question: str
    aeroplane: str
    start: str
    so: bool
    told: str
    by: str
    because: tuple[Item, ...]
    chain: tuple[Link, ...]
    missing: tuple[tuple[Item, ...], ...]
    changed_by: tuple[str, ...]
    whys: tuple[Why, ...]
    history: str = ""
    passed: float | None = None
    remedies: tuple[tuple[Item, ...], ...] = ()

    def __str__(self) -> str:
        return "\n".join(why_text(self))


@within(ANSWER_SECONDS, "finding the reason")
def why(
    book: Book,
    question: str,
    *,
    aeroplane: str = "",
    start: str = "",
    changes: Sequence[str] = (),
) -> Reason:
    """Why `question` is so, or not so, in a starting state with changes, once settled."""
    condition = understand(book, question, aeroplane)
    picture = picture_of(book, aeroplane, condition)
    where = scene(picture, start, changes)
    instants = instants_of(picture, where.path[0], settings_of(picture, changes))
    formula = picture.formula(condition)
    passed = passing(picture, where.path, formula)
    reason = explained(picture, condition, where.text, instants, where.moment, passed)
    if reason.so or _is_put(picture, formula):
        return reason
    return replace(reason, remedies=remedies_of(picture, where.moment, formula))


def explained(
    picture: Picture,
    condition: c.Condition,
    start: str,
    instants: Instants,
    moment: Moment,
    passed: float | None = None,
) -> Reason:
    """Why a condition is so, or not so, at the moment to which the instants of a run led.

    `start` says from where, and `passed` is as in Reason.
    """
    formula = picture.formula(condition)
    so = picture.aeroplane.holds(formula, moment.state)
    acts = Acts(picture, instants)
    now = At(instants.last)
    true = formula if so else neg(formula)
    fact = acts.reasons.fact(true, now)
    acting = acts.on(fact, now.index) if fact else acts.of_condition(true, now)
    links = Chain(acts).behind(acting) if acting else ()
    lacks = () if so else tuple(_missing(picture, condition, formula, moment))
    subject = Subjects(picture).of(condition)
    return Reason(
        question=picture.phrase(condition),
        aeroplane=picture.book.aeroplane,
        start=start,
        so=so,
        told=_told(acts, condition, so, fact),
        by=acting.by if acting else "",
        because=tuple(link.item for link in links if link.depth == 0),
        chain=links,
        missing=lacks,
        changed_by=tuple(_changed_by(picture, lacks)),
        whys=tuple(_whys(picture, subject, moment)) if so else (),
        history=_history(acts, fact, acting is not None and acting.keeps) if fact else "",
        passed=passed,
    )


def _told(acts: Acts, condition: c.Condition, so: bool, fact: Fact | None) -> str:
    """What is so, in words; a reading that is not where it was asked is told by where it is."""
    if so or fact is None or not isinstance(condition, c.Compare):
        return acts.picture.phrase(condition if so else _denied(condition))
    return acts.speech.text(fact.name, fact.values)


def _denied(condition: c.Condition) -> c.Condition:
    """What is so where the condition is not."""
    return condition.part if isinstance(condition, c.Not) else c.Not(condition)


def _history(acts: Acts, fact: Fact, kept: bool) -> str:
    """Since when an input or memory is so; empty of what follows, or is `kept` as at the start."""
    variable = acts.system.variables.get(fact.name)
    if variable is None or variable.kind == "delay":
        return ""
    since = acts.reasons.since(fact.name, fact.values, acts.instants.last)
    latch = variable.kind == "latch"
    word = variable.values[min(fact.values)] if latch else "so"
    if not since:
        return "" if kept else f"it was {word} in the starting state"
    if variable.is_input and acts.instants.passed[since].begins:
        return "it was put so"
    when = when_text(acts.instants.seconds(since))
    if not latch:
        return f"it came to be so {when}"
    done, undone = ("cleared", "set")[:: 1 if word == "clear" else -1]
    return f"it was {done} {when}, and has not been {undone} since"


def _lacking(picture: Picture, formula: Formula) -> Formula:
    """What must come about for the formula to be so: of a memory alone, that it is changed."""
    lit = formula.part if isinstance(formula, Neg) else formula
    if not isinstance(lit, Lit):
        return formula
    variable = picture.system.variables[lit.variable]
    every = range(len(variable.values))
    wanted = [i for i in every if (i in lit.values) == (lit is formula)]
    if variable.kind == "place":
        return disj(Ref((variable.name, f"sent to {i}")) for i in wanted if i % 2 == 0)
    if variable.kind == "latch":
        rules = (rule for rule in picture.system.steps if rule.variable == variable.name)
        return disj(rule.condition for rule in rules if rule.value in wanted)
    return formula


def _is_put(picture: Picture, formula: Formula) -> bool:
    """Whether the formula says how one input is put, which lacks nothing but that."""
    lit = formula.part if isinstance(formula, Neg) else formula
    return isinstance(lit, Lit) and picture.system.variables[lit.variable].is_input


def _changed_by(picture: Picture, lacks: Iterable[Sequence[Item]]) -> Iterator[str]:
    """What sets or clears each latch that is missing, as the book states it."""
    items = {item.text: item for one in lacks for item in one if item.kind == "latch"}
    for item in items.values():
        latch = picture.book.thing(item.thing)
        assert isinstance(latch, Latch)
        so = item.states == ("set",)
        stated = either(s.text for s in (latch.sets if so else latch.clears))
        yield f"{latch.name} is {'set' if so else 'cleared'} when {stated}"


def _missing(
    picture: Picture, condition: c.Condition, formula: Formula, moment: Moment
) -> list[tuple[Item, ...]]:
    """What the nearest ways lack; nothing for an input, or what is on its way."""
    lacking = _lacking(picture, formula)
    on_its_way = picture.aeroplane.holds(lacking, moment.state)
    if on_its_way or _is_put(picture, lacking):
        return []
    return missing(picture, lacking, moment, apart_from(condition))


def _whys(picture: Picture, subject: Subject, moment: Moment) -> list[Why]:
    values = picture.aeroplane.values(moment.state)
    met = [s for s in subject.stated if values.of(s.formula)]
    own = subject.thing.whys if subject.thing else ()
    return [*own, *(w for s in (*subject.needs, *met) for w in s.whys)]
