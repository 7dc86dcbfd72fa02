"""The demonstration: an instructor prepares a class on the example type, question by question."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tellback.cli.showing import tell
from tellback.refusals import Refusal

EXAMPLE = Path("books/s94")
_PROJECT = Path(__file__).parents[3]
_PACKAGED = Path(__file__).parents[1] / EXAMPLE


class NoExample(Refusal):
    """The book of the example type is not where it is looked for."""


@dataclass(frozen=True, slots=True)
class Step:
    """What the instructor wants to know, and the question: a command without its book."""

    said: str
    question: str
    texts: tuple[str, ...]
    options: tuple[str, ...] = ()

    def command(self, book: Path) -> list[str]:
        """The command as one would type it, in words."""
        return [self.question, str(book), *self.texts, *self.options]


OPENING = (
    "Tomorrow's class is the hydraulics of the Sandling S94, an invented twin-jet. Each answer "
    "below is worked out now, from the type book alone."
)

STEPS = (
    Step(
        "The wing electric pump comes up every year. When does it run?",
        "ways",
        ("wing electric pump running",),
    ),
    Step(
        "On the approach somebody will ask why it is running.",
        "why",
        ("wing electric pump running",),
        ("--from", "approach"),
    ),
    Step(
        "Which of the two pumps feeds the circuit there, and which stands behind?",
        "feeds",
        ("wing circuit",),
        ("--from", "approach"),
    ),
    Step(
        "And what would stop it there?",
        "stops",
        ("wing electric pump running",),
        ("--from", "approach"),
    ),
    Step(
        "Next, the gear. All that the lever does on the approach, with the times:",
        "effects",
        ("gear lever: DOWN",),
        ("--from", "approach", "--with", "gear lever: UP"),
    ),
    Step(
        "The engine failure for the simulator: what will they see, and in which order?",
        "signs",
        ("left engine: stops",),
        ("--from", "cruise"),
    ),
    Step(
        "Now the other way round. These two are all they are shown. What may have failed?",
        "fits",
        ("WING LOW PRESS shown", "guard circuit live"),
        ("--from", "cruise"),
    ),
    Step(
        "How much must fail before pitch control is gone?",
        "losses",
        ("pitch control",),
        ("--from", "cruise", "--order", "3"),
    ),
    Step(
        "I have always told them this about the guard circuit. Is it so?",
        "claim",
        ("if wing circuit lost then guard circuit live",),
        ("--given", "at most 1 failure"),
    ),
    Step(
        "And the memory items for a trim that runs away: what does each step do?",
        "steps",
        ("trim runaway",),
        ("--from", "approach", "--with", "main trim motor: keeps running"),
    ),
    Step(
        "In the simulator they fly it as a story. What comes, and when?",
        "run",
        ("wing circuit lost on approach",),
    ),
    Step(
        "How long will they be without the wing circuit?",
        "still",
        ("wing circuit lost on approach", "wing circuit lost"),
    ),
    Step(
        "And if the guard pump fails as well?",
        "what-if",
        ("wing circuit lost on approach",),
        ("--with", "guard pump: stops", "--at", "20 s"),
    ),
    Step(
        "Two of them come from the -100. What is new to them on the -200?",
        "compare",
        (),
        ("--aeroplane", "S94-100", "--with", "S94-200"),
    ),
    Step(
        "Last, for the ramp: can the steering turn against the tow bar?",
        "can",
        ("nose steering running and tow pin fitted",),
    ),
)


def play(book: Path | None, run: Callable[[Sequence[str]], int]) -> None:
    """Tells each step, shows its command and runs it. Raises NoExample."""
    folder = book or _example()
    tell(f"{OPENING}\n")
    for step in STEPS:
        tell(step.said, bold=True)
        command = step.command(folder)
        tell(f"$ tellback {shlex.join(command)}\n")
        run(command)
        tell("")


def _example() -> Path:
    """The example's folder from here, in the project of this program, or in its package."""
    for folder in (EXAMPLE, _PROJECT / EXAMPLE, _PACKAGED):
        if folder.is_dir():
            return folder
    raise NoExample(
        f"the example book {EXAMPLE} is not here",
        "Give the folder of the example book, or install Tellback anew.",
    )
