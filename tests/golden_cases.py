"""The golden commands: what is typed, and the file that holds what is printed.

Questions are asked of the S94; what is long or slow there, of the small book that `new` writes.

`python -m tests.golden_cases` (or `make golden`) writes the files anew; look at what changed.
"""

from __future__ import annotations

import io
from contextlib import chdir, redirect_stderr, redirect_stdout
from pathlib import Path

from tellback.book.reader import read
from tellback.cli.main import main

PROJECT = Path(__file__).parents[1]
FOLDER = PROJECT / "tests" / "golden"
BOOK = "books/s94"
SMALL = "src/tellback/book/template"

CASES: dict[str, list[str]] = {
    "ways": ["ways", BOOK, "battery contactor running"],
    "ways-many": ["ways", BOOK, "left flow valve open"],
    "ways-shortest": ["ways", BOOK, "battery contactor running", "--shortest"],
    "ways-shortest-many": ["ways", BOOK, "left flow valve open", "--shortest"],
    "ways-the-same": ["ways", BOOK, "full supply", "--shortest"],
    "ways-through-a-means": ["ways", BOOK, "LEFT ENGINE FIRE shown"],
    "ways-not-named": ["ways", BOOK, "wing electric pump not running"],
    "ways-to-the-root": ["ways", BOOK, "left drive latch set", "--root"],
    "ways-json": ["ways", SMALL, "left bus live", "--json"],
    "stops": ["stops", BOOK, "wing electric pump running", "--from", "approach"],
    "effects": ["effects", BOOK, "parking brake: SET", "--from", "taxi"],
    "losses": ["losses", BOOK, "left AC bus live", "--from", "cruise", "--order", "2"],
    "losses-free": ["losses", SMALL, "left bus live", "--free"],
    "signs": ["signs", BOOK, "left engine: stops", "--from", "cruise"],
    "signs-within": [
        "signs",
        BOOK,
        "left engine: stops",
        "--scenario",
        "go-around on two engines",
        "--at",
        "6 s",
    ],
    "fits": ["fits", BOOK, "WING LOW PRESS shown", "--from", "cruise", "--order", "1"],
    "feeds": ["feeds", BOOK, "flight DC bus", "--from", "cruise"],
    "feeds-within": [
        "feeds",
        BOOK,
        "left AC bus",
        "--scenario",
        "left engine fails in cruise",
        "--at",
        "14 min",
    ],
    "why": ["why", BOOK, "wing electric pump running", "--from", "approach"],
    "why-not": ["why", BOOK, "nose steering running", "--from", "cruise"],
    "claim": ["claim", BOOK, "nose steering running only if ground latch set"],
    "claim-false": ["claim", BOOK, "never tow pin fitted", "--given", "no failures"],
    "can": ["can", BOOK, "nose steering running and tow pin fitted"],
    "can-be": ["can", BOOK, "tow pin fitted", "--given", "no failures"],
    "compare": ["compare", BOOK, "--aeroplane", "S94-100", "--with", "S94-200"],
    "compare-same": ["compare", SMALL, SMALL],
    "can-from-one-start": [
        "can",
        BOOK,
        "flaps at 38",
        "--given",
        "no failures",
        "--from",
        "cruise",
    ],
    "revise": ["revise", SMALL],
    "steps": ["steps", BOOK, "trim runaway", "--with", "main trim motor: keeps running"],
    "steps-restored": ["steps", BOOK, "left GENERATOR OUT", "--from", "approach"],
    "steps-misspelt": ["steps", BOOK, "trim runway"],
    "run": ["run", SMALL, "generator lost in flight"],
    "run-misspelt": ["run", SMALL, "generator lost in fligth"],
    "still": ["still", BOOK, "left engine fails in cruise", "wing electric pump running"],
    "what-if": [
        "what-if",
        SMALL,
        "generator lost in flight",
        "--with",
        "bus tie contactor: stuck open",
        "--at",
        "3 s",
    ],
    "what-if-nothing": ["what-if", SMALL, "generator lost in flight"],
    "limits": ["limits", SMALL],
    "limits-from-memory": ["limits", SMALL, "--from-memory", "--json"],
    "check": ["check", SMALL],
    "check-json": ["check", SMALL, "--json"],
    "format": ["format", SMALL, "--check"],
    "sentences": ["format", SMALL, "--sentences"],
    "new-in-use": ["new", BOOK],
    "misspelt": ["ways", BOOK, "wing electic pump running"],
    "barred": ["effects", BOOK, "gear lever: UP", "--from", "taxi"],
}


def cases() -> dict[str, list[str]]:
    """All cases by the name of their file: those above, and a run of every scenario of the S94."""
    book, _ = read(PROJECT / BOOK)
    assert book is not None
    traces = {f"scenarios/{s.name}": ["run", BOOK, s.name] for s in book.scenarios}
    return CASES | traces


def files() -> set[str]:
    """The names of the golden files that there are."""
    return {p.relative_to(FOLDER).with_suffix("").as_posix() for p in FOLDER.rglob("*.txt")}


def printed(words: list[str]) -> str:
    """The command, what it prints (its refusal too) and its status, as a golden file has them."""
    out = io.StringIO()
    with chdir(PROJECT), redirect_stdout(out), redirect_stderr(out):
        status = main(words)
    return f"$ tellback {' '.join(words)}\n{out.getvalue()}status {status}\n"


def update() -> None:
    """Writes every golden file anew, and removes those of no case."""
    wanted = cases()
    for name in files() - set(wanted):
        (FOLDER / f"{name}.txt").unlink()
    (FOLDER / "scenarios").mkdir(exist_ok=True)
    for name, words in wanted.items():
        (FOLDER / f"{name}.txt").write_text(printed(words), encoding="utf-8")


if __name__ == "__main__":
    update()
