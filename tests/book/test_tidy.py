"""Tidying keeps every comment and the meaning, is done once, and writes all or nothing."""

import random
from collections import Counter
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from tellback.book import keys, tidy
from tellback.book.begin import TEMPLATE
from tellback.book.laid_out import WIDTH, Within, laid_out
from tellback.book.opening import BookErrors
from tellback.book.remarks import comments_in
from tests.small_books import write_book

CHAPTER = Within("chapter file")
S94 = Path(__file__).parents[2] / "books" / "s94"

ODD = """\
# first of all

chapter: 24
title:   Odd layout
units:
    a pump: {runs when: "a switch at ON",   source: 1,
             kind: pump}   # the pump
    b pump:
        fails: [stops,
                keeps running]
        runs when any of:
          first: {when: a switch at ON
                    and a switch at ON, source: p.1}
          second:
            when: >-
              a switch
              at ON
            why:
            -   computed: because
                source: p.2
            - {instructor's view: 'it is
                so'}
        note: |
          Two lines,

            set in.
controls:
  a switch:
    positions:
    - OFF
    - ON
    springs: {}
groups: {pumps: [a pump, b pump]}
"""

ONE_BY_ONE = [
    ("key order", "title: T\nchapter: 1\n", "chapter: 1\ntitle: T\n"),
    (
        "what names a thing first, what backs it last",
        "units:\n  p:\n    source: s\n    runs when: x\n    kind: pump\n",
        "units:\n  p:\n    kind: pump\n    runs when: x\n    source: s\n",
    ),
    ("names keep their order", "units:\n  b: {}\n  a: {}\n", "units:\n  b: {}\n  a: {}\n"),
    (
        "a comment above moves with its key",
        "title: T\n# of the chapter\nchapter: 1\n",
        "# of the chapter\nchapter: 1\ntitle: T\n",
    ),
    (
        "a comment beside moves with its key",
        "title: T  # t\nchapter: 1 # c\n",
        "chapter: 1  # c\ntitle: T  # t\n",
    ),
    (
        "the head of the file stays",
        "# head\n\ntitle: T\nchapter: 1\n",
        "# head\n\nchapter: 1\ntitle: T\n",
    ),
    (
        "the foot of the file stays",
        "title: T\nchapter: 1\n# foot\n",
        "chapter: 1\ntitle: T\n# foot\n",
    ),
    (
        "a comment at the end of a part stays in it",
        "units:\n  p: {}\n  # no more\ntitle: T\n",
        "title: T\nunits:\n  p: {}\n  # no more\n",
    ),
    (
        "braces with a comment within are opened",
        "units:\n  p: {kind: a, # why\n    note: b}\n",
        "units:\n  p:\n    kind: a  # why\n    note: b\n",
    ),
    ("serial numbers in braces", "x: {serials: 1-12, 15}\n", "x: {serials: 1-12, 15}\n"),
    ("one blank line at most", "title: T\n\n\n\nunits: {}\n", "title: T\n\nunits: {}\n"),
    ("lists are set in", "groups:\n  g:\n  - a\n  - b\n", "groups:\n  g:\n    - a\n    - b\n"),
    ("quotes stay", "title: 'a # b'\n", "title: 'a # b'\n"),
    ("nothing but a comment", "# only\n", "# only\n"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("before", "after"), [c[1:] for c in ONE_BY_ONE], ids=[c[0] for c in ONE_BY_ONE]
)
def test_one_by_one(before: str, after: str) -> None:
    assert laid_out(before, CHAPTER) == after


def test_long_lines_are_broken_where_that_changes_nothing() -> None:
    condition = " and ".join(f"switch number {n} at ON" for n in range(12))
    text = f"units:\n  p: {{runs when: {condition}, source: p.1}}\n"
    tidied = laid_out(text, CHAPTER)
    assert max(map(len, tidied.split("\n"))) <= WIDTH
    assert _plain(tidied) == _plain(text)


def _plain(text: str) -> object:
    """What a text says, mappings without their order."""
    return yaml.load(text, yaml.BaseLoader)


def _sound(text: str) -> object | None:
    try:
        return _plain(text)
    except yaml.YAMLError:
        return None


@st.composite
def remarked(draw: st.DrawFn) -> str:
    """A chapter with comments and blank lines at odd places, still saying the same."""
    base = draw(
        st.sampled_from([ODD, (TEMPLATE / "chapters/24-electrical-power.yaml").read_text()])
    )
    chance = random.Random(draw(st.integers(0, 2**32)))
    share = draw(st.sampled_from([0.05, 0.3, 0.7]))
    lines = []
    for number, line in enumerate(base.split("\n")):
        odd = [line]
        if chance.random() < share:
            odd.insert(0, " " * chance.randrange(9) + f"# above {number}")
        if chance.random() < share:
            odd.insert(chance.randrange(len(odd) + 1), "")
        if chance.random() < share and line:
            odd[odd.index(line)] = f"{line} # beside {number}"
        if chance.random() < share and ", " in line:
            inset = " " * chance.randrange(10, 14)
            cut = line.replace(", ", f",  # within {number}\n{inset}", 1)
            odd[odd.index(line) if line in odd else -1] = cut
        lines += odd
    return _kept_if_sound(base, lines)


def _kept_if_sound(base: str, lines: list[str]) -> str:
    text = "\n".join(lines)
    assume(_sound(text) == _plain(base))
    return text


@given(remarked())
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@example(ODD)
def test_comments_and_meaning_come_through(text: str) -> None:
    tidied = laid_out(text, CHAPTER)
    assert Counter(comments_in(tidied)) == Counter(comments_in(text))
    assert _plain(tidied) == _plain(text)
    assert laid_out(tidied, CHAPTER) == tidied


def test_the_drawn_comments_are_real() -> None:
    """Guards the property above: what is counted there as a comment is one, and nothing else."""
    text = "a: 1 # one\n# two\nb: 'no # comment'\nc: |\n  # no comment\n"
    assert comments_in(text) == ["# one", "# two"]


CHAPTER_TEXT = """\
title: Test
chapter: 24
controls:
  switch:
    source: p.1  # beside
    positions: [OFF, ON]
"""


def test_format_writes_what_it_said(tmp_path: Path) -> None:
    folder = write_book(tmp_path, CHAPTER_TEXT)
    files = tidy.tidied(folder)
    assert [f.name for f in files if f.changes] == ["chapters/24-test.yaml"]
    tidy.write(folder, files)
    assert (folder / "chapters/24-test.yaml").read_text() == files[1].after
    assert not any(file.changes for file in tidy.tidied(folder))
    assert sorted(p.name for p in (folder / "chapters").iterdir()) == ["24-test.yaml"]


ESCAPED = """\
situations:
  a: {note: "one\\ntwo"}
  b:
    source: "p\\n1"
    note: "a first line,
      a second\\nand a third"
  "c\\nd": {note: "one\\ttwo"}
"""


def test_escapes_in_quotes_stay_as_they_are(tmp_path: Path) -> None:
    """A new line written as an escape does not make a text of several lines."""
    folder = write_book(tmp_path, ESCAPED)
    tidy.write(folder, tidy.tidied(folder))
    text = (folder / "chapters/24-test.yaml").read_text()
    assert [part for part in ("one\\ntwo", "p\\n1", "c\\nd", "one\\ttwo") if part not in text] == []
    assert not any(file.changes for file in tidy.tidied(folder))


def test_a_file_changed_meanwhile_is_left_alone(tmp_path: Path) -> None:
    folder = write_book(tmp_path, CHAPTER_TEXT)
    files = tidy.tidied(folder)
    path = folder / "chapters/24-test.yaml"
    path.write_text(f"{CHAPTER_TEXT}# more\n")
    with pytest.raises(tidy.NotTidied, match=r"24-test.yaml was changed meanwhile"):
        tidy.write(folder, files)
    assert path.read_text().endswith("# more\n")


def test_a_book_with_errors_is_left_alone(tmp_path: Path) -> None:
    folder = write_book(tmp_path, "units:\n  p: {runs when: nothing at ON}\n")
    with pytest.raises(BookErrors):
        tidy.tidied(folder)


def test_a_change_of_meaning_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_book(tmp_path, CHAPTER_TEXT)
    monkeypatch.setattr(tidy, "laid_out", lambda text, _: text.replace("[OFF, ON]", "[ON, OFF]"))
    with pytest.raises(tidy.NotTidied, match="what the book says"):
        tidy.tidied(folder)


def test_a_lost_comment_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = write_book(tmp_path, CHAPTER_TEXT)
    monkeypatch.setattr(tidy, "laid_out", lambda text, _: text.replace("# beside", ""))
    with pytest.raises(tidy.NotTidied, match="lose a comment"):
        tidy.tidied(folder)


def test_the_template_is_tidy() -> None:
    assert not any(file.changes for file in tidy.tidied(TEMPLATE))


def test_the_example_keeps_its_meaning() -> None:
    """`tidied` compares all that the book says before and after, and raises if it differs."""
    for file in tidy.tidied(S94):
        assert _plain(file.after) == _plain(file.before)


def test_every_kind_that_a_key_leads_to_is_in_the_table() -> None:
    led_to = {key.of for table in keys.KEYS.values() for key in table if key.of}
    assert led_to - {"words", "settings", "sheet"} <= set(keys.KEYS)
