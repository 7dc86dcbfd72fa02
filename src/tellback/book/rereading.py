"""What a revision of the manual makes one read again: all that cites a changed passage.

The list of changed passages and what has been read again is kept in a file beside the book.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Iterator
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

from tellback.book.conditions import things
from tellback.book.english import claim_text
from tellback.book.limits import bound_text
from tellback.book.model import Book, Statement, Thing, Why
from tellback.book.names import fold
from tellback.book.procedures import statements_in
from tellback.book.scenarios import statements_in_scenario
from tellback.book.stated import statements_of
from tellback.characters import all_seen
from tellback.diagnostics import Place
from tellback.files import read_file, replace_file
from tellback.refusals import Refusal

KEPT_FILE = "rereading.json"
MOST_PAGES = 1000
MOST_BYTES = 10_000_000
MOST_LETTERS = 100

TO_DO, WRITTEN, NOT_NEEDED = "to do", "written", "not needed"


class BadTick(Refusal):
    """A passage or thing that is not on the list, or a list that cannot be read."""


@dataclass(frozen=True, slots=True)
class Citing:
    """Something of the book that cites a passage: what it belongs to, its text, and where."""

    what: str
    text: str
    source: str
    place: Place


@dataclass(frozen=True, slots=True)
class Tick:
    """Who read something again, or found that a passage needs nothing, and on which day."""

    by: str
    on: str


@dataclass(frozen=True, slots=True)
class Passage:
    """A passage changed in a revision: a chapter (`24`), section (`24-20`) or page (`24-20 p.2`).

    `read` holds a tick for each thing read again, by `what`; `dismissed` that nothing needs to be.
    What was read again after one revision is to be read again after the next.
    """

    name: str
    read: dict[str, Tick]
    dismissed: Tick | None = None
    revision: str = ""


@dataclass(frozen=True, slots=True)
class Rereading:
    """The changed passages with all that cites them, and what has been read again so far.

    `formerly` is what something was called before, if the book says `was`; `families` what is
    written once for several (`<side> pump`), by the name of each of them. `states` tells of each
    passage, in their order, whether it is written, not needed or to do.
    """

    passages: tuple[Passage, ...]
    citing: dict[str, tuple[Citing, ...]]
    formerly: dict[str, str]
    families: dict[str, str] = field(default_factory=dict)
    states: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "states", tuple(map(self.state, self.passages)))

    def tick(self, passage: Passage, what: str) -> Tick | None:
        """Who read it again, under its name or its former one."""
        return passage.read.get(what) or passage.read.get(self.formerly.get(what, ""))

    def state(self, passage: Passage) -> str:
        """Written (all that cites it was read again), not needed, or to do."""
        if passage.dismissed is not None:
            return NOT_NEEDED
        ticks = [self.tick(passage, citing.what) for citing in self.citing[passage.name]]
        return WRITTEN if ticks and all(ticks) else TO_DO

    def __str__(self) -> str:
        return "\n".join(_text(self))


def rereading(book: Book, passages: Iterable[Passage]) -> Rereading:
    """All that cites each of the passages, and what is taught and done that speaks of it."""
    passages = tuple(passages)
    cited = list(_all_citing(book))
    speaking = list(_all_speaking(book))
    found = {}
    for passage in passages:
        citing = [c for c in cited if _cites(c.source, passage.name)]
        found[passage.name] = (*citing, *_of_those_that_speak(speaking, citing))
    families = {thing.name: thing.family for thing in book.things if thing.family}
    return Rereading(passages, found, dict(_former_names(book)), families)


def _former_names(book: Book) -> Iterator[tuple[str, str]]:
    """What is called otherwise than before, and how it was called."""
    yield from ((thing.name, thing.was) for thing in book.things if thing.was and not thing.family)
    for procedure in book.procedures:
        if procedure.was:
            yield f"procedure: {procedure.name}", f"procedure: {procedure.was}"


_PAGES = re.compile(r"p\. ?(\d+(?:(?: ?[-\u2013,] ?| and | to )(?:p\. ?)?\d+(?![\w-]))*)")
_SPAN = re.compile(r"(\d+) ?(?:-|\u2013|to) ?(?:p\. ?)?(\d+)")


def _cites(source: str, passage: str) -> bool:
    """Whether a source names the passage; `p.2-4` names page 3, and page 24 is no chapter 24."""
    wanted = re.compile(rf"(?<![\w.-])(?<!rev ){re.escape(_plain(passage))}(?!\w)")
    return any(wanted.search(one) for one in _page_by_page(_plain(source)))


def _plain(text: str) -> str:
    return re.sub(r"\bp\. ?(?=\d)", "p.", fold(text))


def _page_by_page(source: str) -> Iterator[str]:
    """The source with each of the pages it names in turn."""
    match = _PAGES.search(source)
    if match is None:
        yield source
        return
    pages = [int(page) for page in re.findall(r"\d+", match[1])]
    for low, high in _SPAN.findall(match[1]):
        pages += range(int(low), min(int(high), int(low) + MOST_PAGES))
    for page in dict.fromkeys(pages):
        yield f"{source[: match.start()]}p.{page}{source[match.end() :]}"


def _all_citing(book: Book) -> Iterator[Citing]:
    """Everything with a source, once for all members of a `for each`."""
    seen: set[tuple[Place, str]] = set()
    for kind, citing in (*_of_things(book.things), *_of_statements("impossible", book.impossible)):
        if (citing.place, kind) not in seen:
            seen.add((citing.place, kind))
            yield citing
    for limit in book.limits:
        what = f"limit: {limit.name}"
        yield Citing(what, bound_text(limit), limit.source, limit.place)
        yield from (citing for _, citing in _of_whys(what, limit.whys, limit.place))
    for claim in book.claims:
        what = f"claim: {claim_text(claim)}"
        yield Citing(what, "", claim.source, claim.place)
        yield from (citing for _, citing in _of_whys(what, claim.whys, claim.place))
    for procedure in book.procedures:
        what = f"procedure: {procedure.name}"
        yield Citing(what, "", procedure.source, procedure.place)
        yield from (citing for _, citing in _of_whys(what, procedure.whys, procedure.place))
        for statement in statements_in(procedure):
            if statement.source != procedure.source:
                yield Citing(what, _stated(statement), statement.source, statement.place)
            yield from (citing for _, citing in _of_whys(what, statement.whys, statement.place))
    for scenario in book.scenarios:
        what = f"scenario: {scenario.name}"
        yield Citing(what, "", scenario.source, scenario.place)
        yield from (citing for _, citing in _of_whys(what, scenario.whys, scenario.place))


def _all_speaking(book: Book) -> Iterator[tuple[Citing, frozenset[str]]]:
    """Claims, procedures and scenarios with what each speaks of: families, and procedures."""
    family = {thing.name: thing.family or thing.name for thing in book.things}
    for claim in book.claims:
        spoken = {n for c in (claim.condition, *claim.given) for n in things(c)}
        citing = Citing(f"claim: {claim_text(claim)}", "", claim.source, claim.place)
        yield citing, frozenset(family.get(name, name) for name in spoken)
    for procedure in book.procedures:
        spoken = {n for s in statements_in(procedure) for n in things(s.condition)}
        citing = Citing(f"procedure: {procedure.name}", "", procedure.source, procedure.place)
        yield citing, frozenset(family.get(name, name) for name in spoken)
    for scenario in book.scenarios:
        spoken = {n for s in statements_in_scenario(scenario) for n in things(s.condition)}
        spoken |= {setting.thing for h in scenario.happenings for setting in h.settings}
        spoken |= {thing for thing, _ in scenario.changes}
        spoken |= {f"procedure: {h.procedure}" for h in scenario.happenings if h.procedure}
        citing = Citing(f"scenario: {scenario.name}", "", scenario.source, scenario.place)
        yield citing, frozenset(family.get(name, name) for name in spoken)


def _of_those_that_speak(
    speaking: Iterable[tuple[Citing, frozenset[str]]], citing: Iterable[Citing]
) -> Iterator[Citing]:
    """The claims, procedures and scenarios that speak of what cites a passage, not citing it."""
    touched = {each.what for each in citing}
    cited = set(touched)
    for one, spoken in speaking:
        of = sorted(spoken & touched)
        if of and one.what not in cited:
            more = f" and {len(of) - 2} more" if len(of) > 2 else ""
            yield replace(one, text=f"speaks of {', '.join(of[:2])}{more}")
            touched.add(one.what)


def _of_things(every: Iterable[Thing]) -> Iterator[tuple[str, Citing]]:
    for thing in every:
        name = thing.family or thing.name
        yield "thing", Citing(name, "", thing.source, thing.place)
        yield from _of_whys(name, thing.whys, thing.place)
        yield from _of_statements(name, statements_of(thing))


def _of_statements(owner: str, statements: Iterable[Statement]) -> Iterator[tuple[str, Citing]]:
    told: list[Statement] = []
    for statement in statements:
        if not any(_is_within(statement, other) for other in told):
            yield "statement", Citing(owner, _stated(statement), statement.source, statement.place)
        told.append(statement)
        yield from _of_whys(owner, statement.whys, statement.place)


def _stated(statement: Statement) -> str:
    """A statement with the key it stands under: `runs when, flaps out: air mode and ...`."""
    key = statement.key.removesuffix(" any of").removesuffix(" all of")
    of = ", ".join(filter(None, [key, statement.name]))
    text = " ".join(statement.text.split()).removesuffix(" when always")
    return f"{of}: {text}" if of else text


def _is_within(statement: Statement, other: Statement) -> bool:
    """Whether it is told with another, as the condition of a feed or drive is."""
    inner = statement.key in ("fed by", "drives", "through") and statement.text in other.text
    return inner and statement.source == other.source


def _of_whys(owner: str, whys: Iterable[Why], place: Place) -> Iterator[tuple[str, Citing]]:
    for why in whys:
        yield why.text, Citing(owner, f"{why.kind}: {why.text}", why.source, place)


# -- ticking off ----------------------------------------------------------------------------------


def with_passages(
    passages: Iterable[Passage], names: Collection[str], revision: str = ""
) -> tuple[Passage, ...]:
    """The passages and those of these names that were not among them for this revision.

    Raises BadTick for what is no name.
    """
    for name in names:
        check_name(name, "a changed passage", "Write such as `24-20 p.2`.")
    passages = tuple(passages)
    known = {(passage.name, passage.revision) for passage in passages}
    new = (name for name in dict.fromkeys(names) if (name, revision) not in known)
    return (*passages, *(Passage(name, {}, revision=revision) for name in new))


def check_name(name: str, of: str, mend: str) -> None:
    """Raises BadTick if a name cannot be put on the list: an empty, hidden or endless one."""
    if not name.strip():
        raise BadTick(f"{of} has no name", mend)
    if not all_seen(name) or len(name) > MOST_LETTERS:
        raise BadTick(f"{of} has a name that is too long, or has unseen characters", mend)


def ticked(found: Rereading, what: str, tick: Tick) -> tuple[Passage, ...]:
    """The passages after a thing was read again; BadTick if nothing of that name is on the list."""
    known = dict.fromkeys(c.what for several in found.citing.values() for c in several)
    what = next((now for now in known if found.formerly.get(now) == what), what)
    what = found.families.get(what, what)
    if what not in known:
        mend = f"There is: {', '.join(f'`{name}`' for name in known) or 'nothing on the list'}."
        raise BadTick(f"nothing called `{what}` is to be read again", mend)
    return tuple(
        replace(passage, read=passage.read | {what: tick})
        if what not in passage.read
        and any(citing.what == what for citing in found.citing[passage.name])
        else passage
        for passage in found.passages
    )


def dismissed(found: Rereading, name: str, tick: Tick) -> tuple[Passage, ...]:
    """The passages after one was found to need nothing; BadTick if it is not on the list."""
    if name not in found.citing:
        raise BadTick(f"`{name}` is not among the changed passages", "Add it with --changed.")
    last = [passage for passage in found.passages if passage.name == name][-1]
    return tuple(replace(p, dismissed=tick) if p is last else p for p in found.passages)


def kept(folder: Path) -> tuple[Passage, ...]:
    """The passages kept beside a book; none if there is no such file, BadTick if it is spoilt."""
    path = folder / KEPT_FILE
    try:
        data = json.loads(read_file(path, MOST_BYTES))
        if not isinstance(data, list):
            raise ValueError("it does not hold a list")
        return tuple(map(_passage, data))
    except FileNotFoundError:
        return ()
    except RecursionError:
        why = "it is nested too deeply"
    except OSError as fault:
        why = fault.strerror or str(fault)
    except ValueError as fault:
        why = str(fault)
    raise BadTick(f"{path} cannot be read: {why}", "Put it right, or take it away to begin anew.")


def _passage(data: object) -> Passage:
    """A passage as it was kept. Raises ValueError if this is none."""
    match data:
        case {"name": str(name), "read": dict(read), "dismissed": end, **rest}:
            revision = rest.get("revision", "")
            if isinstance(revision, str):
                ticks = {what: _tick(tick) for what, tick in read.items()}
                return Passage(name, ticks, None if end is None else _tick(end), revision)
    raise ValueError("what it lists is not a passage as `revise` keeps it")


def _tick(data: object) -> Tick:
    match data:
        case {"by": str(by), "on": str(on)}:
            return Tick(by, on)
    raise ValueError("what was read has no name and day as `revise` keeps it")


def keep(folder: Path, passages: Iterable[Passage]) -> None:
    """Put the passages into the file beside the book, whole and at once."""
    path = folder / KEPT_FILE
    text = json.dumps([asdict(passage) for passage in passages], indent=2, ensure_ascii=False)
    replace_file(path, f"{text}\n".encode())


def _text(found: Rereading) -> Iterator[str]:
    if not found.passages:
        yield "No changed passage is on the list; add one with --changed."
        return
    counts = [f"{found.states.count(state)} {state}" for state in (WRITTEN, NOT_NEEDED, TO_DO)]
    several = "passages" if len(found.passages) > 1 else "passage"
    yield f"{len(found.passages)} changed {several}: {', '.join(counts)}."
    last = {passage.name: passage for passage in found.passages}
    for passage, state in zip(found.passages, found.states, strict=True):
        yield _heading(found, passage, state)
        if passage.dismissed is None and passage is last[passage.name]:
            yield from _listed(found, passage)


def _heading(found: Rereading, passage: Passage, state: str) -> str:
    revision = f" (revision {passage.revision})" if passage.revision else ""
    if passage.dismissed:
        return f"{passage.name}{revision}: {state} ({_by(passage.dismissed)})"
    every = list(dict.fromkeys(citing.what for citing in found.citing[passage.name]))
    read = sum(found.tick(passage, what) is not None for what in every)
    return f"{passage.name}{revision}: {state}" + (
        f", {read} of {len(every)} read" if every else ""
    )


def _listed(found: Rereading, passage: Passage) -> Iterator[str]:
    """Each thing with its tick, and under it what cites the passage there."""
    by_what: dict[str, list[Citing]] = {}
    for citing in found.citing[passage.name]:
        by_what.setdefault(citing.what, []).append(citing)
    if not by_what:
        yield "  nothing in the book cites it"
    for what, several in by_what.items():
        tick = found.tick(passage, what)
        was = found.formerly.get(what, "").removeprefix("procedure: ")
        first, *others = several if not several[0].text else (several[0], *several)
        told = f"{what} (was {was})" if was else what
        where = "; ".join(filter(None, [f"{first.place.file}:{first.place.line}", first.source]))
        yield f"  {f'[x] {_by(tick)}, ' if tick else '[ ] '}{told}  ({where})"
        for citing in others:
            source = citing.source if citing.source != first.source else ""
            line = f"line {citing.place.line}" if citing.place != first.place else ""
            where = "; ".join(filter(None, [line, source]))
            yield f"        {citing.text}" + (f"  ({where})" if where else "")


def _by(tick: Tick) -> str:
    return f"{tick.by}, {tick.on}"
