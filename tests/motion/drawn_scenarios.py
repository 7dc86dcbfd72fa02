"""Random scenarios on random books, as text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from hypothesis import strategies as st

from tellback.book.model import Control, Reading, Situation, Thing
from tests.small_books import book_of
from tests.strategies import BookText, Circles, books
from tests.yaml_text import Tree, block

T = TypeVar("T")

NUMBERS = [0, 40, 80, 180, 300, 340, 400]
"""Where the speed is sent: at the numbers of the drawn books, and between them."""


@dataclass(frozen=True)
class ScenarioText:
    """A drawn book with a scenario, and perhaps a procedure that it carries out."""

    book: BookText
    scenarios: str
    procedures: str

    def __str__(self) -> str:
        return f"{self.book}\n{self.scenarios}\n{self.procedures}"


@st.composite
def scenarios(draw: st.DrawFn, ends: bool = True) -> ScenarioText:
    """A scenario of one to eight steps; `ends`: at a set time, before all has come to rest or not.

    A step may carry out a short list.
    """
    circles: Circles = draw(st.sampled_from(["none", "positive"]))
    text = draw(books(memories=True, circles=circles, most_states=20_000, springs=True))
    writer = _Writer(draw, text)
    starts = [start.name for start in writer.book.starts]
    scenario: dict[str, Tree] = {"from": writer.among(starts)}
    if draw(st.integers(0, 2)) == 0:
        scenario["with"] = writer.put()
    scenario["steps"] = [writer.step() for _ in range(draw(st.integers(1, 8)))]
    if ends:
        scenario["ends"] = writer.seconds(0, 40)
    story = block({"title": "Drawn", "scenarios": {"drawn": scenario}})
    return ScenarioText(text, story, writer.procedures())


class _Writer:
    """Writes steps in the words of a drawn book."""

    def __init__(self, draw: st.DrawFn, text: BookText) -> None:
        self.draw = draw
        self.facts = list(text.questions)
        self.book = book_of(text.chapter, text.type_file)
        self.controls = [t for t in self.book.things if isinstance(t, Control)]
        self.facts += [f"{c.name} at {position}" for c in self.controls for position in c.positions]
        self.facts += [t.name for t in self.book.things if isinstance(t, Situation)]

    def among(self, choices: Sequence[T]) -> T:
        """One of the choices."""
        return self.draw(st.sampled_from(choices))

    def seconds(self, least: int, most: int) -> str:
        """A time in whole or half seconds."""
        return f"{self.draw(st.integers(2 * least, 2 * most)) / 2:g} s"

    def condition(self) -> str:
        """A fact, perhaps denied, perhaps for some seconds."""
        fact = self.among(self.facts)
        return self.among(
            [fact, fact, f"not ({fact})", f"({fact}) for {self.draw(st.integers(1, 6))} s"]
        )

    def step(self) -> Tree:
        """A step with or without a time."""
        step: dict[str, Tree] = {}
        timing = self.among(["at", "when", "later", "both", "", ""])
        if timing == "at":
            step["at"] = self.seconds(0, 30)
        if timing in ("when", "both"):
            step["when"] = self.condition()
        if timing in ("later", "both"):
            step["later"] = self.seconds(1, 9)
        kind = self.among(["do", "do", "do", "set", "set", "set", "expect", "carry out"])
        if kind == "do":
            step["do"] = self.move()
            if self.draw(st.booleans()):
                step["held"] = self.seconds(1, 9)
        elif kind == "set":
            step["set"] = self.put(way=True)
        elif kind == "expect":
            step["expect"] = self.condition()
        else:
            step |= {"carry out": "short list", "pace": self.seconds(1, 4)}
        return step

    def move(self) -> str:
        """One or all controls to positions."""
        moved = self.controls if self.draw(st.integers(0, 3)) == 0 else [self.among(self.controls)]
        return " and ".join(f"{c.name} at {self.among(c.positions)}" for c in moved)

    def put(self, way: bool = False) -> dict[str, Tree]:
        """An input otherwise; `way`: in a scenario, where readings are on their way, too."""
        thing = self.among([t for t in self.book.things if _is_input(t)])
        modes = [str(mode) for mode in thing.fails]
        if way and modes:
            modes.append("works again")
        if modes and (not _is_put(thing) or self.draw(st.booleans())):
            return {thing.name: self.among(modes)}
        if isinstance(thing, Situation):
            return {thing.name: self.among(["yes", "no"])}
        number = self.among(NUMBERS)
        if not way or self.draw(st.booleans()):
            return {thing.name: f"{number} kt"}
        how = self.among(
            [f"in {self.seconds(1, 12)}", f"at {self.among([10, 30, 70])} kt a second"]
        )
        return {thing.name: f"to {number} kt {how}"}

    def procedures(self) -> str:
        """A file with one list of a few steps."""
        steps: list[Tree] = [self.list_step() for _ in range(self.draw(st.integers(1, 5)))]
        body: dict[str, Tree] = {"kind": "flow", "done from": "normal", "steps": steps}
        return block({"title": "Lists", "procedures": {"short list": body}})

    def list_step(self, deep: bool = False) -> Tree:
        """A step of the list; `deep`: one of a branch, that has none itself."""
        kind = self.among(["do", "do", "check", "wait", "wait", "say", *([] if deep else ["if"])])
        match kind:
            case "do":
                return {"do": self.move()}
            case "wait":
                return {
                    "wait": self.seconds(1, 9) if self.draw(st.booleans()) else self.condition()
                }
            case "say":
                return {"say": "So it is."}
            case "if":
                return {
                    "if": self.condition(),
                    "then": [self.list_step(deep=True)],
                    "otherwise": [self.list_step(deep=True)],
                }
        return {kind: self.condition()}


def _is_put(thing: Thing) -> bool:
    """Whether it can be put otherwise itself, and does not only fail."""
    if isinstance(thing, Reading):
        return not thing.follows and not thing.moves
    return isinstance(thing, Situation)


def _is_input(thing: Thing) -> bool:
    return bool(thing.fails) or _is_put(thing)
