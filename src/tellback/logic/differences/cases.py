"""A state that tells two books apart, in words: from which start it departs by what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from tellback.book.english import time_text
from tellback.logic.differences.joint import SIDES, Joint
from tellback.logic.path import Witness
from tellback.logic.words import listed, literal_text


class Departure(NamedTuple):
    """One variable that is otherwise than at the start, in words; of a delay also how long."""

    text: str
    held: str = ""
    seconds: str = ""
    is_over: bool = False


class Departures:
    """Tells how joint states depart from their starts."""

    def __init__(self, joint: Joint) -> None:
        self.joint = joint

    def of(self, first: Mapping[str, int], state: Mapping[str, int]) -> list[Departure]:
        """What is otherwise in a state than at its start, and what is running in it."""
        whole = {**first, **state}
        return [
            self._departure(name, value, whole)
            for name, value in state.items()
            if first.get(name) != value or self._is_running(name, whole)
        ]

    def _departure(self, name: str, value: int, whole: Mapping[str, int]) -> Departure:
        """In the words of the second book, if it has them."""
        for side in reversed(SIDES):
            for own, there in self.joint.own_state(side, {name: value}).items():
                system = self.joint.pictures[side].system
                variable = system.variables[own]
                text = literal_text(system, own, [there])
                if variable.kind != "delay" or not (there or self._is_running(name, whole)):
                    return Departure(text)
                (rule,) = (rule for rule in system.delays if rule.variable == own)
                held = variable.thing.rpartition(" for ")[0]
                return Departure(text, held, time_text(rule.seconds), bool(there))
        raise AssertionError(name)

    def _is_running(self, delay: str, state: Mapping[str, int]) -> bool:
        """Whether a delay, if it is one, is running: its condition holds, but not long enough."""
        return state[delay] == 0 and any(
            self.joint.names[side][rule.variable] == delay
            and self.joint.space.holds(self.joint.of(side, rule.condition), state)
            for side in SIDES
            for rule in self.joint.pictures[side].system.delays
        )


def in_words(departures: list[Departure]) -> Iterator[str]:
    """All departures, what is told of one condition and its delays told once."""
    held = {d.held for d in departures if d.held}
    for departure in departures:
        if departure.held in held:
            held.remove(departure.held)
            yield _how_long([d for d in departures if d.held == departure.held])
        elif not departure.held and not any(d.held == departure.text for d in departures):
            yield departure.text


def beyond(departures: list[Departure], run: Witness) -> Iterator[str]:
    """What was done in a run that the departures do not tell already."""
    told = {text for departure in departures for text in (departure.text, departure.held)}
    yield from (text for _, text in run.steps if not {text, text.replace(" to ", " at ")} & told)


def _how_long(delays: list[Departure]) -> str:
    times = [
        (f"for {listed(d.seconds for d in delays if d.is_over)}", any(d.is_over for d in delays)),
        (
            f"not yet for {listed((d.seconds for d in delays if not d.is_over), 'or')}",
            not all(d.is_over for d in delays),
        ),
    ]
    told = " but ".join(text for text, is_so in times if is_so)
    return f"{delays[0].held}{'' if times[0][1] else ','} {told}"
