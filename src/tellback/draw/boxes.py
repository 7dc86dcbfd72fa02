"""The boxes of a schematic: how large each is, and what is lettered in it."""

from __future__ import annotations

from dataclasses import dataclass

from tellback.book.model import Supply, Surface, Thing, Unit
from tellback.draw.lettering import LINE, SIZE, broken, width
from tellback.draw.standing import OFF, ON, Stand, words_of

UNIT, SUPPLY, SURFACE, CONTROL, AWAY, OUTLET = (
    *("unit", "supply", "surface", "control", "away", "outlet"),
)

ROOM = 128.0
"""The most that a line of a name may take."""

STATE = 148.0
"""The most that a line of a state may take; `failed: keeps running` is one line."""

PAD = 8.0
SYMBOL = 34.0
"""The square that a symbol stands in, left of the lettering."""

PITCH = 26.0
"""What a line at a supply's bar needs."""


@dataclass(frozen=True, slots=True)
class Need:
    """Something of elsewhere that a thing needs, and whether it has it."""

    text: str
    met: bool


@dataclass(frozen=True, slots=True)
class Box:
    """A node as it is drawn: its kind, what it stands for, its lettering and its size.

    `kind` is that of a thing drawn here, `away` for one of elsewhere, `outlet` for the consumers of
    a supply in other chapters. The size is the same however the thing stands.
    """

    key: str
    kind: str
    form: str
    name: tuple[str, ...]
    stand: Stand
    width: float
    height: float
    needs: tuple[Need, ...] = ()


def box_of(thing: Thing, stand: Stand, needs: tuple[Need, ...], lines: int, away: bool) -> Box:
    """The box of a thing that has so many lines; `away` if it belongs to another sheet."""
    form: str = getattr(thing, "form", "")
    if away:
        return _lettered(thing, AWAY, form, stand, PAD)
    match thing:
        case Supply():
            return _bar(thing, stand, lines)
        case Unit():
            return _lettered(thing, UNIT, form, stand, SYMBOL + 2 * PAD, needs)
        case Surface():
            return _lettered(thing, SURFACE, form, stand, SYMBOL + 2 * PAD, needs)
    return _lettered(thing, CONTROL, form, stand, PAD + PAD / 2)


def outlet_box(supply: str, chapters: tuple[str, ...], live: bool) -> Box:
    """The box that tells in which other chapters a supply has consumers."""
    name = broken(f"to {', '.join(chapters)}", ROOM, bold=True)
    wide = max(width(line, bold=True) for line in name) + 3 * PAD
    stand = Stand("", ON if live else OFF)
    key = f"consumers of {supply}"
    return Box(key, OUTLET, "", name, stand, _even(wide), _even(len(name) * LINE + 2 * PAD - 4))


def _lettered(
    thing: Thing, kind: str, form: str, stand: Stand, left: float, needs: tuple[Need, ...] = ()
) -> Box:
    name = broken(thing.name, ROOM, bold=True)
    states = [state_lines(word, kind) for word in words_of(thing)]
    widths = [width(line, bold=True) for line in name]
    widths += [width(line, bold=kind == CONTROL) for lines in states for line in lines]
    rows = len(name) + max(map(len, states))
    high = max(rows * LINE, SYMBOL if left > 2 * PAD else 0.0) + len(needs) * LINE
    wide = max(widths) + left + PAD + (PAD / 2 if kind == CONTROL else 0)
    wide = max([wide, *(width(need.text) + 4 * PAD for need in needs)])
    return Box(thing.name, kind, form, name, stand, _even(wide), _even(high + 2 * PAD - 4), needs)


def state_lines(word: str, kind: str) -> tuple[str, ...]:
    """How a thing stands, as it is lettered in a box of that kind."""
    return broken(word, STATE, bold=kind == CONTROL)


def _bar(supply: Supply, stand: Stand, lines: int) -> Box:
    """A bar as long as its lettering and its lines need."""
    word = max(words_of(supply), key=width)
    wide = width(supply.name, bold=True) + width(f"   {word}") + 3 * PAD
    return Box(
        supply.name,
        SUPPLY,
        supply.form,
        (supply.name,),
        stand,
        _even(max(wide, PITCH * (lines + 1))),
        _even(SIZE + 2 * PAD - 2),
    )


def _even(size: float) -> float:
    """The next even number, so that middles fall on whole pixels."""
    return float(2 * -(-size // 2))
