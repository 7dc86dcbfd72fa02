"""Which characters show as what they are, and a text without those that do not."""

from __future__ import annotations

import re

# What YAML allows, without what cannot be seen: soft hyphens, joiners, marks of direction.
_SEEN = (
    "\t\x20-\x7e\xa0-\xac\xae-\u200a\u2010-\u2027\u202f-\u205f\u206a-\ud7ff\ue000-\ufefe"
    "\uff00-\ufffd\U00010000-\U0010ffff"
)
UNSEEN = f"[^{_SEEN}]"
"""Matches a character that does not show, or would steer a terminal; so does a new line.

A text, which `re` compiles when first used: it takes long, and plain English needs none.
"""


def all_seen(line: str) -> bool:
    """Whether every character of a line shows."""
    return (line.isascii() and line.isprintable()) or re.search(UNSEEN, line) is None


def as_seen(text: str) -> str:
    """The text, of any number of lines, with a mark in place of each character that hides."""
    return "\n".join(
        line if all_seen(line) else re.sub(UNSEEN, "\ufffd", line) for line in text.split("\n")
    )
