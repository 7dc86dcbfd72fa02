"""When X happens, as an instructor would say it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from tellback.logic.answers.shortest_text import sound_text
from tellback.logic.said import in_words
from tellback.logic.words import either, listed

if TYPE_CHECKING:
    from tellback.logic.answers.few_lines import Way
    from tellback.logic.answers.ways import Ways

MANY = 20
"""With more lines than this only so many are told; the JSON form has all."""

_ENDS = {
    "control": "where a control stands",
    "situation": "a fact from outside",
    "reading": "a reading from outside",
    "number": "a reading that moves in time; a scenario tells when it comes there",
}
"""What answers go back to and no further, by kind."""

_STATUS = {
    "never": "cannot come about",
    "in passing": "in passing only: no lasting state has it",
    "not decided": "not decided whether it can come about",
}
_SAID_AT_ONCE = ({"never"}, {"in passing"})
"""What is said at the head where it is so of every way."""


def ways_text(answer: Ways) -> str:
    """The answer in plain English, the ways of the book first."""
    if answer.ends in _ENDS:
        return f"{answer.question}: answers go back no further than this, {_ENDS[answer.ends]}."
    lines = [_opening(answer), *_numbered(answer)]
    lines += [f"  {line}" for line in _footing(answer)]
    return "\n".join(lines)


def _opening(answer: Ways) -> str:
    given = f" (given {listed(answer.given)})" if answer.given else ""
    subject = answer.question + (f" — it {answer.verb}" if answer.verb else "")
    if answer.always:
        needs = "whenever its needs are met" if answer.needs else "always"
        return f"{subject}: {needs}{given}{', or else:' if _others(answer) else '.'}"
    count = len(answer.ways)
    if not count:
        if answer.verb == "goes there":
            return f"{answer.question}: nothing sends it there{given}."
        there_is = " by this alone" if answer.what_else else ": there is no way to this"
        return f"{subject}{there_is}{given}{':' if answer.what_else else '.'}"
    status = {way.status for way in answer.ways}
    if status == {"never"}:
        none = "its one way cannot" if count == 1 else f"none of its {count} ways can"
        return f"{subject}: {none} come about{given}{_those(answer)}:"
    how = " in one way" if count == 1 else f" in any of {count} ways"
    if status == {"in passing"}:
        how = f" in passing only, by what the change itself ends,{how}"
    return f"{subject}{how}{given}{_those(answer)}:"


def _others(answer: Ways) -> Sequence[Way]:
    """What is told besides `always`."""
    return answer.what_else if answer.named else answer.ways


def _those(answer: Ways) -> str:
    chain = [f"{one.text}{_in_brackets([one.source])}" for one in answer.through]
    return f", those of {listed(chain)}" if chain else ""


def _in_brackets(marks: Sequence[str]) -> str:
    told = "; ".join(mark for mark in marks if mark)
    return f"  [{told}]" if told else ""


def _numbered(answer: Ways) -> Iterator[str]:
    lines = [*answer.ways, *answer.what_else]
    for i, way in enumerate(lines[:MANY], 1):
        if i == len(answer.ways) + 1 > 1:
            yield "  What else brings it about:"
        yield f"{i:>3}. {_line(answer, way)}"
    if more := len(lines[MANY:]):
        yield f"     and {more} more (all: --json; fewer: --given)"


def _line(answer: Ways, way: Way) -> str:
    said = in_words(way.said)
    # a row of a supply is named by where it comes from, as it is told
    label = (
        f"{way.name}: "
        if way.name and way.name != said and not way.text.startswith("from ")
        else ""
    )
    marks = [way.source if way.origin == "stated" else way.origin]
    if way.bare and answer.needs:
        marks.append("whatever its needs")
    if way.covered_by:
        together = " together" if len(way.covered_by) > 1 else ""
        marks.append(f"covered by {listed(map(str, way.covered_by))}{together}")
    said_already = {one.status for one in answer.ways} in _SAID_AT_ONCE
    if way.origin == "stated" and not (said_already or answer.beginning):
        marks.append(_STATUS.get(way.status, ""))
    return f"{label}{said}{_in_brackets(marks)}"


def _footing(answer: Ways) -> Iterator[str]:
    if answer.needs:
        needing = "It needs" if answer.always else "It needs as well"
        yield f"{needing}: {listed(need.text for need in answer.needs)}."
    if answer.inhibited:
        yield f"Inhibited by {either(off.text for off in answer.inhibited)}."
    if answer.cancelled:
        yield f"Cancelled by {either(one.text for one in answer.cancelled)}."
    if answer.beaten:
        yield _beaten(answer)
    if sound := _taken_as_sound(answer):
        yield f"Taken as not failed: {sound}."
    if not answer.proved:
        yield "Not decided: whether these are all."
    if not answer.decided:
        yield _undecided(answer)


def _beaten(answer: Ways) -> str:
    match answer.verb:
        case "goes there":
            names = (one.name for one in answer.beaten)
            return f"Not while one of these drives it elsewhere: {either(names)}."
        case "":
            return f"Not while fed {either(one.text for one in answer.beaten)}."
    return f"Not while {either(one.text for one in answer.beaten)}."


def _taken_as_sound(answer: Ways) -> str:
    lines = [*answer.ways, *answer.what_else][:MANY]
    asked = {i: [way.not_failed] for i, way in enumerate(lines, 1)}
    known = {thing for way in lines for several in way.not_failed for thing in several}
    return sound_text([t for t in answer.not_failed if t not in known], asked)


def _undecided(answer: Ways) -> str:
    """What is not known of the ways that the book does not state."""
    lines = answer.what_else or answer.ways
    first = len(answer.ways) + 1 if answer.what_else else 1
    each = "Each" if len(lines) > 1 else "It"
    if answer.what_else:
        each = f"{each} of what else there is" if len(lines) > 1 else f"{first}"
    met = all(way.status == "can be" for way in lines)
    known = f"{each} is enough{' and can come about' if met else ''}"
    about = "" if met else "whether it can come about, and "
    return f"{known}. Not decided: {about}whether less would do."
