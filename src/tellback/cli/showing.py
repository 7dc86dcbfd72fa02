"""How answers, diagnostics and refusals are laid out in a terminal, and as JSON."""

from __future__ import annotations

import json
import re
import shutil
import sys
import textwrap
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from typing import Any, TextIO, TypeVar

import typer

from tellback import CAUTION
from tellback.cli.waiting import SILENT, over
from tellback.refusals import Refusal

NARROWEST = 40

Part = TypeVar("Part")
_LEAD = re.compile(r"\s*(?:\d+\. )?")
AS_WRITTEN = re.compile(r" {4}")
"""A quoted line, and the marks under it."""


def show_answer(answer: object, as_json: bool) -> None:
    """Prints an answer, the caution under it."""
    over()
    if as_json:
        import tellback

        show_json(tellback.as_json(answer))
    else:
        typer.echo(fitted(str(answer), width_of(sys.stdout)))
        show_caution()


def followed(parts: Sequence[Part], work: str) -> Iterator[Part]:
    """The parts of some work, with a bar where somebody sees it once it takes long."""
    begun = time.monotonic()
    with ExitStack() as stack:
        bar = None
        for done, part in enumerate(parts):
            if bar is None and time.monotonic() - begun > SILENT:
                over()
                hidden = not sys.stderr.isatty()
                bar = stack.enter_context(
                    typer.progressbar(length=len(parts), label=work, file=sys.stderr, hidden=hidden)
                )
                bar.update(done)
            elif bar is not None:
                bar.update(1)
            yield part
        if bar is not None:
            bar.update(1)


def show_caution() -> None:
    """Prints the caution that stands under everything that is computed."""
    typer.secho(fitted(CAUTION, width_of(sys.stdout)), dim=True)


def show_json(data: Mapping[str, Any]) -> None:
    """Prints one JSON object, the caution in it."""
    typer.echo(json.dumps({**data, "caution": CAUTION}, ensure_ascii=False, indent=2))


def show_refusal(refusal: Refusal, as_json: bool) -> None:
    """Tells a refusal: as text on the error stream, as JSON where the answer would have been."""
    if as_json:
        typer.echo(json.dumps({"error": refusal.as_json()}, ensure_ascii=False, indent=2))
    else:
        typer.echo(fitted(str(refusal), width_of(sys.stderr), keep=AS_WRITTEN), err=True)


def width_of(stream: TextIO) -> int | None:
    """The width to fit texts into; None where the stream is not a terminal."""
    if not stream.isatty():
        return None
    return max(NARROWEST, shutil.get_terminal_size().columns)


def fitted(text: str, width: int | None, keep: re.Pattern[str] | None = None) -> str:
    """The text with lines broken at the width, what follows set in under where each begins.

    Lines that match `keep` are left as written: quoted lines of a book, with marks under them.
    """
    if width is None:
        return text
    return "\n".join(
        line if keep and keep.match(line) else _broken(line, width) for line in text.split("\n")
    )


def _broken(line: str, width: int) -> str:
    lead = _LEAD.match(line)
    assert lead is not None
    numbered = not lead[0].isspace() and lead[0] != ""
    inset = len(lead[0]) if numbered else len(lead[0]) + 4
    return textwrap.fill(
        line,
        width,
        subsequent_indent=" " * min(inset, width // 2),
        break_long_words=False,
        break_on_hyphens=False,
    )
