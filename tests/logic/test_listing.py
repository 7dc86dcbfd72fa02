"""The nodes of a function are the same, asked of the engine one by one or read from its file."""

from hypothesis import given
from hypothesis import strategies as st

from tellback.logic.listing import Listing, _one_by_one, _through_a_file
from tellback.logic.space import Space

SIZES = (2, 3, 2, 5, 2, 2)
points = st.lists(
    st.dictionaries(st.integers(0, len(SIZES) - 1), st.integers(0, 4), min_size=1), min_size=1
)


@given(points)
def test_both_ways_list_the_same_function(drawn: list[dict[int, int]]) -> None:
    """A function that looks at some of the variables only was read at the levels of others."""
    space = Space([(f"v{i}", size) for i, size in enumerate(SIZES)])
    node = space.any_of(
        space.all_of(space.literal(f"v{i}", (value % SIZES[i],)) for i, value in one.items())
        for one in drawn
    )
    function = node.function
    if function.node_count() > 2:
        known: dict[tuple[int, int, int], int] = {}
        read = _through_a_file(function, function.node_count())
        assert root(_one_by_one(function), known) == root(read, known)


def root(listed: Listing, known: dict[tuple[int, int, int], int]) -> int:
    """What a listing comes to, equal for equal functions under one `known`."""
    names = [0, 1]
    for level, (low, high) in listed.nodes():
        names.append(known.setdefault((level, names[low], names[high]), len(known) + 2))
    return names[listed.root]
