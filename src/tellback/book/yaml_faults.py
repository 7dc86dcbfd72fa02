"""What the YAML parser complains of, in a pilot's words."""

from __future__ import annotations

import re
from typing import Any

import yaml

from tellback.book.sources import Source

_QUOTE = "Put the whole text in quotes."
_EACH = re.compile(r"for each:\s*\w+ in \[")
_COMMENT_CUT = re.compile(r"\s(#[^\s#]\S*)")

# part of the problem as libyaml words it, or after | as PyYAML does ->
# (message, mend, whether the place is where the part began)
_PLAIN_WORDS: tuple[tuple[str, str, str, bool], ...] = (
    (
        "mapping values are not allowed",
        "a colon that makes a key is not expected here",
        "Check the indentation of this line and the one before; a text with a colon and a space "
        "needs quotes.",
        False,
    ),
    (
        "cannot start any token",
        "a text may not begin with this character",
        _QUOTE,
        False,
    ),
    (
        "expected ',' or ']'",
        "the list in [ ] that begins here is not closed properly",
        "Close it with ], and put a comma between its items.",
        True,
    ),
    (
        "expected ',' or '}'",
        "what is in { } from here is not closed properly",
        "Close it with }, and put a comma between its parts.",
        True,
    ),
    (
        "unexpected end of stream",
        "the quotes opened here are never closed",
        "Close them.",
        True,
    ),
    (
        "unexpected document separator",
        "the quotes opened here are never closed",
        "Close them.",
        True,
    ),
    (
        "unknown escape character",
        "the backslash in double quotes means something else here",
        "Use single quotes, or write two backslashes.",
        False,
    ),
    (
        "expected '-' indicator",
        "the list ends here, but what follows does not fit beside it",
        "Begin each item with a dash in the same column, or correct the indentation.",
        False,
    ),
    (
        "did not find expected key|expected <block end>",
        "this does not fit here: a key and a colon were expected",
        "Check the indentation and the quotes of this line and the one before.",
        False,
    ),
    (
        "could not find expected ':'",
        "this line has no colon",
        "Write a key, a colon and a space before the value.",
        True,
    ),
    (
        "expected node content|expected the node content",
        "something is missing before this bracket, or the bracket is one too many",
        "Take it out, or open it first.",
        False,
    ),
    (
        "expected <document start>",
        "the file does not begin with a key",
        "Take out what stands before.",
        False,
    ),
    (
        "block sequence entries are not allowed|sequence entries are not allowed",
        "a list with dashes must begin on a line of its own",
        "Put the dash on the next line, indented.",
        False,
    ),
    (
        "comment or line break|comment or a line break",
        "text after > or | must begin on the next line",
        "Move it to the next line, indented; or put it in quotes.",
        False,
    ),
    ("tab character", "the line is indented with a tab", "Indent with spaces.", False),
    ("maximum nesting depth", "the file is nested too deeply", "Write it flatter.", False),
)


def describe(error: yaml.YAMLError, source: Source) -> tuple[int, int, str, str]:
    """Line and column (from 1), message and mend of a parser's error."""
    problem = str(getattr(error, "problem", "") or "")
    began: Any = getattr(error, "context_mark", None)
    noticed: Any = getattr(error, "problem_mark", None) or began
    for part, message, mend, where_it_began in _PLAIN_WORDS:
        if any(wording in problem for wording in part.split("|")):
            mark = began if where_it_began and began is not None else noticed
            line, column = _within(mark, source)
            if "'}'" in part and _EACH.search(source.line(line)):
                mend = 'Within { } put it in quotes: `for each: "n in [1, 2]"`.'
            return _cut_by_comment(source, line) or (line, column, message, mend)
    line, column = _within(noticed, source)
    return line, column, "the YAML cannot be read from here on", _QUOTE


def _within(mark: Any, source: Source) -> tuple[int, int]:
    """A mark as line and column; the parser may point one line beyond the end."""
    if mark is None:
        return 1, 1
    line = min(mark.line + 1, len(source.lines))
    beyond = mark.line + 1 > line
    return line, len(source.line(line)) + 1 if beyond else mark.column + 1


def _cut_by_comment(source: Source, line: int) -> tuple[int, int, str, str] | None:
    match = _COMMENT_CUT.search(source.line(line))
    if match is None:
        return None
    message = f"the text ends before `{match[1]}`, as # after a space begins a comment"
    mend = "Put the text in quotes; or leave a space after # if it is a comment."
    return line, match.start(1) + 1, message, mend
