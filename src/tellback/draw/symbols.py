"""Symbols of components in a square of 34, drawn by us after open standards.

Fluid power after ISO 1219-1: a pump is a circle with a filled triangle that points out, a motor one
that points in, a cylinder a box with a piston, an accumulator an oval cut in two. Electrical after
IEC 60617: a machine is a circle with its letter, a battery a long and a short plate, a contactor a
blade that is open or closed, a converter a square cut by a line, a lamp a crossed circle. A valve
is a pair of triangles, filled when it is shut, one of them when it is open in part, and a heat
exchanger a circle with a zigzag, as in ISO 10628-2. A radio altimeter is an aerial and an igniter a
spark gap, after IEC 60617; a regulator a square with an arrow and a spring, after ISO 1219-1. Which
symbol is which in these standards is from memory. Those of computers, gyros, squibs, doors, slides,
wipers, limiters and reversers are our own. What there is no symbol for is a plain square.
"""

from __future__ import annotations

from collections.abc import Callable

Symbol = Callable[[bool], str]
"""Draws a component that is running, closed or open as its kind has it, or is not."""

_INK, _PAPER = "{ink}", "{paper}"


def symbol(form: str, on: bool, ink: str, paper: str, partly: bool = False) -> str:
    """The symbol of a component of that form as pieces of SVG, lines in ink.

    A valve may be open only `partly`.
    """
    words = form.casefold().split()
    drawn = next((_BY_WORD[word] for word in reversed(words) if word in _BY_WORD), _plain)
    if form.casefold() in _BY_FORM:
        drawn = _BY_FORM[form.casefold()]
    if partly and drawn is _valve:
        drawn = _half_valve
    return drawn(on).replace(_INK, ink).replace(_PAPER, paper)


def _circle(radius: float = 14, fill: str = "none") -> str:
    return f'<circle cx="17" cy="17" r="{radius:g}" fill="{fill}"/>'


def _path(d: str, fill: str = "none") -> str:
    return f'<path d="{d}" fill="{fill}"/>'


def _letter(text: str) -> str:
    return (
        f'<text x="17" y="22" text-anchor="middle" font-size="15" font-weight="700" '
        f'stroke="none" fill="{_INK}">{text}</text>'
    )


def _pump(on: bool) -> str:
    return _circle() + _path("M17 3 L25 14 H9 Z", _INK if on else "none")


def _motor_pump(on: bool) -> str:
    fill = _INK if on else "none"
    return _circle() + _path("M17 3 L23 11 H11 Z", fill) + _path("M17 23 L23 31 H11 Z", fill)


def _air_motor(on: bool) -> str:
    return _circle() + _path("M17 14 L24 3 H10 Z", _INK if on else "none")


def _machine(letter: str) -> Symbol:
    return lambda on: _circle() + _letter(letter)


def _battery(on: bool) -> str:
    return _path("M17 3 V13 M5 13 H29 M11 20 H23 M17 20 V31")


def _contactor(on: bool) -> str:
    blade = "M17 24 V10" if on else "M17 24 L27 9"
    return (
        _path(f"M17 2 V10 M17 24 V32 {blade}")
        + f'<circle cx="17" cy="10" r="2.5" fill="{_PAPER}"/>'
        + f'<circle cx="17" cy="24" r="2.5" fill="{_PAPER}"/>'
    )


def _valve(on: bool) -> str:
    fill = "none" if on else _INK
    return _path("M3 8 L17 17 L3 26 Z", fill) + _path("M31 8 L17 17 L31 26 Z", fill)


def _half_valve(on: bool) -> str:
    return _path("M3 8 L17 17 L3 26 Z", _INK) + _path("M31 8 L17 17 L31 26 Z")


def _converter(from_: str, to: str) -> Symbol:
    return lambda on: _square() + _path("M4 30 L30 4") + _path(from_) + _path(to)


def _square() -> str:
    return '<rect x="4" y="4" width="26" height="26" fill="none"/>'


def _plain(on: bool) -> str:
    inner = f'<rect x="11" y="11" width="12" height="12" fill="{_INK if on else "none"}"/>'
    return _square() + inner


def _engine(on: bool) -> str:
    return _path("M4 6 L30 12 V22 L4 28 Z", _INK if on else "none")


def _fan(on: bool) -> str:
    return _circle() + _path(
        "M17 17 C22 8 30 12 27 17 Z M17 17 C12 26 4 22 7 17 Z", _INK if on else "none"
    )


def _heater(on: bool) -> str:
    box = '<rect x="4" y="10" width="26" height="14" fill="none"/>'
    return box + _path(
        "M10.5 10 V24 M17 10 V24 M23.5 10 V24" + (" M4 5 H30 M4 29 H30" if on else "")
    )


def _lamp(on: bool) -> str:
    return _circle(14, _INK if on else "none") + _path(
        "M7.1 7.1 L26.9 26.9 M26.9 7.1 L7.1 26.9"
    ).replace("<path", f'<path stroke="{_PAPER if on else _INK}"')


def _cylinder(on: bool) -> str:
    box = '<rect x="3" y="9" width="22" height="16" fill="none"/>'
    return box + _path("M11 9 V25 M11 17 H32")


def _oval(on: bool) -> str:
    return '<rect x="9" y="3" width="16" height="28" rx="8" fill="none"/>' + _path("M9 17 H25")


def _bottle(on: bool) -> str:
    return _path(
        "M14 3 H20 V9 C26 11 26 14 26 17 V27 Q26 31 22 31 H12 Q8 31 8 27 V17 C8 14 8 11 14 9 Z"
    )


