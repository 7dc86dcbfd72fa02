"""The shortest combinations that make X so, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, groupby, islice, zip_longest
from typing import TYPE_CHECKING

from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.symmetry import Combination
from tellback.logic.words import alike, either, listed, spans

if TYPE_CHECKING:
    from tellback.logic.answers.few_terms import Extent
    from tellback.logic.answers.shortest import Shortest

MANY = 20
"""With more lines than this only a few of them are told; the JSON form has all."""

FEW = 8
"""So many of them, or one of each kind."""

TOLD_INFERRED = 5
"""The most told of those that suffice only through what must then be so; the JSON form has all."""


def shortest_text(answer: Shortest) -> str:
    """The answer in plain English, the most important first."""
    if given := _given_itself(answer):
        return f"{answer.question}: answers go back no further than this, {given}."
    shown = _shown(answer)
    lines = [_opening(answer)]
    lines += _numbered(answer, shown)
    lines += [f"  {line}" for line in _footing(answer, shown)]
    return "\n".join(lines)


_ENDS = {
    "control": "where a control stands",
    "situation": "a fact from outside",
    "reading": "a reading from outside",
    "number": "a reading that moves in time; a scenario tells when it comes there",
}
"""What answers go back to and no further, by kind."""


def _given_itself(answer: Shortest) -> str:
    """What the question is about, if its only way is itself; else empty."""
    ways = [way.items for way in answer.combinations]
    told = [item.text.replace(",", "") for item in ways[0]] if len(ways) == 1 else []
    if told != [answer.question.replace(",", "")]:
        return ""
    return _ENDS.get(ways[0][0].kind, "")


def _opening(answer: Shortest) -> str:
    given = f" (given {listed(answer.given)})" if answer.given else ""
    verb = f" — it {answer.verb}" if answer.verb else ""
    if not answer.combinations and answer.passing:
        told = either(f"{s.text}  [{_cited(s.name, s.source)}]" for s in answer.passing)
        if answer.beginning:
            return f"{answer.question}{verb} by this alone{given}: {told}."
        cause = "in passing only, by a cause that the change itself ends"
        return f"{answer.question}{verb} {cause}: {told}."
    if answer.extent and not answer.combinations:
        return f"{answer.question}{verb}: there is no way to this that is told here{given}."
    if not answer.combinations:
        return f"{answer.question}{verb}: there is no way to this{given}."
    if answer.combinations[0].items == ():
        needs = "whenever its needs are met" if answer.needs else "always"
        end = "." if answer.count == 1 else ", or else:"
        return f"{answer.question}{verb}: {needs}{given}{end}"
    if answer.count == 1:
        return f"{answer.question}{verb} by one combination{given}:"
    longer = ", and by longer ones" if answer.extent else ""
    return f"{answer.question}{verb} by any of {answer.count} combinations{longer}{given}:"


def _direct(answer: Shortest) -> list[Combination]:
    """Those that are told one by one, if they are not too many."""
    return [way for way in answer.combinations if way.items and not (way.same_as or way.inferred)]


def _shown(answer: Shortest) -> list[Combination]:
    """Those that are told, in the order of their numbers."""
    direct = _direct(answer)
    if len(direct) > MANY:
        return _shortest_of_each_kind(direct)
    inferred = (way for way in answer.combinations if way.inferred and way.items)
    return [*direct, *islice((way for way in inferred if not way.same_as), TOLD_INFERRED)]


def _numbered(answer: Shortest, shown: Sequence[Combination]) -> list[str]:
    lines = []
    if len(_direct(answer)) > MANY:
        lines = [*_as_stated(answer), "  The shortest of each kind:"]
    for i, way in enumerate(shown, 1):
        if way.inferred and not (i > 1 and shown[i - 2].inferred):
            lines.append("  Sufficient as well, through what must then be so:")
        lines.append(f"{i:>3}. {_way(way)}")
    same = [[w for w in answer.combinations if w.same_as == way.items] for way in shown]
    lines += _coming_to_the_same(shown, same)
    at_the_head = [way for way in answer.combinations if not way.items]
    told = chain(at_the_head, shown, *same)
    more = answer.count - sum(1 + len(way.likewise) for way in told)
    if more and shown:
        lines.append(f"     and {more} more (all: --json; fewer: --given)")
    return lines


def _shortest_of_each_kind(ways: Sequence[Combination]) -> list[Combination]:
    """A few of the ways: of those that meet the same statements, and ask for a failure or not."""
    kinds: dict[object, list[Combination]] = {}
    for way in ways:
        kinds.setdefault((way.stated, way.failure, way.bare), []).append(way)
    in_turn = [way for several in zip_longest(*kinds.values()) for way in several if way]
    chosen = in_turn[: max(FEW, len(kinds))]
    return [way for way in ways if way in chosen]


def _as_stated(answer: Shortest) -> list[str]:
    """How the book itself states what has so many ways."""
    lines = ["  As the book states it:"] if answer.stated else []
    for one in answer.stated:
        name = "" if one.text.startswith(one.name) else one.name
        lines.append(f"     {one.text}  [{', '.join(part for part in (name, one.source) if part)}]")
    return lines


def _coming_to_the_same(
    shown: Sequence[Combination], same: Sequence[Sequence[Combination]]
) -> Iterator[str]:
    """What tells the same possible states, once for all the ways in which it does."""
    numbers: dict[tuple[str, str], list[int]] = {}
    for i, (way, others) in enumerate(zip(shown, same, strict=True), 1):
        for other in others:
            numbers.setdefault(_instead(way.items, other.items), []).append(i)
    for (told, replaced), several in numbers.items():
        where = listed(spans(several))
        if replaced:
            yield f"     In {where} it comes to the same to say {told} instead of {replaced}."
        else:
            yield f"     {where} {'come' if len(several) > 1 else 'comes'} to the same as {told}."


def _instead(first: Sequence[Item], items: Sequence[Item]) -> tuple[str, str]:
    """What another wording of a way says, and in place of what, if not of all."""
    replaced = [item for item in first if item not in items]
    if len(replaced) == len(first):
        return listed(told_together(items)), ""
    return _other(first, items), listed(told_together(replaced))


def _way(way: Combination) -> str:
    text = listed(told_together(way.items))
    if way.likewise:
        text += (
            f" (likewise with {either(_other(way.items, other.items) for other in way.likewise)})"
        )
    marks = [(" or " if way.together else "; ").join(_statements(way))]
    if not way.stated:
        marks = ["by failure" if way.failure else "follows"]
    if way.bare:
        marks.append("whatever its needs")
    return f"{text}  [{'; '.join(marks)}]"


def _other(first: Sequence[Item], items: Sequence[Item]) -> str:
    """What a like way has in place of the first one's things."""
    told = [item.text for item in first]
    return listed(told_together(item for item in items if item.text not in told))


