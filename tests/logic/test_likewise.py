"""What is said of members of a family alike stands in one line: `left (right) pump running`."""

import re

from hypothesis import given
from hypothesis import strategies as st

from tellback.logic.answers.likewise import Line, likewise


def line(text: str, *through: str, seconds: float = 0) -> Line:
    thing = text.partition(" is ")[0]
    told = f" (through {', '.join(through)})" if through else ""
    return Line(seconds, (thing,), through, f"{text}{told}")


def folded(*lines: Line) -> list[str]:
    return [one.text for one in likewise(lines)]


def test_members_that_do_alike_are_one_line() -> None:
    assert folded(
        line("left valve is open", "left switch"), line("right valve is open", "right switch")
    ) == ["left (right) valve is open (through left (right) switch)"]
    nose, left, right = (
        line(f"{leg} lock is set", f"{leg} door") for leg in ("nose", "left main", "right main")
    )
    told = "nose (left main, right main) lock is set (through nose (left main, right main) door)"
    assert folded(nose, left, right) == [told]


def test_capitals_stay_capitals() -> None:
    lamps = line("LEFT LAMP is shown", "left bus"), line("RIGHT LAMP is shown", "right bus")
    assert folded(*lamps) == ["LEFT (RIGHT) LAMP is shown (through left (right) bus)"]


def test_what_is_not_the_same_of_both_stays_apart() -> None:
    crossed = line("left bus is lost", "left line"), line("right bus is lost", "left line")
    assert folded(*crossed) == [one.text for one in crossed]
    later = line("left bus is lost"), line("right bus is lost", seconds=2)
    assert folded(*later) == [one.text for one in later]
    others = line("pump is off"), line("left fan is off"), line("left lamp is off")
    assert folded(*others) == [one.text for one in others]


def test_none_stands_before_what_it_comes_through() -> None:
    """The right line is told only after the relay, which comes through the left one."""
    lines = (
        line("left line is live", "left relay"),
        line("right relay is closed", "left line"),
        line("right line is live", "right relay"),
    )
    assert folded(*lines) == [one.text for one in lines]


names = st.tuples(st.sampled_from(["left", "right"]), st.sampled_from(["pump", "line", "lamp"]))


@given(st.lists(st.tuples(names, names), unique_by=lambda pair: pair[0], max_size=6))
def test_they_say_the_same(drawn: list[tuple[tuple[str, str], tuple[str, str]]]) -> None:
    """Each folded line, with either member put in, gives the lines there were."""
    lines = [line(f"{' '.join(one)} is on", " ".join(other)) for one, other in drawn]
    unfolded = []
    for text in folded(*lines):
        found = re.search(r"(\w+) \((\w+)\)", text)
        if found is None:
            unfolded.append(text)
        else:
            unfolded += [text.replace(found[0], member) for member in found.groups()]
    assert sorted(unfolded) == sorted(one.text for one in lines)
