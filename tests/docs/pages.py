"""The pages of documentation, and what is made of them: outputs run anew, tables made anew.

`rewritten` gives a page as it should be. What it understands, besides plain Markdown:

* ``<!-- file NAME -->`` before a fenced block: the block is that file of a book. A block that
  holds whole sections of a file already there (``<!-- sections of NAME -->``) replaces those
  sections, or adds them.  ``<!-- faulty file NAME -->`` and ``<!-- faulty sections of NAME -->``
  say that the book must then have an error.
* a ``console`` block: each line that begins with ``$ tellback`` is run in the folder of those
  books, and what it prints stands under it.
* ``<!-- run -->`` before a ``python`` block: it is run there, and the ``text`` block that follows
  is what it prints.
* ``<!-- generated NAME -->`` ... ``<!-- end generated -->``: made by `TABLES[NAME]`.
"""

from __future__ import annotations

import io
import re
import shlex
from collections.abc import Iterator
from contextlib import chdir, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import tellback as tb
from tellback import CAUTION
from tellback.book.reader import read
from tellback.cli.main import main
from tellback.cli.reading import read_kept
from tests.docs.tables import TABLES

PROJECT = Path(__file__).parents[2]
DRAWN = PROJECT / "docs" / "drawn"
PAGES = (PROJECT / "README.md", *sorted((PROJECT / "docs").glob("*.md")))

_FENCE = re.compile(
    r"^(?P<mark><!-- .+? -->\n+)?```(?P<language>\w*)\n(?P<body>.*?)^```$", re.M | re.S
)
_FILE = re.compile(r"<!-- (?P<faulty>faulty )?(?P<what>file|sections of) (?P<name>\S+) -->")
_GENERATED = re.compile(r"(<!-- generated (.+?) -->\n).*?(<!-- end generated -->)", re.S)
_SECTION = re.compile(r"^(?=[^\s#-].*?:)", re.M)


def drawings() -> dict[str, str]:
    """The drawings in the folder `drawn`, made anew."""
    book = tb.read(PROJECT / "books" / "s94")
    return {"hydraulics.svg": tb.schematic(book, "29", start="approach").sheets[0]}


class NotTrue(AssertionError):
    """A page says something that is not so."""


@dataclass(frozen=True, slots=True)
class Fence:
    """A fenced block: the comment before it, its language and its text."""

    mark: str
    language: str
    body: str


def fences(page: str) -> Iterator[Fence]:
    """The fenced blocks of a page in order."""
    for found in _FENCE.finditer(page):
        yield _fence(found)


def _fence(found: re.Match[str]) -> Fence:
    return Fence((found["mark"] or "").strip(), found["language"], found["body"])


def rewritten(page: str, folder: Path) -> str:
    """The page with all outputs and tables made anew, in an empty folder for its books.

    Raises NotTrue where a book of the page does not read as the page says.
    """
    (folder / "books").symlink_to(PROJECT / "books")
    page = _GENERATED.sub(lambda m: m[1] + TABLES[m[2]]() + m[3], page)
    printed: list[str] = []

    def anew(found: re.Match[str]) -> str:
        fence = _fence(found)
        body = fence.body
        if _FILE.match(fence.mark):
            _write(fence, folder)
        elif fence.language == "console":
            body = _console(body)
        elif fence.mark == "<!-- run -->":
            printed.append(_python(body))
        elif fence.language == "text" and printed:
            body = printed.pop()
        start, end = found.span("body")
        whole = found[0]
        return whole[: start - found.start()] + body + whole[end - found.start() :]

    with chdir(folder):
        return _FENCE.sub(anew, page)


# -- books ------------------------------------------------------------------------------------


def _write(fence: Fence, folder: Path) -> None:
    told = _FILE.match(fence.mark)
    assert told is not None
    path = folder / told["name"]
    path.parent.mkdir(parents=True, exist_ok=True)
    whole = fence.body
    if told["what"] == "sections of":
        whole = _with_sections(path.read_text(encoding="utf-8"), fence.body)
    path.write_text(whole, encoding="utf-8")
    read_kept.cache_clear()  # the command keeps a book for the next question
    _check_reads(Path(told["name"].split("/")[0]), bool(told["faulty"]))


def _with_sections(whole: str, new: str) -> str:
    """The file with its top sections replaced by the new ones of the same name, or added to."""
    sections = {s.split(":")[0]: s for s in _SECTION.split(whole) if s}
    for section in _SECTION.split(new):
        if section:
            sections[section.split(":")[0]] = section.rstrip("\n") + "\n"
    return "".join(sections.values())


def _check_reads(book: Path, faulty: bool) -> None:
    if not (book / "type.yaml").exists() or not (book / "chapters").exists():
        return
    whole, found = read(book)
    if faulty != (whole is None):
        raise NotTrue(f"{book}: {[str(diagnostic) for diagnostic in found]}")


# -- outputs ----------------------------------------------------------------------------------


def _console(body: str) -> str:
    commands = [line for line in body.splitlines() if line.startswith("$ ")]
    if not all(line.startswith("$ tellback") for line in commands):
        return body
    return "\n".join(f"{line}\n{_tellback(line)}" for line in commands)


def _tellback(line: str) -> str:
    """What a command prints, its errors among it as in a terminal."""
    with _gathered() as printed:
        main(shlex.split(line)[2:])
    return _tidy(printed.getvalue())


def _python(body: str) -> str:
    with _gathered() as printed:
        exec(compile(body, "page", "exec"), {"__name__": "page"})  # our own pages
    return _tidy(printed.getvalue())


@contextmanager
def _gathered() -> Iterator[io.StringIO]:
    printed = io.StringIO()
    with redirect_stdout(printed), redirect_stderr(printed):
        yield printed


def _tidy(printed: str) -> str:
    """What was printed, without spaces at the ends of lines and without the caution."""
    lines = [line.rstrip() for line in printed.splitlines() if line != CAUTION]
    text = "\n".join(lines).rstrip()
    return f"{text}\n" if text else ""
