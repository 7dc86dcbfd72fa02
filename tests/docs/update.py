"""Brings what the pages show and draw up to date: `python -m tests.docs.update`.

Names of pages may follow, to bring only those up to date: `README.md`.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.docs.pages import DRAWN, PAGES, drawings, rewritten


def update(names: Sequence[str]) -> None:
    """Rewrites the pages of these names (all without any), and tells which changed."""
    for page in PAGES:
        if names and page.name not in names:
            continue
        before = page.read_text(encoding="utf-8")
        with tempfile.TemporaryDirectory() as folder:
            after = rewritten(before, Path(folder))
        if after != before:
            page.write_text(after, encoding="utf-8")
            print(f"{page.name} is now up to date")
        else:
            print(f"{page.name} was up to date")
    for name, drawn in drawings().items():
        (DRAWN / name).write_text(drawn, encoding="utf-8")


if __name__ == "__main__":
    update(sys.argv[1:])
