"""Small random functions, as states and as a node of the engine."""

from hypothesis import strategies as st

from tellback.logic.space import Node, Space
from tests.logic.brute_force import Truth


@st.composite
def truths(draw: st.DrawFn, most_states: int = 150) -> Truth:
    """A function of one to five variables of two to four values."""
    sizes: list[int] = []
    states = 1
    for size in draw(st.lists(st.integers(2, 4), min_size=1, max_size=5)):
        if states * size <= most_states:
            sizes.append(size)
            states *= size
    bits = draw(st.integers(0, 2**states - 1))
    every_state = list(Truth(tuple(sizes), frozenset()).every_state())
    true = frozenset(state for place, state in enumerate(every_state) if bits >> place & 1)
    return Truth(tuple(sizes), true)


def names_of(truth: Truth) -> list[str]:
    """The names the variables get in the engine."""
    return [f"x{index}" for index in range(len(truth.sizes))]


def space_of(truth: Truth) -> Space:
    """The space of the function's variables."""
    return Space(list(zip(names_of(truth), truth.sizes, strict=True)))


def node_of(space: Space, truth: Truth) -> Node:
    """The function in the engine, built state by state."""
    return space.any_of(
        space.all_of(
            space.literal(name, (value,)) for name, value in zip(space.names, state, strict=True)
        )
        for state in truth.states
    )
