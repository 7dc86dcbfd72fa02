"""A book while it is drawn at random, and the conditions it may state."""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis import strategies as st

from tests.yaml_text import Tree


@dataclass
class Draft:
    """A book being drawn: its chapter so far, what may be said in it, and the states left."""

    draw: st.DrawFn
    left: int
    failures: bool
    chapter: dict[str, dict[str, Tree]] = field(default_factory=dict)
    base: list[str] = field(default_factory=list)
    driven: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    contactors: list[str] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)

    def among(self, choices: list[str]) -> str:
        """One of the choices."""
        return self.draw(st.sampled_from(choices))

    def sometimes(self) -> bool:
        """Yes or no."""
        return self.draw(st.booleans())

    def has_room_for(self, values: int) -> bool:
        """Whether an item of so many values still fits; if so it is taken."""
        if values > self.left:
            return False
        self.left //= values
        return True

    def add(self, section: str, name: str, thing: dict[str, Tree]) -> None:
        """Declare a thing."""
        self.chapter.setdefault(section, {})[name] = thing

    def fails(self, thing: dict[str, Tree], *modes: str) -> None:
        """Perhaps give the thing one or more of the failure modes."""
        if not self.failures or not self.sometimes():
            return
        chosen = self.draw(st.lists(st.sampled_from(modes), min_size=1, max_size=2, unique=True))
        if self.has_room_for(len(chosen) + 1):
            thing["fails"] = list(chosen)


def condition(draft: Draft, plain: list[str], deniable: list[str]) -> str:
    """A random condition: facts of `plain` as they are, facts of `deniable` perhaps denied."""
    facts = []
    for _ in range(draft.draw(st.integers(1, 3))):
        denied = bool(deniable) and draft.draw(st.integers(0, 2)) == 0
        facts.append(f"not {draft.among(deniable)}" if denied else draft.among(plain))
    joined = ", ".join(facts)
    shapes = [" and ".join(facts), " or ".join(facts), f"any of ({joined})", f"all of ({joined})"]
    if len(facts) == 3:
        shapes += [f"at least 2 of ({joined})", f"{facts[0]} and ({facts[1]} or {facts[2]})"]
    if all(fact in deniable for fact in facts):
        shapes.append(f"none of ({joined})")
    return draft.among(shapes)


def over_base(draft: Draft) -> str:
    """A condition over the base."""
    return condition(draft, draft.base, draft.base)
