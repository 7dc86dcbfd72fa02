"""The smallest part of what is so that is enough, against trying every part."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from tellback.logic.around import smallest_around, smallest_meeting

NAMES = "abcde"
NOW = dict.fromkeys(NAMES, 1)
states = st.frozensets(st.tuples(*(st.integers(0, 1) for _ in NAMES)), max_size=12)


def differs(state: tuple[int, ...]) -> frozenset[str]:
    return frozenset(n for n, v in zip(NAMES, state, strict=True) if v != NOW[n])


@given(states)
def test_as_few_things_as_any_part_that_is_enough(bad: frozenset[tuple[int, ...]]) -> None:
    apart = [differs(state) for state in sorted(bad) if differs(state)]

    def otherwise(cube: dict[str, frozenset[int]]) -> frozenset[str] | None:
        return next((names for names in apart if not names & cube.keys()), None)

    parts = (set(part) for size in range(6) for part in combinations(NAMES, size))
    fewest = next(part for part in parts if all(names & part for names in apart))
    found = smallest_around(NOW, otherwise)
    assert all(names & found.keys() for names in apart)
    assert len(found) == len(fewest)
    assert all(values == {NOW[name]} for name, values in found.items())


def test_of_no_sets_nothing_is_needed() -> None:
    assert smallest_meeting([]) == ()