def _statements(way: Combination) -> Iterator[str]:
    """The names of the statements, those of one source together with it."""
    for source, several in groupby(way.stated, lambda statement: statement.source):
        joint = " or " if way.together else " and "
        names = joint.join(statement.name or "stated" for statement in several)
        yield _cited(names, source)


def _cited(names: str, source: str) -> str:
    names = names or "stated"
    return f"{names}, {source}" if source else names


def _taken_as_sound(answer: Shortest, shown: Sequence[Combination]) -> str:
    asked = {i: _of_each_member(way) for i, way in enumerate(shown, 1)}
    each = (sets for way in answer.combinations for sets in _of_each_member(way))
    known = {thing for sets in each for several in sets for thing in several}
    return sound_text([thing for thing in answer.not_failed if thing not in known], asked)


def _of_each_member(way: Combination) -> list[tuple[tuple[str, ...], ...]]:
    """What is taken as not failed, for each of the ways merged into one."""
    return [one.not_failed for one in (way, *way.likewise)]


def sound_text(
    everywhere: Sequence[str], asked: Mapping[int, Iterable[Sequence[Sequence[str]]]]
) -> str:
    """What is taken as not failed, each with the numbers of the ways that ask for it, if not all.

    Where a thing is redundant, one way asks for it and another one does without it.
    """
    numbers: dict[str, list[int]] = {}
    for i, several in asked.items():
        for thing in dict.fromkeys(thing for sets in several for thing in _sound(sets)):
            numbers.setdefault(thing, []).append(i)
    in_all = [thing for thing, where in numbers.items() if len(where) == len(asked)]
    apart = alike((t for t in numbers if t not in in_all), lambda thing: tuple(numbers[thing]))
    told = [listed([*everywhere, *in_all])] if everywhere or in_all else []
    told += [f"in {listed(spans(numbers[several[0]]))} {listed(several)}" for several in apart]
    return "; ".join(told)


def _sound(sets: Sequence[Sequence[str]]) -> list[str]:
    """What must not have failed, a choice between several such sets as one."""
    common = [thing for thing in sets[0] if all(thing in several for several in sets)]
    others = [[thing for thing in several if thing not in common] for several in sets]
    if not all(others):
        return common
    return [*common, either(listed(several) for several in others)]


def _footing(answer: Shortest, shown: Sequence[Combination]) -> list[str]:
    lines = []
    if answer.needs:
        needing = "It needs" if answer.needs_alone else "It needs as well"
        lines.append(f"{needing}: {listed(need.text for need in answer.needs)}.")
    if answer.inhibited:
        lines.append(f"Inhibited by {either(off.text for off in answer.inhibited)}.")
    if sound := _taken_as_sound(answer, shown):
        lines.append(f"Taken as not failed: {sound}.")
    if answer.extent:
        lines += _extent_lines(answer.extent)
    if not answer.exact:
        each = "Each" if answer.count > 1 else "It"
        known, less = f"{each} is enough", "whether less would do"
        if answer.met:
            lines.append(f"{known} and can come about. Not decided: {less}.")
        else:
            lines.append(
                f"{known}. Not decided: whether {each.lower()} can come about, and {less}."
            )
    return lines


def _extent_lines(extent: Extent) -> Iterator[str]:
    """Up to where the combinations are told."""
    sound = f"While nothing has failed, {extent.count:,} combinations are enough"
    if extent.terms is None:
        yield "Told are all that are enough while nothing has failed."
    elif extent.terms:
        yield f"{sound}; told are all of at most {extent.terms} terms."
    else:
        yield f"{sound}; told are some of the shortest."
    if extent.failed_terms is None:
        yield "Those by a failure took too long to find; none is told."
    elif extent.failed_terms:
        yield f"Of those by one failure alone, told are all of at most {extent.failed_terms} terms."
    else:
        yield "Of those by one failure alone, told are some of the shortest."
    yield "Nothing else behind it may have failed. With something given (--given) more is told."
