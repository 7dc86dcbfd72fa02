"""Colours and strokes. Whatever a colour tells, a stroke or a word tells as well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tellback.draw.standing import FAILED, MOVING, OFF, ON, READY, STILL


@dataclass(frozen=True, slots=True)
class Mark:
    """How a box with a mark is drawn: its border, the border's width and dashes, its ground."""

    border: str
    stroke: float
    dashes: str
    ground: str


@dataclass(frozen=True, slots=True)
class Look:
    """The colours of a sheet; every one that letters are set in stands out from its ground."""

    paper: str
    ink: str
    quiet: str
    carries: str
    empty: str
    marks: Mapping[str, Mark]


LIGHT = Look(
    paper="#ffffff",
    ink="#1a1f25",
    quiet="#525c68",
    carries="#0b4f9e",
    empty="#6a7480",
    marks={
        ON: Mark("#0b4f9e", 3.0, "", "#dfecfa"),
        READY: Mark("#1a1f25", 1.5, "", "#ffffff"),
        OFF: Mark("#6a7480", 1.5, "5 4", "#f2f3f5"),
        FAILED: Mark("#9c1238", 3.0, "9 4", "#fdeaef"),
        MOVING: Mark("#7a4700", 3.0, "2 4", "#fff2db"),
        STILL: Mark("#1a1f25", 1.5, "", "#ffffff"),
    },
)

DARK = Look(
    paper="#12161b",
    ink="#f3f5f8",
    quiet="#b3bcc8",
    carries="#82c3ff",
    empty="#8b95a2",
    marks={
        ON: Mark("#82c3ff", 3.0, "", "#153a5e"),
        READY: Mark("#f3f5f8", 1.5, "", "#12161b"),
        OFF: Mark("#8b95a2", 1.5, "5 4", "#1e242b"),
        FAILED: Mark("#ff93a8", 3.0, "9 4", "#4a1422"),
        MOVING: Mark("#ffcd75", 3.0, "2 4", "#3d2d0c"),
        STILL: Mark("#f3f5f8", 1.5, "", "#12161b"),
    },
)
