"""The machine's card shows what the axes do: a square, steps by reversal, circles, a turned marker, wheels."""

import numpy as np
import pytest
from garden_panels import OUTLINE

from underdraw import Drawing
from underdraw.job.file import job_from_data
from underdraw.job.settings import read_settings
from underdraw.machine.travel import swap_strokes
from underdraw.testing.trial import TrialContext
from underdraw_stages.swatch import SwatchSettings
from underdraw_stages.swatch.stage import swatch


@pytest.fixture
def card(bench: TrialContext) -> Drawing:
    bench.job = job_from_data({"machine": {"bed": "24 x 48 in", "rapid": "50 mm/s"}, "marker": [OUTLINE]}, "garden")
    return swatch(None, read_settings(SwatchSettings, {"machine": True}), bench).drawing


def trials(card: Drawing, kind: str) -> list[tuple[str, int, int]]:
    assert card.card is not None
    return [(each.words, each.first - 1, each.last) for each in card.card.trials if each.kind == kind]


def test_the_square_and_its_diagonals_measure_what_they_should(card: Drawing) -> None:
    lengths = {words: float(card.part_lengths()[first]) for words, first, _ in trials(card, "square")}
    sides = dict.fromkeys(("bottom", "right", "top", "left"), 200.0)
    assert lengths == pytest.approx({**sides, "rising": 200 * 2**0.5, "falling": 200 * 2**0.5})


@pytest.mark.parametrize(("kind", "axis", "ways"), [("step x", 0, ("from the left", "from the right")),
                                                    ("step y", 1, ("from the front", "from behind"))])  # fmt: skip
def test_each_half_of_a_step_begins_after_the_axis_came_from_its_own_side(card, kind, axis, ways) -> None:  # type: ignore[no-untyped-def]
    """Backlash by reversal (ISO 230-2, from memory): the last move of the axis before a half is the way it is named."""
    halves = trials(card, kind)
    assert [words for words, _, _ in halves] == [*ways] * 3
    first, last = card.coords[card.parts[:-1]], card.coords[card.parts[1:] - 1]
    for words, row, end in halves:
        assert end == row + 1
        came = first[row, axis] - last[row - 1, axis]
        lead = last[row - 1, axis] - first[row - 1, axis]
        positive = words in ("from the left", "from behind")  # y is down on the card
        assert came * (1 if positive else -1) > 5
        assert lead * (1 if positive else -1) > 1  # what leads up to it goes the same way
        assert np.ptp(card.part_coords(row)[:, axis]) == 0  # and drawing it moves the other axis alone
    for (_, one, _), (_, other, _) in zip(halves[::2], halves[1::2], strict=True):
        assert card.part_coords(one)[-1] == pytest.approx(card.part_coords(other)[0])


def test_a_circle_goes_each_way_round(card: Drawing) -> None:
    areas = []
    for _, row, _ in trials(card, "circle"):
        x, y = card.part_coords(row).T
        areas.append(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2))
    assert areas[0] == pytest.approx(-areas[1], rel=1e-3) and abs(areas[0]) == pytest.approx(np.pi * 15**2, rel=0.01)


def test_the_marker_is_turned_once_before_the_slanted_cross(card: Drawing) -> None:
    (upright, first, last), (turned, begin, end) = trials(card, "cross")
    assert (upright, turned) == ("upright", "turned half round") and end == len(card)
    assert swap_strokes(card).tolist() == [0, begin]
    middle = card.select(np.arange(first, last)).coords.mean(axis=0)
    assert card.select(np.arange(begin, end)).coords.mean(axis=0) == pytest.approx(middle, abs=1e-3)


def test_each_wheel_asks_for_the_acceleration_written_beside_it(card: Drawing) -> None:
    for words, row, _ in trials(card, "wheel"):
        points = card.part_coords(row)
        radius = np.ptp(points[:, 0]) / 2
        speed = card.job.marker(card.marker[row]).speed
        assert speed is not None and speed**2 / radius == pytest.approx(float(words.split()[0]), rel=5e-3)
        assert np.hypot(*np.diff(points, axis=0).T).sum() == pytest.approx(3 * 2 * np.pi * radius, rel=0.01)


@pytest.mark.parametrize(("rapid", "drawn"), [("20 mm/s", 20.0), ("90 mm/s", 50.0)])
def test_wheels_are_drawn_no_faster_than_the_machine_goes_nor_than_a_card_has_room_for(
    bench: TrialContext, rapid: str, drawn: float
) -> None:
    bench.job = job_from_data({"machine": {"bed": "24 x 48 in", "rapid": rapid}, "marker": [OUTLINE]}, "garden")
    card = swatch(None, read_settings(SwatchSettings, {"machine": True}), bench).drawing
    wheels = trials(card, "wheel")
    assert wheels
    for words, row, _ in wheels:
        assert card.job.marker(card.marker[row]).speed == pytest.approx(drawn)
        radius = np.ptp(card.part_coords(row)[:, 0]) / 2
        assert drawn**2 / radius == pytest.approx(float(words.split()[0]), rel=5e-3)


def test_nothing_of_it_is_off_the_card(card: Drawing) -> None:
    x0, y0, x1, y1 = card.bounds
    assert min(x0, y0) > 0 and x1 < card.sheet[0] and y1 < card.sheet[1]
