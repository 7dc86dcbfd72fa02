"""What ends X, as an instructor would say it: what does alike in one line."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tellback.logic.answers.one_of_each import together
from tellback.logic.failures import left_out
from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.scene import passing_text
from tellback.logic.words import alike, either, listed, run_time_text

if TYPE_CHECKING:
    from tellback.logic.answers.stops import Stop, Stops

TITLES = (
    ("the crew", {"control"}),
    ("from outside", {"situation", "reading"}),
    ("a failure", {"failure"}),
)
"""Who makes a single change, by the kinds of what is changed."""


def stop_text(stop: Stop) -> str:
    """One set of changes in words, with the time it takes."""
    return listed(told_together(stop.changes)) + _after(stop.seconds)


def stops_text(answer: Stops) -> Iterator[str]:
    """The lines of the answer."""
    head = f"{answer.question} ({answer.start})"
    if not answer.so_now:
        told = f"{answer.question}: not so to begin with ({answer.start})"
        yield f"{told}.{passing_text(answer.passed)}"
        return
    if not answer.stops:
        yield f"{head}: {_none(answer)}."
        yield from _left_out(answer)
        return
    yield f"{head} is ended by any of:"
    for title, kinds in TITLES:
        alone = [s for s in answer.stops if len(s.changes) == 1 and s.changes[0].kind in kinds]
        yield from _under(title, alone)
    yield from _under("several together", [s for s in answer.stops if len(s.changes) > 1])
    if answer.left:
        yield f"    ... {answer.left} more"
    yield from _left_out(answer)
    if answer.order is not None:
        yield f"  Sought up to {answer.order} change{'s' * (answer.order > 1)} at a time."


def _none(answer: Stops) -> str:
    """That none ends it; what was left out may."""
    few = {None: "no changes", 1: "no single change"}
    what = few.get(answer.order, f"no {answer.order} changes together")
    if answer.barred:
        what += " that can be made"
    if answer.restless or answer.disputed or answer.left:
        return f"{what} {'are' if answer.order != 1 else 'is'} known to end it"
    return f"{what} end{'s' * (answer.order == 1)} it"


def _left_out(answer: Stops) -> Iterator[str]:
    """What is not among the changes listed, and why."""
    if answer.barred:
        barred = "; ".join(_set_lines([(changes, 0) for changes in answer.barred]))
        yield f"  It would end, too, if no lock forbade this: {barred}."
    if answer.disputed:
        yield f"  Not decided for {answer.disputed} more: their run in time ends otherwise."
    yield from left_out(answer.restless)


def _under(title: str, stops: Sequence[Stop]) -> Iterator[str]:
    if stops:
        yield f"  {title}:"
        yield from (f"    {line}" for line in _set_lines([(s.changes, s.seconds) for s in stops]))


def _set_lines(sets: Iterable[tuple[Sequence[Item], float]]) -> Iterator[str]:
    """Single changes, then those of several together; those alike in one line."""
    alone, several = list[_Told](), list[tuple[Sequence[Item], float]]()
    for changes, seconds in sets:
        if len(changes) == 1:
            alone.append(_Told.of(changes[0], seconds))
        else:
            several.append((changes, seconds))
    yield from _texts(alone)
    for group in alike(several, lambda one: run_time_text(one[1])):
        for groups in together([changes for changes, _ in group]):
            *lines, last = _one_of_each(groups)
            yield from (*lines, last + _after(group[0][1]))


def _one_of_each(groups: Sequence[Sequence[Item]]) -> list[str]:
    """One of each of these groups: `A at OFF and B at ON`, or each choice on a line of its own."""
    each = told_together(group[0] for group in groups if len(group) == 1)
    some = list[str]()
    for group in groups:
        if len(group) > 1:
            texts = list(_texts([_Told.of(item, 0) for item in group]))
            if len(texts) == 1:
                each += texts
            else:
                some.append(f"one of: {', '.join(texts)}")
    first, *rest = [listed(each), *some] if each else some
    return [first, *(f"  and {more}" for more in rest)]


@dataclass(frozen=True, slots=True)
class _Told:
    """What is said of something that changes: its name, its states, and after how long."""

    name: str
    kind: str
    states: str
    seconds: float

    @classmethod
    def of(cls, item: Item, seconds: float) -> _Told:
        """An item, its text taken apart behind the name."""
        if item.text.startswith(f"{item.thing} "):
            states = item.text.removeprefix(f"{item.thing} ")
            return cls(item.thing, item.kind, states, seconds)
        return cls(item.text, item.kind, "", seconds)

    def like(self) -> Hashable:
        """What members of a family have in common that are told together."""
        return self.kind, self.states, run_time_text(self.seconds)


def _texts(told: Iterable[_Told]) -> Iterator[str]:
    """Members of a family with one state in one text, and all states of one thing."""
    by_name: dict[tuple[str, str], list[_Told]] = {}
    for group in alike(told, _Told.like):
        for name in _members([one.name for one in group]):
            by_name.setdefault((name, group[0].kind), []).append(replace(group[0], name=name))
    for (name, _), several in by_name.items():
        states = (
            either(one.states for one in group) + _after(group[0].seconds)
            for group in alike(several, lambda one: run_time_text(one.seconds))
        )
        yield f"{name}{' ' * bool(several[0].states)}{', or '.join(states)}"


def _members(names: Iterable[str]) -> Iterator[str]:
    """Names that differ in their first word alone in one: `left or right pump`."""
    for group in alike(names, lambda name: name.partition(" ")[2] or name):
        rest = group[0].partition(" ")[2]
        if len(group) > 1 and rest:
            yield f"{either(name.partition(' ')[0] for name in group)} {rest}"
        else:
            yield from group


def _after(seconds: float) -> str:
    return f", after {run_time_text(seconds)}" if seconds else ""
