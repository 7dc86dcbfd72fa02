"""Reads a folder into a `Book`: all errors of all files in one go, nothing half-loaded.

Two passes: first every name that is declared, then every statement, so that the order of files
and of things within them does not matter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from tellback.book import yaml_nodes
from tellback.book.claims import read_claims
from tellback.book.context import Context, pairs_of
from tellback.book.entries import entries_of, names_from
from tellback.book.fields import Fields, read_fields
from tellback.book.keys import KEYS
from tellback.book.limits import read_limits
from tellback.book.model import Book, Chapter, Statement, Thing
from tellback.book.nodes import Node, Scalar
from tellback.book.procedures import read_procedures
from tellback.book.scenarios import read_scenarios
from tellback.book.sheets import read_sheets
from tellback.book.sources import Report
from tellback.book.things import read_thing
from tellback.book.type_file import read_designations, read_impossible, read_starts
from tellback.characters import all_seen, as_seen
from tellback.diagnostics import Diagnostic, Place

TYPE_FILE = "type.yaml"
CLAIMS_FILE = "claims.yaml"
CHAPTERS = "chapters"
PROCEDURES = "procedures"
NUMBERS = "numbers"
SCENARIOS = "scenarios"
_FOLDERS = (CHAPTERS, PROCEDURES, NUMBERS, SCENARIOS)
MOST_FILES = 300


class _Files(NamedTuple):
    """The trees of a book's files; None for one that could not be read."""

    type_file: Node | None
    chapters: tuple[Node, ...]
    procedures: tuple[Node, ...]
    numbers: tuple[Node, ...]
    scenarios: tuple[Node, ...]
    claims: Node | None


_Load = Callable[[str, int], Node | None]
"""The tree of the file of that name, of so many values at most; None with the fault reported."""


def read(folder: str | Path) -> tuple[Book | None, tuple[Diagnostic, ...]]:
    """The type book in a folder, and what is wrong in it or worth a look.

    The book is None if there is any error; findings may come with a book. Nothing is raised for
    what stands in the files or is missing from them.
    """
    report = Report()
    names = _file_names(Path(folder), report)
    if names is None:
        return None, report.all()

    def load(name: str, most_values: int) -> Node | None:
        return yaml_nodes.read_file(Path(folder) / name, name, report, most_values)

    return _read(str(folder), names, load, report)


def read_texts(folder: str, texts: Mapping[str, str]) -> tuple[Book | None, tuple[Diagnostic, ...]]:
    """The type book that would be in a folder if its files, by their names, had these texts."""
    report = Report()

    def load(name: str, most_values: int) -> Node | None:
        return yaml_nodes.parse(texts[name], name, report, most_values)

    return _read(folder, texts, load, report)


def _read(
    folder: str, names: Iterable[str], load: _Load, report: Report
) -> tuple[Book | None, tuple[Diagnostic, ...]]:
    book = _book(Context(report), folder, _loaded(names, load, report))
    return (None if report.has_errors else book), report.all()


def _loaded(names: Iterable[str], load: _Load, report: Report) -> _Files:
    trees: dict[str, Node] = {}
    values = 0
    for name in names:
        tree = load(name, yaml_nodes.MOST_VALUES - values)
        if tree is None:
            report.unread_files = True
        else:
            trees[name] = tree
        values += yaml_nodes.count(tree)
        if report.is_full:  # every further file would only be told to be too much
            break
    chapters, procedures, numbers, scenarios = (
        tuple(tree for name, tree in trees.items() if name.startswith(f"{folder_name}/"))
        for folder_name in _FOLDERS
    )
    return _Files(
        trees.get(TYPE_FILE), chapters, procedures, numbers, scenarios, trees.get(CLAIMS_FILE)
    )


def _file_names(folder: Path, report: Report) -> list[str] | None:
    """The files of the book within its folder, or None with the fault reported."""

    def refuse(name: str, message: str, mend: str) -> None:
        report.add(Diagnostic("error", "folder", Place(name, 1, 1), message, mend))

    try:
        if not folder.is_dir():
            mend = "Give the folder of a type book."
            if folder.is_file():
                parent = folder.parent if folder.name == TYPE_FILE else folder.parent.parent
                mend = f"Give the folder of the whole book, perhaps {parent}."
            is_file = "this is a file, not a folder"
            refuse(str(folder), is_file if folder.is_file() else "there is no such folder", mend)
            return None
        has_claims = CLAIMS_FILE in {path.name for path in folder.iterdir()}
        chapters = _yaml_files(folder, CHAPTERS)
        others = {within: _yaml_files(folder, within) for within in _FOLDERS[1:]}
    except (OSError, ValueError) as error:
        within = getattr(error, "filename", None) or folder
        why = (getattr(error, "strerror", None) or str(error)).casefold()
        refuse(str(within), f"the folder cannot be read: {why}", "Check its name and rights.")
        return None
    if not chapters or len(chapters) > MOST_FILES:
        refuse(
            CHAPTERS,
            "the book has no chapters" if not chapters else f"more than {MOST_FILES} chapters",
            "Put one file for each chapter into the folder `chapters`, such as `28-fuel.yaml`.",
        )
    for within, names in others.items():
        if len(names) > MOST_FILES:
            refuse(within, f"more than {MOST_FILES} files of {within}", "Put several into one.")
    named = [name for names in (chapters, *others.values()) for name in names[:MOST_FILES]]
    for name in named:
        if not all_seen(name):
            refuse(as_seen(name), "the name of this file has an unseen character", "Rename it.")
    claims = [CLAIMS_FILE] if has_claims else []
    return [TYPE_FILE, *named, *claims]


