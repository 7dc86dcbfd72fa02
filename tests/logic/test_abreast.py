"""Many runs side by side are the runs that each of them would be alone."""

from __future__ import annotations

from hypothesis import given, settings

from tellback.logic.abreast import Abreast
from tellback.logic.picture import Picture
from tellback.logic.row import bits, changes_of
from tellback.logic.run import Barred, Moment, Unsettled
from tests.strategies import BookText, books
from tests.twins import twins_of

quickly = settings(deadline=None, max_examples=40)

Move = tuple[str, int]


def moves(picture: Picture) -> list[Move]:
    variables = [v for v in picture.system.variables.values() if v.is_input]
    return [(v.name, value) for v in variables for value in range(len(v.values))]


def alone(picture: Picture, moment: Moment, move: Move) -> list[Moment] | None:
    """The moments after a move; None if it cannot be made or is without end."""
    try:
        return picture.aeroplane.history(picture.aeroplane.move(moment, dict([move])))
    except (Barred, Unsettled):
        return None


@quickly
@given(books(memories=True, circles="any", most_states=400))
def test_every_run_is_as_it_would_be_alone(text: BookText) -> None:
    picture = twins_of(text).picture
    abreast = Abreast(picture.graph)
    before = list(picture.starts.values())
    for _ in range(2):
        tried = [(moment, move) for moment in before for move in moves(picture)][:600]
        row = abreast.row([moment for moment, _ in tried])
        changes = changes_of(dict([move]) for _, move in tried)
        barred = abreast.barred(row, changes)
        rows = list(abreast.history(abreast.move(row, changes)))
        for run, (moment, move) in enumerate(tried):
            expected = alone(picture, moment, move)
            if expected is None:
                assert (barred | rows[-1].lost) >> run & 1
            else:
                assert not (barred | rows[-1].lost) >> run & 1
                shown = [abreast.moment(row, run) for row in rows[: len(expected)]]
                assert [plain(m) for m in shown] == [plain(m) for m in expected]
                assert abreast.moment(rows[-1], run) == shown[-1]
        before = [abreast.moment(rows[-1], run) for run in bits(rows[-1].settled & ~barred)][::7]


def plain(moment: Moment) -> tuple[object, ...]:
    """A moment as data, its mappings without an order."""
    mappings = moment.state, moment.numbers, moment.under_way, moment.beyond
    return (moment.time, *map(dict, mappings))
