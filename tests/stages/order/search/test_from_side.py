"""Drawing away from the hand: `from-side` is a preference that the way follows, at some cost in travel."""

import numpy as np
import pytest
from scipy.stats import spearmanr
from strokes_of import Listener, flowers, garden, lines_of, moths

from underdraw_stages.order import OrderSettings
from underdraw_stages.order.stage import order


@pytest.mark.slow
@pytest.mark.parametrize(("side", "axis", "sign"), [("left", 0, 1), ("right", 0, -1), ("far", 1, 1), ("near", 1, -1)])
def test_strokes_are_drawn_from_the_side_that_was_asked_for(side: str, axis: int, sign: int) -> None:
    # y runs down the board: its far side is at the top, the operator's near side at the bottom.
    drawing = garden([*moths(120, 1, long=20.0), *flowers(30, 2)])
    result = order(drawing, OrderSettings(from_side=side), Listener())
    middles = np.array([line.mean(axis=0)[axis] for line in lines_of(result.drawing)])
    assert sign * spearmanr(middles, np.arange(len(middles))).statistic > 0.9
    free = order(drawing, OrderSettings(), Listener()).figures["travel_mm"]
    assert result.figures["travel_mm"] < 2 * free
    assert result.figures["travel_mm"] < 0.3 * result.figures["travel_before_mm"]
