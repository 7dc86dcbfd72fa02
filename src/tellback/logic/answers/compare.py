"""Compare: what differs between two aeroplanes, or two revisions of a book."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from tellback.book.effectivity import for_aeroplane
from tellback.book.model import Book
from tellback.logic.answers.compare_text import lines_of
from tellback.logic.differences.effects import flight_characteristics, level_of_row, procedures
from tellback.logic.differences.judging import DIFFERS, UNDECIDED
from tellback.logic.differences.levels import RULE
from tellback.logic.differences.limits import limit_differences
from tellback.logic.differences.procedures import procedure_differences
from tellback.logic.differences.rows import Row, table_of
from tellback.logic.differences.scenarios import scenario_differences
from tellback.logic.differences.shared import merged
from tellback.logic.differences.sides import Sides
from tellback.logic.differences.stated import SOURCE, Found, differences_of
from tellback.logic.differences.wholes import whole_differences
from tellback.logic.progress import Follow, straight
from tellback.refusals import Refusal


class NothingToCompare(Refusal, ValueError):
    """One aeroplane of one book: there is no second one to compare it with."""


STATED = "stated"
"""What is declared, not worked out: a thing added, a source, a range."""


@dataclass(frozen=True, slots=True)
class Case:
    """The smallest state in which the two differ: a starting state, and what is otherwise.

    `after` is what is done from the start to come to it, if that is not plain. `only` is the
    aeroplane that alone can be in it; empty if both can. `smallest` is False if
    a nearer state may show it too.
    """

    start: str
    departures: tuple[str, ...]
    after: tuple[str, ...]
    a_does: str
    b_does: str
    only: str = ""
    smallest: bool = True


@dataclass(frozen=True, slots=True)
class Restated:
    """One thing that is stated otherwise.

    `what` is what changed (a key of the book, or added, removed, renamed, statement, limit, order,
    meaning, step, source, why), `key` the key it stands under. `verdict` is `stated` where there
    is nothing to work out, `wording only` where both are proved equal, `differs` with a `case`, or
    says that the case is not known to be possible, or that no state that both can be in shows a
    difference. `fitted_a` and `fitted_b` are to what it applies, if that goes by more than the
    variant: a service bulletin, say.
    """

    item: str
    kind: str
    what: str
    key: str
    before: str
    after: str
    verdict: str
    case: Case | None
    source_a: str
    source_b: str
    fitted_a: str = ""
    fitted_b: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """One row of the table: the items that differ alike, how, and what goes with it.

    `changes` are those of the item itself, `with_it` those of others that are there because of
    it. The level proposed goes for training, checking and currency; the operator decides.
    """

    item: str
    items: tuple[str, ...]
    kind: str
    changes: tuple[Restated, ...]
    with_it: tuple[Restated, ...]
    flight_characteristics: str
    procedures: str
    training: str
    checking: str
    currency: str


@dataclass(frozen=True, slots=True)
class Parting:
    """The first moment at which a scenario runs otherwise on the two, and what is so on one alone.

    `seconds` is None where they differ from the beginning; `when` says it, with the last step made
    by then.
    """

    seconds: float | None
    when: str
    a_does: str
    b_does: str


@dataclass(frozen=True, slots=True)
class ScenarioDifference:
    """A scenario that one alone has, that is written otherwise, or that runs otherwise.

    `changes` is what is written otherwise; `parting` is None if both run alike, or one has it not.
    """

    scenario: str
    source: str
    changes: tuple[Restated, ...]
    parting: Parting | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """All differences between two aeroplanes, `a` the earlier or the base, with the rule used.

    `same_book` if they are two aeroplanes of one book, not of two revisions. `restated` is what is
    told otherwise and makes no difference, `sources` that of which only the source has changed. Of
    the scenarios that both have, `alike` do not differ.
    """

    a: str
    b: str
    differences: tuple[Difference, ...]
    restated: tuple[Restated, ...]
    sources: tuple[Restated, ...]
    scenarios: tuple[ScenarioDifference, ...] = ()
    alike: int = 0
    same_book: bool = False
    rule: str = RULE

    def __str__(self) -> str:
        return "\n".join(lines_of(self))

    @property
    def headline(self) -> str:
        """The two, and how many differences they have."""
        count = len(self.differences)
        return f"{self.a} and {self.b}: {count or 'no'} difference{'s' * (count != 1)}"

    @property
    def changes(self) -> Iterator[Restated]:
        """Everything that is stated otherwise of the aeroplane, in rows or not."""
        for difference in self.differences:
            yield from (*difference.changes, *difference.with_it)
        yield from (*self.restated, *self.sources)


Partings = Callable[[Sides, Follow], Mapping[str, Parting]]
"""Where the runs of scenarios part, by the names of those that do."""


def compare(
    book_a: Book,
    book_b: Book | None = None,
    *,
    aeroplane_a: str = "",
    aeroplane_b: str = "",
    follow: Follow = straight,
    partings: Partings = lambda sides, follow: {},
) -> Comparison:
    """What differs between two aeroplanes of a book, or an aeroplane in two revisions of it.

    With two books and one aeroplane named, that one is compared in both. `follow` goes through
    the parts of the work, and may show how far it is; `partings` runs the scenarios. Raises
    UnknownAeroplane, and NothingToCompare if the two are one.
    """
    if book_b is not None:
        aeroplane_b = aeroplane_b or aeroplane_a
    one, other = for_aeroplane(book_a, aeroplane_a), for_aeroplane(book_b or book_a, aeroplane_b)
    if book_b is None and one.aeroplane == other.aeroplane:
        raise NothingToCompare(
            f"that would compare {one.aeroplane} with itself",
            "Name another aeroplane of the book, or another revision of it.",
        )
    sides = Sides(one, other, same_book=book_b is None)
    labels = _labels(one, other, sides.same_book)
    found = [
        *differences_of(sides, follow),
        *whole_differences(sides),
        *procedure_differences(sides),
        *limit_differences(sides),
    ]
    table = table_of(sides, found)
    written = list(scenario_differences(sides))
    of_source = [one for one in written if one.what == SOURCE]
    scenarios = _scenarios(sides, written, partings(sides, follow), labels)
    both = {s.name for s in sides.book_a.scenarios} & {s.name for s in sides.book_b.scenarios}
    return Comparison(
        *labels,
        tuple(_difference(sides, row, labels) for row in table.rows),
        tuple(_change(one, labels) for one in table.restated),
        tuple(_change(one, labels) for one in (*table.sources, *of_source)),
        scenarios,
        len(both - {difference.scenario for difference in scenarios}),
        sides.same_book,
    )


def _scenarios(
    sides: Sides, written: Iterable[Found], partings: Mapping[str, Parting], labels: tuple[str, str]
) -> tuple[ScenarioDifference, ...]:
    """Every scenario of which something but its source differs, in the order of the books."""
    changes: dict[str, list[Restated]] = {}
    for one in written:
        if one.what != SOURCE:
            changes.setdefault(one.item, []).append(_change(one, labels))
    every = {s.name: s for book in (sides.book_a, sides.book_b) for s in book.scenarios}
    return tuple(
        ScenarioDifference(
            name, every[name].source, tuple(changes.get(name, ())), partings.get(name)
        )
        for name in merged(*([s.name for s in b.scenarios] for b in (sides.book_a, sides.book_b)))
        if name in changes or name in partings
    )


def _labels(one: Book, other: Book, same_book: bool) -> tuple[str, str]:
    if same_book:
        return one.aeroplane, other.aeroplane
    a, b = (f"{book.aeroplane} rev {book.revision}" for book in (one, other))
    return (a, b) if a != b else (f"{a} in {one.folder}", f"{b} in {other.folder}")


def _difference(sides: Sides, row: Row, labels: tuple[str, str]) -> Difference:
    level = level_of_row(row)
    return Difference(
        row.name,
        row.items,
        row.kind,
        tuple(_change(found, labels) for found in row.own),
        tuple(_change(found, labels) for found in row.with_it),
        flight_characteristics(sides, row),
        procedures(sides, row),
        level,
        level,
        level,
    )


def _change(found: Found, labels: tuple[str, str]) -> Restated:
    judgement = found.judgement
    case = None
    if judgement is not None and judgement.verdict in (DIFFERS, UNDECIDED):
        case = Case(
            judgement.start,
            judgement.departures,
            judgement.after,
            judgement.a_does,
            judgement.b_does,
            "" if judgement.only is None else labels[judgement.only],
            judgement.smallest,
        )
    return Restated(
        found.item,
        found.kind,
        found.what,
        found.key,
        found.before,
        found.after,
        judgement.verdict if judgement else STATED,
        case,
        found.source_a,
        found.source_b,
        found.fitted_a,
        found.fitted_b,
    )
