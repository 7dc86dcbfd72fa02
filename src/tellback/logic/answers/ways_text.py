"""The ways of X, as an instructor would say them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, groupby, zip_longest
from typing import TYPE_CHECKING

from tellback.logic.groups import told_together
from tellback.logic.items import Item
from tellback.logic.symmetry import Way
from tellback.logic.words import either, listed, spans

if TYPE_CHECKING:
    from tellback.logic.answers.ways import Ways

MANY = 20
"""With more lines than this only a few of them are told; the JSON form has all."""

FEW = 8
"""So many of them, or one of each kind."""

TOLD_INFERRED = 5
"""The most told of those that suffice only through what must then be so; the JSON form has all."""


def ways_text(answer: Ways) -> str:
    """The answer in plain English, the most important first."""
    if given := _given_itself(answer):
        return f"{answer.question}: answers go back no further than this, {given}."
    lines = [_opening(answer)]
    lines += _numbered(answer)
    lines += [f"  {line}" for line in _footing(answer)]
    return "\n".join(lines)


_ENDS = {
    "control": "where a control stands",
    "situation": "a fact from outside",
    "reading": "a reading from outside",
    "number": "a reading that moves in time; a scenario tells when it comes there",
}
"""What answers go back to and no further, by kind."""


def _given_itself(answer: Ways) -> str:
    """What the question is about, if its only way is itself; else empty."""
    ways = [way.items for way in answer.ways]
    told = [item.text.replace(",", "") for item in ways[0]] if len(ways) == 1 else []
    if told != [answer.question.replace(",", "")]:
        return ""
    return _ENDS.get(ways[0][0].kind, "")


def _opening(answer: Ways) -> str:
    given = f" (given {listed(answer.given)})" if answer.given else ""
    verb = f" — it {answer.verb}" if answer.verb else ""
    if not answer.ways and answer.passing:
        told = either(f"{s.text}  [{_cited(s.name, s.source)}]" for s in answer.passing)
        if answer.beginning:
            return f"{answer.question}{verb} by this alone{given}: {told}."
        cause = "in passing only, by a cause that the change itself ends"
        return f"{answer.question}{verb} {cause}: {told}."
    if not answer.ways:
        return f"{answer.question}{verb}: there is no way to this{given}."
    if answer.ways[0].items == ():
        needs = "whenever its needs are met" if answer.needs else "always"
        end = "." if answer.count == 1 else ", or else:"
        return f"{answer.question}{verb}: {needs}{given}{end}"
    if answer.count == 1:
        return f"{answer.question}{verb} in one way{given}:"
    return f"{answer.question}{verb} in any of {answer.count} ways{given}:"


def _numbered(answer: Ways) -> list[str]:
    found = [way for way in answer.ways if way.items and not way.same_as]
    direct = [way for way in found if not way.inferred]
    lines = []
    if len(direct) > MANY:
        shown = _shortest_of_each_kind(direct)
        lines = [*_as_stated(answer), "  The shortest of each kind:"]
    else:
        shown = [*direct, *[way for way in found if way.inferred][:TOLD_INFERRED]]
    for i, way in enumerate(shown, 1):
        if way.inferred and not (i > 1 and shown[i - 2].inferred):
            lines.append("  Sufficient as well, through what must then be so:")
        lines.append(f"{i:>3}. {_way(way)}")
    same = [[w for w in answer.ways if w.same_as == way.items] for way in shown]
    lines += _coming_to_the_same(shown, same)
    at_the_head = [way for way in answer.ways if not way.items]
    told = chain(at_the_head, shown, *same)
    more = answer.count - sum(1 + len(way.likewise) for way in told)
    if more and shown:
        lines.append(f"     and {more} more (all: --json; fewer: --given)")
    return lines


def _shortest_of_each_kind(ways: Sequence[Way]) -> list[Way]:
    """A few of the ways: of those that meet the same statements, and ask for a failure or not."""
    kinds: dict[object, list[Way]] = {}
    for way in ways:
        kinds.setdefault((way.stated, way.failure, way.bare), []).append(way)
    in_turn = [way for several in zip_longest(*kinds.values()) for way in several if way]
    chosen = in_turn[: max(FEW, len(kinds))]
    return [way for way in ways if way in chosen]


def _as_stated(answer: Ways) -> list[str]:
    """How the book itself states what has so many ways."""
    lines = ["  As the book states it:"] if answer.stated else []
    for one in answer.stated:
        name = "" if one.text.startswith(one.name) else one.name
        lines.append(f"     {one.text}  [{', '.join(part for part in (name, one.source) if part)}]")
    return lines


def _coming_to_the_same(shown: Sequence[Way], same: Sequence[Sequence[Way]]) -> Iterator[str]:
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


def _way(way: Way) -> str:
    text = listed(told_together(way.items))
    if way.likewise:
        text += f" (likewise with {either(_other(way.items, items) for items in way.likewise)})"
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


def _statements(way: Way) -> Iterator[str]:
    """The names of the statements, those of one source together with it."""
    for source, several in groupby(way.stated, lambda statement: statement.source):
        joint = " or " if way.together else " and "
        names = joint.join(statement.name or "stated" for statement in several)
        yield _cited(names, source)


def _cited(names: str, source: str) -> str:
    names = names or "stated"
    return f"{names}, {source}" if source else names


def _footing(answer: Ways) -> list[str]:
    lines = []
    if answer.needs:
        needing = "It needs" if answer.needs_alone else "It needs as well"
        lines.append(f"{needing}: {listed(need.text for need in answer.needs)}.")
    if answer.inhibited:
        lines.append(f"Inhibited by {either(off.text for off in answer.inhibited)}.")
    if answer.not_failed:
        lines.append(f"Taken as not failed: {listed(answer.not_failed)}.")
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
