"""Books of any size that look like a manual's: bays of some sixty things, sparsely connected.

Each bay has its generator, buses, pumps, circuit, valves, latches and lights, and is a chapter of
its own. It takes power and pressure in reserve from one bay before it (the bays form a tree), and
one bay in four also looks at one thing of any earlier bay. What differs from bay to bay is drawn
from a seed: the same size and seed make the same book.
"""

from __future__ import annotations

from itertools import count, islice
from pathlib import Path
from random import Random

THINGS_IN_BAY = 60
FED_BY_ONE = 3
"""How many bays take their reserve from the same one."""

TYPE = """\
type: Generated
manual: None
revision: 1
variants: {G1: {serials: 1-9}}
starting states:
  flying: {}
  parked: {on ground: yes, airspeed: 0}
"""

COMMON = """\
chapter: 21
title: Common
source: GEN 21
situations:
  on ground: {normally: no, source: 21-10 p.1}
readings:
  airspeed: {unit: kt, range: 0 to 400, normally: 250, source: 21-10 p.2}
means:
  air mode: {when: not on ground for 2 s, source: 21-10 p.3}
"""

BAY = (Path(__file__).parent / "bay.yaml").read_text(encoding="utf-8")
"""A bay without its consumers; `B` stands for its name."""

THINGS_OF_BAY = 43
THINGS_IN_COMMON = 3

SUPPLIES = ("main bus", "DC bus", "branch", "circuit")
CALLS = (
    "B demand",
    "B hot and air mode",
    "B controller running and not B trip",
    "B temperature below COLD C and B demand",
    "on ground and not B pressure low",
    "any of (B hot, B quantity low) and airspeed below SPEED kt",
)
ELSEWHERE = ("B controller running", "B branch pressurised", "not B trip", "B DC bus powered")


def write_book(folder: Path, things: int, seed: int = 1) -> None:
    """A book of exactly that many things, in a folder that is made for it."""
    draw = Random(seed)
    (folder / "chapters").mkdir(parents=True)
    (folder / "type.yaml").write_text(TYPE, encoding="utf-8")
    (folder / "chapters" / "21-common.yaml").write_text(COMMON, encoding="utf-8")
    left = things - THINGS_IN_COMMON
    bays = max(1, left // THINGS_IN_BAY)
    for number in range(bays):
        size = left * (number + 1) // bays - left * number // bays
        chapter = folder / "chapters" / f"{22 + number % 60}-bay-{number + 1:03}.yaml"
        chapter.write_text(_bay(draw, number, size), encoding="utf-8")


def _bay(draw: Random, number: int, size: int) -> str:
    text = f"chapter: {22 + number % 60}\ntitle: Bay {number + 1}\nsource: GEN {number + 1}\n{BAY}"
    main = circuit = ""
    if number:
        reserve = f"bay {(number - 1) // FED_BY_ONE + 1}"
        main = f"      - {reserve} main bus through B tie contactor\n"
        circuit = f"      - {reserve} circuit through B transfer valve\n"
    text = text.replace("MAIN RESERVE", main).replace("CIRCUIT RESERVE", circuit)
    units, lights = _consumers(draw, number, size - THINGS_OF_BAY)
    text = text.replace("supplies:\n", f"{''.join(units)}supplies:\n") + "".join(lights)
    numbers = {
        "SPEED": 20 * draw.randint(2, 8),
        "LOW": draw.randint(3, 8),
        "HOT": 10 * draw.randint(9, 20),
        "COLD": draw.randint(2, 8),
    }
    for word, value in numbers.items():
        text = text.replace(word, str(value))
    return text.replace("B ", f"bay {number + 1} ")


def _consumers(draw: Random, number: int, wanted: int) -> tuple[list[str], list[str]]:
    """Heaters, fans and computers of a bay, and a light for each, as many as are left."""
    units, lights = list[str](), list[str]()
    looks_elsewhere = number > 0 and draw.random() < 0.25
    for n in islice(count(1), (wanted + 1) // 2):
        call = draw.choice(CALLS)
        if n == 1 and looks_elsewhere:
            other = draw.choice(ELSEWHERE).replace("B ", f"bay {draw.randint(1, number)} ")
            call = f"B demand and {other}"
        need = draw.choice(SUPPLIES)
        fails = "[stops, keeps running]" if draw.random() < 0.2 else "[stops]"
        units.append(
            f"  B consumer {n}: {{kind: heater, needs: [B {need}], "
            f"runs when: '{call}', fails: {fails}, source: 60 p.{n}}}\n"
        )
        lights.append(
            f"  B C{n} OFF: {{kind: light, level: advisory, needs: [B DC bus], "
            f"shown when: B consumer {n} not running, source: 61 p.{n}}}\n"
        )
    return units, lights[: wanted // 2]