def _coil(on: bool) -> str:
    return '<rect x="4" y="10" width="26" height="14" fill="none"/>' + _path("M11 24 L19 10")


def _sensor(on: bool) -> str:
    return _path("M17 3 L31 17 L17 31 L3 17 Z") + _circle(4, _INK if on else "none")


def _pipe(on: bool) -> str:
    return _path("M3 12 H31 M3 22 H31") + (_path("M9 17 H22 M18 13 L23 17 L18 21") if on else "")


def _gear(on: bool) -> str:
    return _path("M17 3 V20") + '<circle cx="17" cy="25" r="6" fill="none"/>'


def _flap(on: bool) -> str:
    return _path("M3 12 H20 Q26 12 31 22 Q22 17 3 17 Z")


def _computer(on: bool) -> str:
    """A square with pins on two sides."""
    pins = "".join(f"M2 {y} H7 M27 {y} H32" for y in (10, 17, 24))
    case = '<rect x="7" y="4" width="20" height="26" fill="none"/>'
    inner = f'<rect x="12" y="12" width="10" height="10" fill="{_INK if on else "none"}"/>'
    return case + inner + _path(pins)


def _gyro(on: bool) -> str:
    """A rotor on its axis within a ring."""
    rotor = f'<rect x="6" y="14" width="22" height="6" rx="2" fill="{_INK if on else "none"}"/>'
    return _circle() + rotor + _path("M17 3 V14 M17 20 V31")


def _aerial(on: bool) -> str:
    return _path("M17 32 V5 M6 5 L17 19 L28 5")


def _squib(on: bool) -> str:
    """A cartridge with its wire; with rays once it has fired."""
    cartridge = '<rect x="9" y="13" width="16" height="18" rx="2" fill="none"/>'
    rays = "M17 9 V2 M11 10 L7 5 M23 10 L27 5" if on else ""
    return cartridge + _path(f"M13 31 V24 L15.5 19 L18.5 24 L21 19 V31 {rays}")


def _spark_gap(on: bool) -> str:
    fill = _INK if on else "none"
    stems = _path("M17 2 V5 M17 29 V32")
    return stems + _path("M11 5 H23 L17 14 Z", fill) + _path("M11 29 H23 L17 20 Z", fill)


def _regulator(on: bool) -> str:
    square = '<rect x="6" y="12" width="20" height="19" fill="none"/>'
    arrow = "M16 30 V15 M12 19 L16 14 L20 19"
    return square + _path(f"{arrow} M16 12 L12 9.5 L20 7 L12 4.5 L16 2")


def _exchanger(on: bool) -> str:
    return _circle() + _path("M3 17 H9 L13 10 L20 24 L25 17 H31")


def _door(on: bool) -> str:
    """A leaf with its hinges and its handle."""
    leaf = '<rect x="8" y="3" width="19" height="28" rx="2" fill="none"/>'
    return leaf + _path("M4 9 H10 M4 25 H10 M21 17 H24")


def _slide(on: bool) -> str:
    return _path("M3 5 H11 L29 26 H32 M3 12 H8 L25 31 H32 M3 5 V12")


def _wiper(on: bool) -> str:
    blade = _path("M4 14 Q17 0 30 14 L24 20 Q17 13 10 20 Z")
    return blade + _path("M17 29 L23 9") + f'<circle cx="17" cy="29" r="3" fill="{_INK}"/>'


def _limiter(on: bool) -> str:
    return _path("M7 5 V29 M27 5 V29 M11 17 H23 M15 13 L11 17 L15 21 M19 13 L23 17 L19 21")


def _reverser(on: bool) -> str:
    """A cowl, and air that is turned forward out of it."""
    return _path("M3 13 H18 M3 21 H31 M30 13 H26") + _path(
        "M22 17 V8 Q22 4 17 4 H8 M12 1 L8 4 L12 8"
    )


_AC, _DC = "M7 11 q2.5 -5 5 0 t5 0", "M18 24 H27 M18 28 H27"

_BY_FORM: dict[str, Symbol] = {
    "motor pump": _motor_pump,
    "air motor": _air_motor,
    "inverter": _converter("M7 9 H15 M7 13 H15", "M18 26 q2.5 -5 5 0 t5 0"),
    "transformer-rectifier": _converter(_AC, _DC),
    "external supply": _machine("E"),
    "landing gear leg": _gear,
    "float valve": _valve,
    "inertial unit": _gyro,
    "radio altimeter": _aerial,
}

_BY_WORD: dict[str, Symbol] = {
    "pump": _pump,
    "generator": _machine("G"),
    "alternator": _machine("G"),
    "motor": _machine("M"),
    "battery": _battery,
    "contactor": _contactor,
    "relay": _contactor,
    "valve": _valve,
    "engine": _engine,
    "fan": _fan,
    "heater": _heater,
    "lamp": _lamp,
    "lamps": _lamp,
    "light": _lamp,
    "lights": _lamp,
    "actuator": _cylinder,
    "accumulator": _oval,
    "bottle": _bottle,
    "solenoid": _coil,
    "detector": _sensor,
    "loop": _sensor,
    "wire": _sensor,
    "pipe": _pipe,
    "flap": _flap,
    "slat": _flap,
    "spoiler": _flap,
    "stabiliser": _flap,
    "computer": _computer,
    "controller": _computer,
    "channel": _computer,
    "gyro": _gyro,
    "squib": _squib,
    "igniter": _spark_gap,
    "regulator": _regulator,
    "conditioner": _exchanger,
    "door": _door,
    "doors": _door,
    "slide": _slide,
    "wiper": _wiper,
    "limiter": _limiter,
    "reverser": _reverser,
}
