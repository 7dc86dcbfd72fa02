"""What would bring about what is not so: the smallest changes, of the most ordinary kind."""

from __future__ import annotations

from dataclasses import replace
from itertools import takewhile

from tellback.logic.explanations import Explaining
from tellback.logic.formula import Formula
from tellback.logic.items import Item
from tellback.logic.merged import Changed, items_of, merged
from tellback.logic.picture import Picture
from tellback.logic.run import Moment


def remedies_of(picture: Picture, moment: Moment, formula: Formula) -> tuple[tuple[Item, ...], ...]:
    """Minimal changes after which, settled, the formula is so: one thing, or else two.

    Controls are moved, situations and readings from outside are others, or what has failed works
    again; of the most ordinary kind alone that does. None if neither one thing nor two do.
    """
    seeking = Explaining(picture, moment, {}, moment, mending=True)
    found = seeking.of(formula, None).sets
    if not found:
        return ()
    best = seeking.rank(found[0])
    alike = takewhile(lambda one: seeking.rank(one) == best, found)
    several = merged(picture, [Changed.of(one.changes, True) for one in alike])
    return tuple(tuple(map(_said, items_of(picture, one.changes))) for one in several)


def _said(item: Item) -> Item:
    """What has failed works again."""
    if item.kind != "failure":
        return item
    return replace(item, text=f"{item.thing} working again", together=())
