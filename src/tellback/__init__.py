"""Tellback: one exact picture of an aeroplane's systems, and everything asked of it.

    import tellback as tb
    book = tb.read("books/s94")
    print(tb.ways(book, "wing electric pump running"))

The folders tell the journey of the data: `book` reads and checks the type book, `logic` turns it
into functions over finite domains and answers, `motion` runs it in time, `draw` draws it, `cli`
shows the answers in a terminal.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from tellback.caution import CAUTION

if TYPE_CHECKING:
    from tellback.book.opening import BookErrors, read
    from tellback.draw.schematic import schematic
    from tellback.logic.answers.can import can
    from tellback.logic.answers.claims import claim
    from tellback.logic.answers.compare_csv import as_csv
    from tellback.logic.answers.effects import effects
    from tellback.logic.answers.feeds import feeds
    from tellback.logic.answers.fits import fits
    from tellback.logic.answers.limits import limits
    from tellback.logic.answers.losses import losses
    from tellback.logic.answers.shortest import shortest
    from tellback.logic.answers.signs import signs
    from tellback.logic.answers.steps import steps
    from tellback.logic.answers.stops import stops
    from tellback.logic.answers.ways import ways
    from tellback.logic.answers.why import why
    from tellback.logic.shown import as_json
    from tellback.motion.check import check
    from tellback.motion.compare import compare
    from tellback.motion.feeds import feeds_within
    from tellback.motion.live import Action, Live
    from tellback.motion.run import run
    from tellback.motion.signs import signs_within
    from tellback.motion.still import still
    from tellback.motion.what_if import what_if
    from tellback.motion.why import why_within

__version__ = "0.1.0"

_HOME = {
    "can": "tellback.logic.answers.can",
    "claim": "tellback.logic.answers.claims",
    "effects": "tellback.logic.answers.effects",
    "feeds": "tellback.logic.answers.feeds",
    "fits": "tellback.logic.answers.fits",
    "limits": "tellback.logic.answers.limits",
    "losses": "tellback.logic.answers.losses",
    "shortest": "tellback.logic.answers.shortest",
    "signs": "tellback.logic.answers.signs",
    "steps": "tellback.logic.answers.steps",
    "stops": "tellback.logic.answers.stops",
    "ways": "tellback.logic.answers.ways",
    "why": "tellback.logic.answers.why",
    "feeds_within": "tellback.motion.feeds",
    "Action": "tellback.motion.live",
    "Live": "tellback.motion.live",
    "run": "tellback.motion.run",
    "signs_within": "tellback.motion.signs",
    "still": "tellback.motion.still",
    "what_if": "tellback.motion.what_if",
    "why_within": "tellback.motion.why",
    "check": "tellback.motion.check",
    "compare": "tellback.motion.compare",
    "schematic": "tellback.draw.schematic",
    "as_csv": "tellback.logic.answers.compare_csv",
    "as_json": "tellback.logic.shown",
    "read": "tellback.book.opening",
    "BookErrors": "tellback.book.opening",
}
"""Where each public name lives; it is loaded when first asked for, so that starting is quick."""

__all__ = [
    "CAUTION",
    "Action",
    "BookErrors",
    "Live",
    "__version__",
    "as_csv",
    "as_json",
    "can",
    "check",
    "claim",
    "compare",
    "effects",
    "feeds",
    "feeds_within",
    "fits",
    "limits",
    "losses",
    "read",
    "run",
    "schematic",
    "shortest",
    "signs",
    "signs_within",
    "steps",
    "still",
    "stops",
    "ways",
    "what_if",
    "why",
    "why_within",
]


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)
