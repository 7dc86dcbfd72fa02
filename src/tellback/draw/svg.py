"""A sheet as SVG."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator
from functools import cache
from html import escape
from itertools import pairwise

from tellback.draw.boxes import AWAY, CONTROL, OUTLET, PAD, SUPPLY, SYMBOL, Box, state_lines
from tellback.draw.elk import Point
from tellback.draw.lettering import FAMILY, FONTS, LINE, SIZE, width
from tellback.draw.look import Look, Mark
from tellback.draw.plan import COIL, Drawn, Placed
from tellback.draw.standing import (
    CARRIES,
    DEAD,
    FAILED,
    LIVE,
    MOVING,
    OFF,
    ON,
    READY,
    STILL,
    Stand,
)
from tellback.draw.symbols import symbol
from tellback.draw.wiring import FEEDS, MOVES, NEEDS

WIDE, HIGH = 1280, 720

GAP = 12
"""Between the entries of the legend."""

CURRENTS = (CARRIES, LIVE, DEAD)
"""What is drawn on top first."""


def page(parts: Iterable[str], look: Look, title: str, wide: int, high: int) -> str:
    """A whole sheet with its font."""
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" '
            f'viewBox="0 0 {wide} {high}" font-family="{FAMILY}" font-size="{SIZE:g}" role="img">',
            f"<title>{escape(title)}</title>",
            f"<style>{_faces()}</style>",
            f'<rect width="{wide}" height="{high}" fill="{look.paper}"/>',
            *parts,
            "</svg>\n",
        )
    )


@cache
def _faces() -> str:
    return "".join(
        f"@font-face{{font-family:{FAMILY};font-weight:{weight};src:url(data:font/woff2;base64,"
        f"{base64.b64encode((FONTS / f'{name}.woff2').read_bytes()).decode()})}}"
        for name, weight in (("regular", 400), ("bold", 700))
    )


def letters(
    x: float, y: float, text: str, fill: str, bold: bool = False, size: float = SIZE
) -> str:
    """A line of text, its foot at y."""
    weight = ' font-weight="700"' if bold else ""
    large = f' font-size="{size:g}"' if size != SIZE else ""
    return f'<text x="{x:g}" y="{y:g}" fill="{fill}"{weight}{large}>{escape(text)}</text>'


# -- lines ------------------------------------------------------------------------------------


def lines(drawn: Iterable[Drawn], look: Look) -> Iterator[str]:
    """All wires, those that carry something on top."""
    for wire in sorted(drawn, key=lambda wire: (-CURRENTS.index(wire.current), wire.kind != MOVES)):
        points = " ".join(f"{x:g},{y:g}" for x, y in wire.points)
        yield (
            f'<polyline data-from="{escape(wire.source)}" data-to="{escape(wire.target)}" '
            f'data-current="{wire.current}" '
            f'points="{points}" fill="none" {stroke(wire.kind, wire.current, look)}/>'
        )


def branches(drawn: Iterable[Drawn], look: Look) -> Iterator[str]:
    """A dot wherever wires part, as full as the fullest of them."""
    wires = tuple(drawn)
    for x, y in dict.fromkeys(point for wire in wires for point in wire.branches):
        full = any(wire.current != DEAD and _passes(wire, (x, y)) for wire in wires)
        colour = look.carries if full else look.empty
        yield f'<circle cx="{x:g}" cy="{y:g}" r="4" fill="{colour}"/>'


def _passes(wire: Drawn, point: Point) -> bool:
    """Whether a point lies on a wire."""
    x, y = point
    return any(
        min(a, c) <= x <= max(a, c) and min(b, d) <= y <= max(b, d)
        for (a, b), (c, d) in pairwise(wire.points)
    )


def stroke(kind: str, current: str, look: Look) -> str:
    """How a wire is stroked: thick where something passes, thin where not, broken where dead."""
    if kind == MOVES:
        return (
            f'stroke="{look.quiet}" stroke-width="2" stroke-dasharray="0.1 5" '
            'stroke-linecap="round"'
        )
    if current == DEAD:
        return f'stroke="{look.empty}" stroke-width="1.5" stroke-dasharray="6 4"'
    if kind == COIL:
        return f'stroke="{look.quiet}" stroke-width="1.5"'
    width = {FEEDS: 4, NEEDS: 3}[kind] if current == CARRIES else 1.75
    return f'stroke="{look.carries}" stroke-width="{width:g}"'


# -- boxes ------------------------------------------------------------------------------------


def box(placed: Placed, look: Look) -> str:
    """A box with its symbol and lettering."""
    it = placed.box
    mark = look.marks[it.stand.mark]
    shape = _bar(placed, mark) if it.kind == SUPPLY else _frame(placed, mark)
    inside = [shape, *_symbol(placed, look, mark), *_lettering(placed, look)]
    key = escape(it.key)
    about = f'data-thing="{key}" data-kind="{it.kind}" data-mark="{it.stand.mark}"'
    return f"<g {about}>{''.join(inside)}</g>"


def _bar(placed: Placed, mark: Mark) -> str:
    return _rectangle(placed, mark, 0) + (
        f'<rect x="{placed.x:g}" y="{placed.y:g}" width="7" height="{placed.box.height:g}" '
        f'fill="{mark.border}"/>'
    )


def _frame(placed: Placed, mark: Mark) -> str:
    round_ = {CONTROL: placed.box.height / 2, OUTLET: placed.box.height / 2, AWAY: 10}
    return _rectangle(placed, mark, min(round_.get(placed.box.kind, 4), 20))


def _rectangle(placed: Placed, mark: Mark, radius: float) -> str:
    dashes = f' stroke-dasharray="{mark.dashes}"' if mark.dashes else ""
    return (
        f'<rect x="{placed.x:g}" y="{placed.y:g}" width="{placed.box.width:g}" '
        f'height="{placed.box.height:g}" rx="{radius:g}" fill="{mark.ground}" '
        f'stroke="{mark.border}" stroke-width="{mark.stroke:g}"{dashes}/>'
    )


def _symbol(placed: Placed, look: Look, mark: Mark) -> Iterator[str]:
    it = placed.box
    if it.kind in (SUPPLY, CONTROL, AWAY, OUTLET):
        return
    x = placed.x + PAD
    y = placed.y + (it.height - len(it.needs) * LINE - SYMBOL) / 2
    on = it.stand.at_work
    drawn = symbol(it.form, on, mark.border if on else look.ink, mark.ground, it.stand.partly)
    yield (
        f'<g transform="translate({x:g} {y:g})" stroke="{mark.border if on else look.ink}" '
        f'stroke-width="2" stroke-linejoin="round">{drawn}</g>'
    )
    if it.stand.mark == FAILED:
        yield (
            f'<path d="M{x:g} {y:g} l{SYMBOL:g} {SYMBOL:g} m0 -{SYMBOL:g} l-{SYMBOL:g} {SYMBOL:g}" '
            f'stroke="{mark.border}" stroke-width="4" fill="none"/>'
        )


def _lettering(placed: Placed, look: Look) -> Iterator[str]:
    it = placed.box
    if it.kind == SUPPLY:
        y = placed.y + it.height / 2 + 5
        yield letters(placed.x + 2 * PAD, y, it.name[0], look.ink, bold=True)
        x = placed.x + it.width - PAD
        yield right(letters(x, y, it.stand.word, look.ink))
        return
    plain = it.kind in (CONTROL, AWAY, OUTLET)
    x = placed.x + (PAD if plain else SYMBOL + 2 * PAD - 2)
    x += PAD / 2 if it.kind in (CONTROL, OUTLET) else 0
    control = it.kind == CONTROL
    rows = [(line, not control) for line in it.name]
    rows += [(line, control) for line in state_lines(it.stand.word, it.kind)]
    y = placed.y + (it.height - (len(rows) + len(it.needs)) * LINE) / 2 - 4
    for line, bold in rows:
        y += LINE
        yield letters(x, y, line, look.ink, bold=bold)
    for need in it.needs:
        y += LINE
        yield _tick(placed.x + PAD + 1, y - 10, need.met, look)
        yield letters(placed.x + 3 * PAD, y, need.text, look.ink)


def _tick(x: float, y: float, met: bool, look: Look) -> str:
    """A square: full for what a thing has, empty and crossed for what it lacks."""
    colour = look.carries if met else look.marks[FAILED].border
    square = (
        f'<rect x="{x:g}" y="{y:g}" width="10" height="10" stroke="{colour}" stroke-width="2" '
        f'fill="{colour if met else "none"}"/>'
    )
    return (
        square
        if met
        else square
        + (f'<path d="M{x:g} {y:g} l10 10 m0 -10 l-10 10" stroke="{colour}" stroke-width="2"/>')
    )


def right(text: str) -> str:
    """Letters whose right end is at their x."""
    return text.replace("<text ", '<text text-anchor="end" ', 1)


# -- what the marks mean ----------------------------------------------------------------------


def legend(y: float, look: Look) -> Iterator[str]:
    """A line that tells what strokes and marks mean."""
    x = 20.0
    for kind, current, text in (
        (FEEDS, CARRIES, "feeds"),
        (FEEDS, LIVE, "only live"),
        (FEEDS, DEAD, "dead"),
        (COIL, LIVE, "to a coil"),
        (MOVES, DEAD, "moves"),
    ):
        yield f'<path d="M{x:g} {y - 5:g} h26" fill="none" {stroke(kind, current, look)}/>'
        yield letters(x + 33, y, text, look.ink)
        x += 33 + width(text) + GAP
    for met, text in ((True, "has it"), (False, "lacks it")):
        yield _tick(x, y - 11, met, look)
        yield letters(x + 18, y, text, look.ink)
        x += 18 + width(text) + GAP
    for mark, text in (
        (ON, "running or live"),
        (READY, "available"),
        (OFF, "off or lost"),
        (MOVING, "moving"),
        (FAILED, "failed"),
        (STILL, "elsewhere"),
    ):
        swatch = Placed(Box("", AWAY, "", (), Stand("", STILL), 26, 16), x, y - 13)
        yield _rectangle(swatch, look.marks[mark], 7 if mark == STILL else 2)
        yield letters(x + 34, y, text, look.ink)
        x += 34 + width(text) + GAP
