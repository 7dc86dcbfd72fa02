"""How answers, diagnostics and refusals are laid out in a terminal, and as JSON."""

from __future__ import annotations

import json
import os
import re
import shutil
import sys
import textwrap
from collections.abc import Mapping
from typing import Any, TextIO

import typer

from tellback import CAUTION
from tellback.characters import UNSEEN, as_seen
from tellback.cli.waiting import is_terminal, over
from tellback.refusals import Refusal

NARROWEST = 40

_LEAD = re.compile(r"\s*(?:\d+\. )?")
AS_WRITTEN = re.compile(r" {4}")
"""A quoted line, and the marks under it."""


def show_answer(answer: object, as_json: bool) -> None:
    """Prints an answer, the caution under it."""
    if as_json:
        import tellback

        show_json(tellback.as_json(answer))
    else:
        tell(fitted(str(answer), width_of(sys.stdout)))
        show_caution()


def tell(text: str, err: bool = False, bold: bool = False, dim: bool = False) -> None:
    """Prints lines, with a mark for each character that would steer the terminal or hide."""
    over()
    stream = sys.stderr if err else sys.stdout
    text = as_seen(text)
    if (bold or dim) and is_terminal(stream) and not os.environ.get("NO_COLOR"):
        text = typer.style(text, bold=bold or None, dim=dim or None)
    typer.echo(text, err=err)


def show_caution() -> None:
    """Prints the caution that stands under everything that is computed."""
    tell(fitted(CAUTION, width_of(sys.stdout)), dim=True)


def show_json(data: Mapping[str, Any]) -> None:
    """Prints one JSON object, the caution in it."""
    tell_json({**data, "caution": CAUTION})


def tell_json(data: object) -> None:
    """Prints JSON; what would hide, or cannot be written here, is escaped as JSON has it."""
    ascii_alone = (sys.stdout.encoding or "utf-8").casefold().replace("-", "") != "utf8"
    text = json.dumps(data, ensure_ascii=ascii_alone, indent=2)
    tell(re.sub(UNSEEN, lambda hidden: _in_json(hidden[0]), text))


def _in_json(letter: str) -> str:
    return letter if letter == "\n" else f"\\u{ord(letter):04x}"


def show_refusal(refusal: Refusal, as_json: bool) -> None:
    """Tells a refusal: as text on the error stream, as JSON where the answer would have been."""
    if as_json:
        tell_json({"error": refusal.as_json()})
    else:
        tell(fitted(str(refusal), width_of(sys.stderr), keep=AS_WRITTEN), err=True)


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
