"""Who feeds a supply, as an instructor would say it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from tellback.logic.answers.why_text import choices_text
from tellback.logic.words import listed

if TYPE_CHECKING:
    from tellback.logic.answers.feeds import Feeding, Feeds, Source


def feeds_text(answer: Feeds) -> Iterator[str]:
    """The lines of the answer: the feeder and the way to it, then the others in their order."""
    head = f"{answer.supply} ({answer.start}): {answer.level}"
    if answer.path:
        first, *further = answer.path
        cited = next(_cited(s) for s in answer.sources if s.standing == "feeds")
        yield f"{head}, fed by {first.source}{_through(first.through)}.{cited}"
        yield from (f"  {_link(link)}" for link in further)
    else:
        yield f"{head}, {listed(answer.cut_off) or 'as nothing feeds it'}."
    others = [source for source in answer.sources if not _is_told(answer, source)]
    if not others:
        yield "  It has no other source."
    elif answer.path:
        yield "  The others, in the order in which they come:"
    else:
        yield "  Its sources, in the order in which they come:"
    yield from (f"    {_source_line(answer, source)}" for source in others)


def _is_told(answer: Feeds, source: Source) -> bool:
    """Whether a source is told as the feeder, if perhaps by another row."""
    return source.standing == "feeds" or (
        source.standing == "delivers" and source.source == answer.feeder
    )


def _through(parts: Sequence[str]) -> str:
    return f" through {listed(parts)}" if parts else ""


def _link(link: Feeding) -> str:
    return f"{link.supply} is fed by {link.source}{_through(link.through)}."


def _source_line(answer: Feeds, source: Source) -> str:
    through = _through([gate.text for gate in source.through])
    when = f" when {source.when.text}" if source.when else ""
    stands = _standing(answer, source)
    return f"{source.place}. {source.source}{through}{when}: {stands}{_cited(source)}"


def _cited(source: Source) -> str:
    return f"  [{source.cited}]" if source.cited else ""


def _standing(answer: Feeds, source: Source) -> str:
    shared = f"; it hangs on {source.root} as well" * (
        _root(answer) == source.root != source.source
    )
    if source.standing == "delivers":
        return f"delivers as well, but stands behind{shared}" if answer.path else "delivers"
    if source.standing == "ready":
        return f"stands by, and takes over at once if those before it go{shared}"
    shut = [gate.now for gate in source.through if not gate.met]
    shut = [*([] if source.on else [source.now]), *shut]
    if source.when and not source.when.met and source.when.now not in shut:
        shut.append(source.when.now)
    if source.elsewhere:
        shut.append(f"it feeds {source.elsewhere}")
    why = f", as {listed(shut)}" if shut else ""
    return f"does not deliver{why}{_missing(source)}"


def _root(answer: Feeds) -> str:
    """What feeds the supply in the end."""
    return answer.path[-1].source if answer.path else ""


def _missing(source: Source) -> str:
    """What it lacks, less that what has failed had not."""
    lacks = [tuple(i for i in choice if i.kind != "failure") for choice in source.missing]
    return f"; missing: {choices_text(lacks)}" if any(lacks) else ""
