"""What a failure shows: to the crew only what a gauge or a light shows."""

import tellback as tb
from tests.small_books import book_of

BOOK = """
units:
  flaps motors: {fails: [stops]}
  battery: {fails: [stops]}
readings:
  pressure: {unit: psi, range: 0 to 3500, normally: 3000, fails: [reads 0]}
  temperature: {unit: C, range: 0 to 900, normally: 40, fails: [reads 900]}
means:
  low: {when: pressure below 1000 psi}
  hot: {when: temperature above 350 C}
indications:
  pressure gauge: {kind: gauge, needs: [battery running], shows: pressure}
"""


def shown(*failures: str, start: str = "normal") -> list[str]:
    answer = tb.signs(book_of(BOOK), failures, start=start)
    return [change.text for change in answer.indications]


def test_the_crew_is_shown_a_reading_only_by_a_gauge() -> None:
    assert shown("pressure: reads 0") == ["pressure below 1000 psi"]
    assert shown("temperature: reads 900") == []


def test_a_gauge_without_power_shows_nothing() -> None:
    answer = tb.signs(book_of(BOOK), ["pressure: reads 0"], changes=["battery: stops"])
    assert answer.indications == ()


def test_a_failure_of_several_is_said_in_the_plural() -> None:
    assert str(tb.signs(book_of(BOOK), ["flaps motors: stops"])).startswith("flaps motors stop (")


def test_the_gaps_that_a_surface_goes_through_are_not_told() -> None:
    gear = """
controls:
  lever: {positions: [UP, DOWN]}
units:
  lock: {fails: [stops]}
surfaces:
  gear: {points: [UP, DOWN], drives: {fall: {to: DOWN, when: not lock running, takes: 8 s},
    lower: {to: lever, takes: 8 s}}}
"""
    for answer in (
        tb.signs(book_of(gear), ["lock: stops"]),
        tb.effects(book_of(gear), "lever: DOWN"),
    ):
        assert "after 8 s: gear at DOWN" in str(answer)
        assert "in transit" not in str(answer)


def test_a_circle_is_told_from_what_was_moved_itself() -> None:
    book = """
controls: {switch: {positions: [OFF, ON]}}
units:
  engine pump: {runs when: switch at OFF}
  spare pump: {needs: [circuit live], runs when: switch at OFF}
supplies: {circuit: {fed by: [engine pump, spare pump]}}
"""
    answer = tb.effects(book_of(book), "switch: ON")
    assert [(e.change.thing, e.change.through) for e in answer.effects] == [
        ("engine pump", ()),
        ("spare pump", ()),
        ("circuit", ("engine pump", "spare pump")),
    ]


def test_many_gauges_that_go_together_are_counted() -> None:
    names = ["speed", "height", "heading", "fuel", "oil"]
    book = book_of(
        "units: {battery: {fails: [stops]}}\nreadings:\n"
        + "".join(f"  {name}: {{unit: none, range: 0 to 9, normally: 1}}\n" for name in names)
        + "indications:\n  OUT: {shown when: not battery running}\n"
        + "".join(
            f"  {name} gauge: {{kind: gauge, needs: [battery running], shows: {name}}}\n"
            for name in names
        )
    )
    answer = tb.signs(book, ["battery: stops"])
    assert "at once: 5 gauges not shown (through battery)" in str(answer)
    gone = [change.thing for change in answer.changes if change.kind == "gauge"]
    assert gone == [f"{name} gauge" for name in names]
