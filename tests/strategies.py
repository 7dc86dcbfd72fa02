"""Small random books as text, for Hypothesis.

Every book can be read, and its state space is small by construction: each thing that is an input
or a memory is drawn only if the product of all values stays within `most_states`.

Things are drawn in layers. The *base* (controls, situations, a reading, memories over them, units
that depend on these alone) never leads back to itself. Supplies and the units that they drive may
feed one another in a circle (`circles="positive"`), but deny only the base, so that every value is
decided and feeders form no circle. With `circles="any"` they deny one another as they like: such
a book may have states with an undecided value, or feeders in a circle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from hypothesis import strategies as st

from tests.drafts import Draft, condition, over_base
from tests.drawn_memories import draw_late_memories, draw_memories
from tests.yaml_text import Tree, block

Circles = Literal["none", "positive", "any"]

TYPE = """\
type: Drawn
manual: Manual of the drawn type
revision: 1
variants:
  D1: {serials: 1-2}
"""


@dataclass(frozen=True)
class BookText:
    """A drawn book: its two files, and conditions (as text) worth asking about."""

    type_file: str
    chapter: str
    questions: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.type_file}\n{self.chapter}"


@st.composite
def books(
    draw: st.DrawFn,
    memories: bool = False,
    circles: Circles = "none",
    failures: bool = True,
    most_states: int = 600,
    springs: bool = False,
    forbids: bool = False,
) -> BookText:
    """A book of 2 to 4 inputs, 2 to 4 units and 1 to 3 supplies, with what feeds and shows them.

    `memories` adds some of: a latch, a delay, a surface, a moving reading, a control that drops, an
    indication that can be cancelled. `springs`: the last control springs back, and may stick.
    `forbids`: what the memories hold may be stated impossible too.
    `circles` and `most_states` are told above.
    """
    draft = Draft(draw, most_states, failures)
    draw_inputs(draft)
    if springs:
        draw_spring(draft)
    cancels = memories and draft.sometimes() and draft.has_room_for(2)
    if memories:
        draw_memories(draft)
    draw_base_units(draft)
    draw_supplies(draft, circles)
    draw_consequences(draft)
    if memories:
        draw_late_memories(draft)
    draft.add("indications", "CAUTION", indication(draft, cancels))
    draft.asked.append("CAUTION shown")
    chapter: dict[str, Tree] = {"chapter": "29", "title": "Drawn", "source": "MD 29"}
    chapter |= {section: dict(things) for section, things in draft.chapter.items()}
    if draft.sometimes() and "on ground" in draft.base and "speed above 300 kt" in draft.base:
        chapter["impossible"] = ["on ground and speed above 300 kt"]
    elif forbids and draft.sometimes():
        chapter["impossible"] = [f"({over_base(draft)}) and ({over_base(draft)})"]
    return BookText(TYPE + starting_states(draft), block(chapter), tuple(draft.asked))


def starting_states(draft: Draft) -> str:
    """The normal state, and perhaps one with a control in another position."""
    starts: dict[str, Tree] = {"normal": {}}
    if draft.sometimes():
        control = draft.among(sorted(draft.chapter["controls"]))
        other: dict[str, Tree] = {control: draft.among(positions(draft, control))}
        settings = {"on ground": ["no"], "stored pressure": ["30", "70", "85"]}
        declared = [n for things in draft.chapter.values() for n in things if n in settings]
        for name in draft.draw(st.lists(st.sampled_from(declared), max_size=2, unique=True)):
            other[name] = draft.among(settings[name])
        starts["other"] = other
    text = block({"starting states": starts})
    return text.replace("normal:\n", "normal: {}\n")


def positions(draft: Draft, control: str) -> list[str]:
    """The positions of a control."""
    found = draft.chapter["controls"][control]
    assert isinstance(found, dict)
    listed = found["positions"]
    assert isinstance(listed, list)
    return [str(position) for position in listed]


def draw_inputs(draft: Draft) -> None:
    """One or two controls, perhaps situations and a reading."""
    for name in ["first switch", "second selector"][: draft.draw(st.integers(1, 2))]:
        choices = draft.draw(st.sampled_from([["OFF", "ON"], ["OFF", "AUTO", "ON"]]))
        draft.has_room_for(len(choices))
        draft.add(
            "controls",
            name,
            {"positions": list(choices), "normally": draft.among(list(choices))},
        )
        draft.base += [f"{name} at {position}" for position in choices]
    draft.has_room_for(2)
    draft.add("situations", "on ground", {"normally": "yes"})
    draft.base.append("on ground")
    if draft.sometimes() and draft.has_room_for(3):
        reading: dict[str, Tree] = {"unit": "kt", "range": "0 to 400", "normally": "0"}
        draft.fails(reading, "reads 0", "reads 400")
        draft.add("readings", "speed", reading)
        draft.base += ["speed above 300 kt", "speed below 80 kt"]
        if draft.sometimes() and draft.has_room_for(2):
            draft.base.append("speed at 80 kt")
        if "fails" in reading:
            draft.base.append("true speed above 300 kt")


def draw_spring(draft: Draft) -> None:
    """The last control springs from ON back to where it is normally, and may stick."""
    control = list(draft.chapter["controls"].values())[-1]
    assert isinstance(control, dict)
    if control["normally"] != "ON":
        control["springs"] = {"ON": str(control["normally"])}
        draft.fails(control, "stuck")


def draw_base_units(draft: Draft) -> None:
    """One or two sources and a contactor, all over the base."""
    for name in ["first pump", "second pump"][: draft.draw(st.integers(1, 2))]:
        unit: dict[str, Tree] = {"kind": "pump"}
        if draft.sometimes():
            unit["needs"] = [draft.among(draft.base)]
        draw_ways(draft, unit, over_base)
        if draft.draw(st.integers(0, 3)) == 0:
            unit["shed when"] = over_base(draft)
        draft.fails(unit, "stops", "keeps running")
        draft.add("units", name, unit)
        draft.sources.append(name)
    unit = {"kind": draft.among(["contactor", "valve"])}
    draw_ways(draft, unit, over_base)
    draft.fails(unit, "stuck open", "stuck closed")
    draft.add("units", "tie", unit)
    draft.contactors.append("tie")
    draft.base += [f"{name} running" for name in draft.sources]
    draft.base += [f"{name} available" for name in draft.sources]
    draft.asked += [f"{name} running" for name in draft.sources]


def draw_ways(draft: Draft, unit: dict[str, Tree], over: Callable[[Draft], str]) -> None:
    """No way, one, or two named ones, each drawn by `over`."""
    match draft.draw(st.integers(0, 3)):
        case 1 | 2:
            unit["runs when"] = over(draft)
        case 3:
            unit["runs when any of"] = {"by hand": over(draft), "by itself": over(draft)}


SUPPLIES = ["left bus", "right bus", "last bus"]


def draw_supplies(draft: Draft, circles: Circles) -> None:
    """One to three supplies in order, each with its sources, one driven unit and perhaps a tie."""
    names = SUPPLIES[: draft.draw(st.integers(1, 3))]
    pump = bool(draft.draw(st.integers(0, 2)))
    chooses = len(names) > 1 and draft.draw(st.integers(0, 2)) == 0
    for number, name in enumerate(names):
        draw_supply(draft, names, number, circles, pump, chooses)
        draft.asked.append(f"{name} live")
    if chooses:
        chooser = draft.chapter["units"][draft.sources[0]]
        assert isinstance(chooser, dict)
        chooser["feeds one"] = list(draft.draw(st.permutations(names)))
    if pump:
        draft.add("units", "driven pump", driven_pump(draft, names, circles))
        draft.asked.append("driven pump running")


def driven_pump(draft: Draft, names: list[str], circles: Circles) -> dict[str, Tree]:
    """A pump that feeds the first supply, when that is otherwise lost or for other reasons.

    Without circles it needs nothing that the first supply may feed.
    """
    fact = f"{draft.among(names)} live" if circles != "none" else draft.among(draft.base)
    deniable = [*draft.base, "left bus otherwise lost"]
    if circles == "any":
        deniable += [f"{draft.among(names)} live", "driven pump running"]
    if draft.sometimes():
        over = f"left bus otherwise lost and {fact}"
    else:
        over = condition(draft, [*draft.base, "left bus otherwise lost", fact], deniable)
    unit: dict[str, Tree] = {"kind": "pump", "needs": [fact], "runs when": over}
    draft.fails(unit, "stops", "keeps running")
    return unit


def draw_supply(
    draft: Draft, names: list[str], number: int, circles: Circles, pump: bool, chooses: bool
) -> None:
    """A supply: base sources first, then the driven pump, last a tie to another supply."""
    name = names[number]
    supply: dict[str, Tree] = {"kind": "bus"}
    levels = draft.sometimes()
    if levels:
        supply["levels"] = ["lost", "reduced", "normal"]
    chosen = draft.draw(st.lists(st.sampled_from(draft.sources), max_size=2, unique=True))
    if chooses and draft.sources[0] not in chosen:
        chosen.append(draft.sources[0])
    facts = list(draft.base)
    if circles == "none":
        told = [name] if chooses else names[: number + 1]
        facts += [f"{supply} otherwise lost" for supply in told]
    rows: list[Tree] = [row(draft, source, facts, levels) for source in chosen]
    if pump and number == 0:
        rows.append("driven pump")
    others = names[:number] if circles == "none" else [n for n in names if n != name]
    if others and draft.sometimes():
        rows.append(tie_row(draft, draft.among(others), facts, levels))
    if circles == "any":
        rows = list(draft.draw(st.permutations(rows)))
    supply["fed by"] = rows or [draft.sources[0]]
    if draft.draw(st.integers(0, 4)) == 0:
        supply["shed when"] = over_base(draft)
    draft.fails(supply, "lost")
    draft.add("supplies", name, supply)
    draft.driven += [f"{name} live", f"{name} paralleled", f"{name} otherwise lost"]
    draft.driven += [f"{name} at reduced", f"{name} at least reduced"] if levels else []
    draft.driven += [f"{name} fed by {source}" for source in chosen]


def row(draft: Draft, source: str, facts: list[str], levels: bool) -> Tree:
    """A row from a base source, perhaps with a condition, a level, a contactor."""
    found: dict[str, Tree] = {"from": source}
    if draft.draw(st.integers(0, 2)) == 0:
        found["when"] = condition(draft, facts, facts)
    if draft.draw(st.integers(0, 2)) == 0:
        found["through"] = list(draft.contactors)
    if levels and draft.sometimes():
        found["delivers"] = "reduced"
    return found if len(found) > 1 else source


def tie_row(draft: Draft, other: str, facts: list[str], levels: bool) -> Tree:
    """A row from another supply through the contactor."""
    found: dict[str, Tree] = {"from": other, "through": list(draft.contactors)}
    if draft.sometimes():
        found["when"] = condition(draft, facts, facts)
    if levels and draft.sometimes():
        found["delivers"] = "reduced"
    return found


def draw_consequences(draft: Draft) -> None:
    """A means and perhaps a reading that follow from everything so far."""
    everything = [*draft.base, *draft.driven]
    draft.add("means", "in trouble", {"when": condition(draft, everything, everything)})
    draft.driven.append("in trouble")
    draft.asked.append("in trouble")
    if draft.sometimes():
        rows: list[Tree] = [
            {"reads": "3000", "when": condition(draft, everything, everything)},
            {"reads": "1500", "when": condition(draft, everything, everything)},
        ]
        rows += [{"reads": "100"}] if draft.sometimes() else []
        reading: dict[str, Tree] = {"unit": "psi", "range": "0 to 3500", "follows": rows}
        draft.fails(reading, "reads 0", "reads 3000")
        draft.add("readings", "main pressure", reading)
        draft.driven += ["main pressure above 2000 psi", "main pressure at most 100 psi"]
        draft.asked.append("main pressure above 2000 psi")


def indication(draft: Draft, cancels: bool) -> dict[str, Tree]:
    """A caution over everything, perhaps inhibited; `cancels`: a reset cancels it."""
    everything = [*draft.base, *draft.driven]
    found: dict[str, Tree] = {"kind": "light", "level": "caution"}
    found["shown when"] = condition(draft, everything, everything)
    if draft.sometimes():
        found["inhibited when"] = over_base(draft)
    if draft.draw(st.integers(0, 2)) == 0:
        found["needs"] = [draft.among([f for f in draft.driven if f.endswith(" live")])]
    if cancels:
        found["reset when"] = over_base(draft)
    draft.fails(found, "shown", "not shown")
    return found
