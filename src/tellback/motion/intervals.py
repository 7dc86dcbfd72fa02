"""When something is so in a run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tellback.logic.formula import Formula
from tellback.logic.picture import Picture
from tellback.motion.trace import Frame, Trace


@dataclass(frozen=True, slots=True)
class Span:
    """So from the frame `begun` on until `ended`; None: from the beginning, or to the end."""

    begun: Frame | None
    ended: Frame | None

    @property
    def begins(self) -> float | None:
        """Seconds from the beginning of the scenario; None if it is so from there on."""
        return self.begun.time if self.begun else None

    @property
    def ends(self) -> float | None:
        """Seconds from the beginning of the scenario; None if it is so to the end."""
        return self.ended.time if self.ended else None


class Seen:
    """A run on an aeroplane, with the values of its frames, to be asked when something is so."""

    def __init__(self, picture: Picture, trace: Trace) -> None:
        self.trace = trace
        self._values = [picture.aeroplane.values(frame.moment.state) for frame in trace.known]

    def spans(self, formula: Formula) -> Iterator[Span]:
        """All spans in which the formula holds, in order; what passes at once is no span."""
        begun: Frame | None = None
        is_so = False
        for frame, now in self._lasting(formula):
            if now and not is_so:
                begun = frame if frame.time > 0 else None
            elif is_so and not now:
                yield Span(begun, frame)
            is_so = now
        if is_so:
            yield Span(begun, None)

    def _lasting(self, formula: Formula) -> Iterator[tuple[Frame, bool]]:
        """For each time the first frame of it that already has what stays, and whether it is so."""
        frames = self.trace.known
        so = [bool(values.of(formula)) for values in self._values]
        i = 0
        while i < len(frames):
            last = i
            while last + 1 < len(frames) and frames[last + 1].time == frames[i].time:
                last += 1
            first = last
            while first > i and so[first - 1] == so[last]:
                first -= 1
            yield frames[first], so[last]
            i = last + 1