def _yaml_files(folder: Path, within: str) -> list[str]:
    """The YAML files of a folder within the book's; none if it is not there."""
    if not (folder / within).exists():
        return []
    return sorted(
        f"{within}/{path.name}"
        for path in (folder / within).iterdir()
        if path.suffix in {".yaml", ".yml"} and not path.name.startswith(".")
    )


def _book(context: Context, folder: str, files: _Files) -> Book | None:
    type_fields = _file_fields(context, files.type_file, "type file", TYPE_FILE)
    chapters = _all_fields(context, files.chapters, "chapter file")
    context.know_designations = type_fields is not None
    variants, options, bulletins = (
        read_designations(context, type_fields, key) if type_fields else ()
        for key in ("variants", "options", "service bulletins")
    )
    entries = [entry for chapter in chapters for entry in entries_of(context, chapter)]
    everywhere = [type_fields, *chapters] if type_fields else chapters
    groups = [pair for fields in everywhere for pair in pairs_of(fields.get("groups"))]
    context.names = names_from(context, entries, groups)
    things = tuple(read_thing(context, entry) for entry in entries)
    impossible = _impossible(context, everywhere)
    starts = read_starts(context, type_fields) if type_fields else ()
    claims = read_claims(context, files.claims, starts)
    lists = _all_fields(context, files.procedures, "procedure file")
    procedures = read_procedures(context, lists, starts)
    limits = read_limits(context, _all_fields(context, files.numbers, "numbers file"))
    files_of_scenarios = _all_fields(context, files.scenarios, "scenario file")
    scenarios = read_scenarios(context, files_of_scenarios, starts, procedures)
    return Book(
        folder=folder,
        type_name=type_fields.text("type") if type_fields else "",
        manual=type_fields.text("manual") if type_fields else "",
        revision=type_fields.text("revision") if type_fields else "",
        variants=variants,
        options=options,
        bulletins=bulletins,
        chapters=tuple(_chapter(context, fields, things) for fields in chapters),
        things=things,
        groups=context.names.groups,
        starts=starts,
        impossible=tuple(impossible),
        claims=claims,
        procedures=procedures,
        limits=limits,
        scenarios=scenarios,
    )


def _all_fields(context: Context, nodes: tuple[Node, ...], kind: str) -> list[Fields]:
    """The fields of all files of a kind that have any."""
    found = (_file_fields(context, node, kind, node.place.file) for node in nodes)
    return [fields for fields in found if fields]


def _file_fields(context: Context, node: Node | None, kind: str, shown: str) -> Fields | None:
    if node is None:
        return None
    if isinstance(node, Scalar) and not node.text.strip():
        needed = [f"`{key.name}`" for key in KEYS[kind] if key.needed]
        mend = f"Write {' and '.join(needed)} in it, and what else it is to state."
        context.error(node, "empty", f"the file {shown} is empty", mend)
        context.report.unread_files = True
        return None
    return read_fields(context, node, kind, f"the {kind}")


def _chapter(context: Context, fields: Fields, things: tuple[Thing, ...]) -> Chapter:
    place = fields.node.place
    names = {thing.name for thing in things if thing.place.file == place.file}
    number = fields.scalar("chapter")
    if number is not None and number.text.strip() and not number.text.strip().isdecimal():
        message = f"`{number.text}` is not the number of a chapter"
        context.error(number, "number", message, "Write it in digits, as `28`.")
    sheets, not_drawn = read_sheets(context, fields, names)
    return Chapter(
        fields.text("chapter"),
        fields.text("title"),
        fields.text("source"),
        place,
        sheets,
        not_drawn,
    )


def _impossible(context: Context, everywhere: list[Fields]) -> list[Statement]:
    found: list[Statement] = []
    for fields in everywhere:
        context.source_prefix = fields.text("source")
        found += read_impossible(context, fields.get("impossible"))
    return found
