"""What `order` owes to whoever draws: every stroke once, less travel, the markers one after the other."""

import dataclasses
from itertools import pairwise, product

import numpy as np
import pytest
from strokes_of import AS_FAR_AS_TIME, BOARD, Listener, flowers, garden, lines_of, moths, unturned

from underdraw.drawing.drawing import Drawing
from underdraw.errors import CannotDo, InputError
from underdraw.job.sections import Job, MarkerSection
from underdraw.machine.clock import Schedule
from underdraw.machine.timing import rest_to_rest
from underdraw.machine.travel import travel_legs
from underdraw_stages.order import OrderSettings
from underdraw_stages.order.stage import measure, order


def ordered(drawing: Drawing, **settings: object) -> Drawing:
    return order(drawing, OrderSettings(**settings), Listener()).drawing


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 7, 60, 130])
def test_every_stroke_is_drawn_once_whatever_its_direction(count: int) -> None:
    drawing = garden([*moths(count, 1), *flowers(count, 2)])
    assert sorted(map(unturned, lines_of(ordered(drawing)))) == sorted(map(unturned, lines_of(drawing)))


def test_travel_is_counted_from_park_between_strokes_and_back() -> None:
    # Park is the lower left corner (0, 80): 20 up to the stroke's near end, 60 back from its far end... by hand.
    drawing = garden([[(0.0, 20.0), (0.0, 60.0)]], sheet=(100.0, 80.0))
    result = order(drawing, OrderSettings(), Listener())
    assert result.figures["travel_mm"] == 80.0
    assert result.figures["travel_before_mm"] == 80.0


def test_a_park_position_elsewhere_is_where_travel_begins_and_ends() -> None:
    drawing = garden([[(10.0, 70.0), (10.0, 30.0)]], sheet=(100.0, 80.0), park=(10.0, 10.0))
    assert order(drawing, OrderSettings(), Listener()).figures["travel_mm"] == 40.0


def test_the_figures_are_those_of_the_drawing_handed_on() -> None:
    drawing = garden([*moths(40, 3), *flowers(20, 4)])
    result = order(drawing, OrderSettings(), Listener())
    assert result.figures["travel_mm"] == pytest.approx(travel_legs(result.drawing)[0].length, abs=1e-3)
    assert result.figures["travel_before_mm"] == pytest.approx(travel_legs(drawing)[0].length, abs=1e-3)
    assert result.figures["lifts"] == 60
    assert result.figures["loads"] == 1
    assert result.figures["travel_mm"] < 0.3 * result.figures["travel_before_mm"]


def test_a_row_of_strokes_is_drawn_to_and_fro() -> None:
    # Ten upright strokes 10 mm apart, all drawn upward in the artwork: the best way turns every other one round.
    row = [[(10.0 * k, 90.0), (10.0 * k, 10.0)] for k in range(10)]
    result = ordered(garden(row, sheet=(100.0, 100.0)))
    downward = [line[0, 1] < line[1, 1] for line in lines_of(result)]
    assert downward in ([k % 2 == 0 for k in range(10)], [k % 2 == 1 for k in range(10)])


def test_a_closed_stroke_is_entered_where_the_marker_comes_by() -> None:
    square = [(10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0), (10.0, 10.0)]
    result = ordered(garden([square], sheet=(40.0, 40.0)))
    assert lines_of(result)[0][0].tolist() == [10.0, 30.0]
    assert lines_of(result)[0][-1].tolist() == [10.0, 30.0]


def test_free_entry_points_save_a_sixth_of_the_travel_of_outlines() -> None:
    # The same outlines entered only where the artwork begins them are strokes of no length at those points.
    outlines = flowers(90, 12, radius=35.0)
    free = order(garden(outlines), OrderSettings(), Listener()).figures["travel_mm"]
    fixed = order(garden([line[:1] for line in outlines]), OrderSettings(), Listener()).figures["travel_mm"]
    print(f"\nfree entry {free:.0f} mm, from the first point {fixed:.0f} mm: {1 - free / fixed:.0%} shorter")
    assert free <= 0.85 * fixed


def test_markers_come_one_after_the_other_as_the_job_lists_them() -> None:
    names = np.array(["vine", "moth"] * 10, dtype=object)
    markers = [MarkerSection(name="moth", colours=("#101010",)), MarkerSection(name="vine", colours=("#f0f0f0",))]
    drawing = garden(moths(20, 5), names, markers)
    assert ordered(drawing).marker.tolist() == ["moth"] * 10 + ["vine"] * 10
    assert ordered(drawing, lightest_first=True).marker.tolist() == ["vine"] * 10 + ["moth"] * 10


def test_a_marker_that_the_job_does_not_know_is_drawn_after_those_it_does() -> None:
    drawing = garden(moths(4, 6), np.array(["stray", "outline", "stray", "outline"], dtype=object))
    assert ordered(drawing).marker.tolist() == ["outline", "outline", "stray", "stray"]


