"""No hatching: shading by parallel lines is found, reported with its position, and left out if that is wished."""

import numpy as np
import pytest
from night_artwork import Listener, artwork, box, run, stroke

FRAME = box(10, 10, 90, 90)


def shading(count: int = 20, spacing: float = 1.5, **looks: object) -> list[dict[str, object]]:
    return [stroke((20, 20 + spacing * row), (50, 22 + spacing * row), width=0.3, **looks) for row in range(count)]


def test_hatching_is_told_of_with_its_place_and_drawn() -> None:
    listener = Listener()
    result = run(artwork(FRAME, *shading(layer="shade")), listener)
    (place,) = result.figures["hatching"]
    assert place["strokes"] == 20
    assert place["spacing_mm"] == pytest.approx(1.5, abs=0.05)
    assert place["box_mm"] == pytest.approx([20, 20, 50, 50.5], abs=0.1)
    assert "hatching at x 20 to 50, y 20 to 50 mm (layer 'shade'): 20 strokes 1.5 mm apart" in listener.warnings[0]
    assert len(result.drawing) == 21


def test_hatching_is_left_out_when_asked() -> None:
    result = run(artwork(FRAME, *shading()), drop_hatching=True)
    assert len(result.drawing) == 1
    assert result.drawing.drawn_mm == pytest.approx(320)
    assert result.figures["hatching"][0]["dropped"]


def test_a_zigzag_drawn_in_one_go_is_hatching_too() -> None:
    zigzag = [(20 + 30 * (row % 2), 20 + 1.5 * (row // 2) + 0.75 * (row % 2)) for row in range(40)]
    result = run(artwork(FRAME, stroke(*zigzag, width=0.3)), drop_hatching=True)
    assert len(result.figures["hatching"]) == 1
    assert len(result.drawing) == 1


@pytest.mark.parametrize(
    "lines",
    (
        [stroke((20 + 8 * row, 20), (20 + 8 * row, 60), width=0.3) for row in range(8)],  # a fence
        [stroke((20, 20 + 1.5 * row), (50, 22 + 1.5 * row), width=0.3) for row in range(4)],  # four folds of a leaf
        [stroke((20, y), (50, y), width=0.3) for y in (20, 20.8, 23, 23.9, 27, 29.5, 30.2, 34)],  # a growing fern
        [
            stroke((50, 50), (50 + 30 * np.cos(turn), 50 + 30 * np.sin(turn)), width=0.3)
            for turn in np.linspace(0, 6, 12)
        ],  # rays
    ),
    ids=("fence", "folds", "uneven", "rays"),
)
def test_lines_that_shade_nothing_are_no_hatching(lines: list[dict[str, object]]) -> None:
    assert run(artwork(FRAME, *lines)).figures["hatching"] == []


def test_two_hatched_places_are_told_apart() -> None:
    far = [stroke((60, 60 + 1.0 * row), (80, 60 + 1.0 * row), width=0.3) for row in range(15)]
    result = run(artwork(FRAME, *shading(), *far))
    assert sorted(place["strokes"] for place in result.figures["hatching"]) == [15, 20]


def test_fills_are_never_hatched() -> None:
    assert len(run(artwork(FRAME, box(20, 20, 80, 80))).drawing) == 2


@pytest.mark.parametrize("aside", (0.0, 0.03))
def test_hatching_that_was_exported_twice_is_left_out_whole(aside: float) -> None:
    shade = [stroke((10, y), (60, y), width=0.1) for y in range(11, 31)]
    again = [stroke((60, y + aside), (10, y + aside), width=0.1) for y in range(11, 31)]
    result = run(artwork(*shade, *again, stroke((100, 100), (150, 120), width=0.1)), drop_hatching=True)
    assert len(result.drawing) == 1
    assert result.figures["hatching"][0]["strokes"] == 20
