"""Memories of a random book: what its conditions may look back on."""

from __future__ import annotations

from hypothesis import strategies as st

from tests.drafts import Draft, condition, over_base
from tests.yaml_text import Tree


def draw_memories(draft: Draft) -> None:
    """Some of: a latch, a delay, a surface, a moving reading."""
    kinds = ["latch", "delay", "surface", "level"]
    chosen = draft.draw(st.lists(st.sampled_from(kinds), min_size=1, max_size=3, unique=True))
    if "latch" in chosen and draft.has_room_for(2):
        draw_latch(draft)
    if "delay" in chosen and draft.has_room_for(2):
        seconds = draft.draw(st.integers(1, 9))
        lasting = over_base(draft)
        draft.add("means", "long since", {"when": f"({lasting}) for {seconds} s"})
        draft.base.append("long since")
        draft.asked.append("long since")
        if draft.draw(st.integers(0, 2)) == 0 and draft.has_room_for(2):
            seconds = draft.draw(st.integers(1, 9))
            draft.add("means", "long over", {"when": f"not ({lasting}) for {seconds} s"})
            draft.base.append("long over")
    if "surface" in chosen:
        draw_surface(draft)
    if "level" in chosen and draft.has_room_for(3):
        draw_moving_reading(draft)


def draw_latch(draft: Draft) -> None:
    """A latch over the base, perhaps set or cleared by what comes on or goes out."""
    latch: dict[str, Tree] = {}
    for key in ("set when", "cleared when"):
        edge = draft.among(["", "", " comes on", " goes out"])
        latch[key] = f"({over_base(draft)}){edge}"
    if draft.sometimes():
        latch["set wins"] = "yes"
    draft.add("latches", "memory", latch)
    draft.base.append("memory set")


def draw_surface(draft: Draft) -> None:
    """A surface of two or three points with one or two drives."""
    points = draft.draw(st.sampled_from([["IN", "OUT"], ["IN", "MID", "OUT"]]))
    if not draft.has_room_for(2 * len(points) - 1):
        return
    drives: dict[str, Tree] = {}
    goals = list(points)
    if draft.draw(st.integers(0, 2)) == 0 and draft.has_room_for(2):
        draft.add("controls", "flap lever", {"positions": ["IN", "OUT"], "normally": "IN"})
        goals.append("flap lever")
    for name in ["usual drive", "other drive"][: draft.draw(st.integers(1, 2))]:
        drive: dict[str, Tree] = {"to": draft.among(goals)}
        if draft.draw(st.integers(0, 3)):
            drive["when"] = over_base(draft)
        if draft.draw(st.integers(0, 3)) == 0:
            drive["needs"] = [draft.among(draft.base)]
        if seconds := draft.draw(st.sampled_from([0, 4, 8, 12])):
            drive["takes"] = f"{seconds} s"
        if draft.draw(st.integers(0, 3)) == 0:
            drive["only toward"] = draft.among(list(points))
        drives[name] = drive
    surface: dict[str, Tree] = {"points": list(points), "starts at": draft.among(list(points))}
    surface["drives"] = drives
    draft.fails(surface, "stuck")
    draft.add("surfaces", "flap", surface)
    draft.base += ["flap at OUT", "flap above IN", "flap moving"]
    draft.asked.append("flap at OUT")


def draw_moving_reading(draft: Draft) -> None:
    """A quantity that moves up or down."""
    rows: list[Tree] = [
        {"to": "100", "rate": "10", "when": over_base(draft)},
        {"to": "0", "rate": str(draft.draw(st.integers(1, 20)))},
    ]
    if draft.sometimes():
        rows[1] = {"to": "50", "rate": "5", "when": over_base(draft)}
    start = draft.among(["0", "60", "100"])
    reading: dict[str, Tree] = {"unit": "psi", "range": "0 to 100", "starts at": start}
    reading["moves"] = rows
    draft.add("readings", "stored pressure", reading)
    draft.base += ["stored pressure above 70 psi", "stored pressure below 30 psi"]
    if draft.draw(st.integers(0, 2)) == 0 and draft.has_room_for(2):
        draft.base += ["stored pressure at 60 psi", "stored pressure at least 70 psi"]


def draw_late_memories(draft: Draft) -> None:
    """Perhaps a control that drops, is locked, and a latch and a delay over all that follows."""
    everything = [*draft.base, *draft.driven]
    control = draft.chapter["controls"]["first switch"]
    assert isinstance(control, dict)
    if draft.sometimes():
        control["drops to OFF when"] = condition(draft, everything, everything)
    if draft.draw(st.integers(0, 2)) == 0:
        control["cannot go to ON when"] = condition(draft, everything, everything)
    if draft.sometimes() and draft.has_room_for(2):
        when = condition(draft, everything, everything)
        latch: dict[str, Tree] = {"set when": f"({when}) comes on", "cleared when": "on ground"}
        draft.add("latches", "trouble memory", latch)
        draft.driven.append("trouble memory set")
    if draft.sometimes() and draft.has_room_for(2):
        draft.add("means", "trouble lasts", {"when": "in trouble for 5 s"})
        draft.driven.append("trouble lasts")
