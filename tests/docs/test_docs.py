"""What the documentation says is so: outputs, books, tables, links, and the picture."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tellback import CAUTION, __all__, __version__
from tellback.book.keys import KEYS
from tests.docs.pages import DRAWN, PAGES, PROJECT, NotTrue, drawings, fences, rewritten
from tests.docs.tables import TABLES

README = PROJECT / "README.md"
PICTURES = sorted((PROJECT / "docs" / "pictures").glob("*.svg"))

_LINK = re.compile(r"\]\(([^)\s]+)\)")
_HEADING = re.compile(r"^#+ (.+)$", re.M)
_FENCED = re.compile(r"^```.*?^```$", re.M | re.S)


def text_of(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def anchors(page: Path) -> set[str]:
    """The anchors of a page's headings, as readers of Markdown make them."""
    headings = _HEADING.findall(_FENCED.sub("", text_of(page)))
    return {re.sub(r"[^\w\- ]", "", h.casefold()).replace(" ", "-") for h in headings}


def links(page: Path) -> Iterator[str]:
    yield from _LINK.findall(_FENCED.sub("", text_of(page)))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_page_shows_what_the_program_prints(page: Path, tmp_path: Path) -> None:
    """If this fails after a wanted change, run `python -m tests.docs.update`."""
    shown = text_of(page)
    so = rewritten(shown, tmp_path)
    assert so == shown, "\n".join(
        difflib.unified_diff(shown.splitlines(), so.splitlines(), "shown", "so", lineterm="")
    )


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for link in links(page):
        if link.startswith("https://"):
            continue
        name, _, anchor = link.partition("#")
        target = (page.parent / name).resolve() if name else page
        assert target.exists(), link
        assert not anchor or anchor in anchors(target), link


def test_every_page_can_be_reached_from_the_readme() -> None:
    seen, work = set(), [README]
    while work:
        page = work.pop()
        if page in seen or page.suffix != ".md":
            continue
        seen.add(page)
        local = (link.partition("#")[0] for link in links(page) if "://" not in link)
        work += [(page.parent / name).resolve() for name in local if name]
    assert set(PAGES) <= seen


def test_readme_has_the_caution_as_the_program_has_it() -> None:
    assert CAUTION in " ".join(text_of(README).split())


def test_every_function_of_the_package_is_explained() -> None:
    page = text_of(PROJECT / "docs" / "questions.md")
    missing = [name for name in __all__ if name not in page]
    assert not missing


def test_every_kind_of_key_has_its_table_in_the_reference() -> None:
    page = text_of(PROJECT / "docs" / "language.md")
    assert [kind for kind in KEYS if f"<!-- generated keys of {kind} -->" not in page] == []
    assert set(TABLES) >= {f"keys of {kind}" for kind in KEYS}


def test_changes_of_this_version_are_told() -> None:
    changes = text_of(PROJECT / "CHANGELOG.md")
    assert "[Unreleased]" in changes or f"[{__version__}]" in changes


@pytest.mark.parametrize("picture", PICTURES, ids=lambda path: path.name)
def test_picture_quotes_the_readme(picture: Path) -> None:
    """What a picture quotes of a book or an answer stands so in the README."""
    said = " ".join(" ".join(fence.body.split()) for fence in fences(text_of(README)))
    texts = ElementTree.parse(picture).getroot().iter("{http://www.w3.org/2000/svg}text")
    quoted = ["".join(t.itertext()) for t in texts if t.get("class") in ("book", "answer")]
    assert quoted
    for text in quoted:
        assert " ".join(text.split()) in said


def test_drawings_are_those_that_the_program_makes() -> None:
    so = drawings()
    assert {path.name for path in DRAWN.iterdir()} == set(so)
    for name, drawn in so.items():
        assert text_of(DRAWN / name) == drawn


# -- the checks themselves --------------------------------------------------------------------

SMALL = """
<!-- file small/type.yaml -->
```yaml
type: Small
variants: {A: {serials: 1-2}}
```

<!-- file small/chapters/21.yaml -->
```yaml
chapter: 21
title: Air
controls:
  pack switch: {positions: [OFF, ON]}
```
"""


def test_an_output_that_is_not_so_is_put_right(tmp_path: Path) -> None:
    page = SMALL + "\n```console\n$ tellback can small 'pack switch at ON'\nnonsense\n```\n"
    so = rewritten(page, tmp_path)
    assert "nonsense" not in so
    assert "pack switch at ON: can be." in so


def test_what_python_prints_is_put_right(tmp_path: Path) -> None:
    page = "<!-- run -->\n```python\nprint(1 + 1)\n```\n\n```text\n3\n```\n"
    assert rewritten(page, tmp_path).endswith("```text\n2\n```\n")


def test_sections_replace_those_of_the_same_name(tmp_path: Path) -> None:
    mend = (
        "\n<!-- sections of small/chapters/21.yaml -->\n"
        "```yaml\ncontrols:\n  fan switch: {positions: [OFF, ON]}\n```\n"
    )
    rewritten(SMALL + mend, tmp_path)
    whole = (tmp_path / "small/chapters/21.yaml").read_text(encoding="utf-8")
    assert "fan switch" in whole
    assert "pack switch" not in whole
    assert whole.startswith("chapter: 21\n")


def test_a_book_with_an_unexpected_error_is_not_let_pass(tmp_path: Path) -> None:
    with pytest.raises(NotTrue):
        rewritten(SMALL.replace("[OFF, ON]", "[OFF]"), tmp_path)


def test_a_book_without_its_expected_error_is_not_let_pass(tmp_path: Path) -> None:
    with pytest.raises(NotTrue):
        rewritten(SMALL.replace("file small/ch", "faulty file small/ch"), tmp_path)