def test_keep_leaves_the_artworks_order_and_only_turns_strokes() -> None:
    drawing = garden([*moths(30, 7), *flowers(10, 8)])
    kept = order(drawing, OrderSettings(keep=True), Listener())
    assert list(map(unturned, lines_of(kept.drawing))) == list(map(unturned, lines_of(drawing)))
    assert kept.figures["travel_mm"] < kept.figures["travel_before_mm"]


def test_keep_finds_the_best_of_all_directions() -> None:
    lines = moths(8, 21)
    kept = order(garden(lines, acceleration=AS_FAR_AS_TIME), OrderSettings(keep=True), Listener())
    park = np.array([[0.0, BOARD[1]]])
    best = min(
        travelled([park, *(line[::way] for line, way in zip(lines, ways, strict=True)), park])
        for ways in product((1, -1), repeat=len(lines))
    )
    assert kept.figures["travel_mm"] == pytest.approx(best, abs=1e-3)


def travelled(lines: list[np.ndarray]) -> float:
    """mm from the end of each line to the start of the next."""
    return sum(float(np.hypot(*(there[0] - here[-1]))) for here, there in pairwise(lines))


def test_the_given_drawing_is_not_changed_and_the_same_comes_out_again() -> None:
    drawing = garden([*moths(150, 9), *flowers(20, 10)])
    before = drawing.coords.copy()
    first, second = ordered(drawing), ordered(drawing)
    assert (drawing.coords == before).all()
    assert (first.coords == second.coords).all()
    assert (first.parts == second.parts).all()


def test_the_order_takes_least_time_not_least_way() -> None:
    # Starts and stops count: at 20 mm/s² a hop of 10 mm takes more than half the time of one of 30 mm.
    drawing = garden([*moths(90, 13), *flowers(40, 14)], acceleration=20.0)
    quickest = order(drawing, OrderSettings(), Listener())
    shortest = ordered(garden([*moths(90, 13), *flowers(40, 14)], acceleration=AS_FAR_AS_TIME))
    same_machine = shortest.replace(job=drawing.job)
    schedule = Schedule.of(same_machine, Listener().registry)
    assert quickest.figures["lifted_s"] < measure(same_machine, same_machine, np.nan, schedule)["lifted_s"]
    assert quickest.figures["travel_mm"] > travel_legs(shortest)[0].length


@pytest.mark.parametrize("seed", range(6))
def test_what_is_in_order_already_is_never_made_longer(seed: int) -> None:
    """Open and closed strokes; time as far as way in every other drawing."""
    lines = [*moths(90, seed), *flowers(20, seed)]
    drawing = garden(lines, acceleration=AS_FAR_AS_TIME) if seed % 2 else garden(lines)
    good = drawing
    for _ in range(4):
        good = order(good, OrderSettings(), Listener()).drawing
    again = order(good, OrderSettings(), Listener()).drawing
    machine = drawing.job.machine

    def seconds(each: Drawing) -> float:
        steps = np.linalg.norm(np.diff(travel_legs(each)[0].points, axis=1)[:, 0], axis=1)
        return float(np.sum(rest_to_rest(steps, machine.rapid, machine.acceleration)))

    assert seconds(again) <= seconds(good) + 1e-9 < seconds(order(drawing, OrderSettings(), Listener()).drawing) + 1e-6


def test_keep_and_from_side_exclude_each_other() -> None:
    with pytest.raises(InputError, match="leave one of them out"):
        ordered(garden(moths(3, 1)), keep=True, from_side="left")


def test_a_dot_is_a_stroke_too() -> None:
    drawing = garden([[(10.0, 10.0)], [(50.0, 50.0), (50.0, 50.0)], [(20.0, 90.0), (90.0, 20.0)]])
    assert sorted(len(line) for line in lines_of(ordered(drawing))) == [1, 2, 2]


def test_an_empty_drawing_is_refused_with_a_line() -> None:
    with pytest.raises(CannotDo, match="no strokes"):
        ordered(garden([]))


def test_shapes_that_are_not_yet_strokes_are_sent_to_tidy() -> None:
    shape = Drawing.build([[[(0.0, 0.0), (1.0, 1.0)], [(5.0, 5.0), (6.0, 6.0)]]], BOARD, Job(), marker="outline")
    with pytest.raises(CannotDo, match="tidy"):
        ordered(shape)


def test_every_column_goes_with_its_stroke() -> None:
    lines = moths(30, 11)
    drawing = garden(lines)
    named = dataclasses.replace(drawing, element=np.array([f"e{k}" for k in range(30)], dtype=object))
    result = ordered(named)
    for line, element in zip(lines_of(result), result.element.tolist(), strict=True):
        assert unturned(line) == unturned(np.round(lines[int(element[1:])], 4))
