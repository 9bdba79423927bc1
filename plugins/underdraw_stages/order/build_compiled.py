"""Builds all of the compiled search at once, by ordering a few strokes of every sort."""

import numpy as np

from underdraw_stages.order.bound.least_travel import least_travel
from underdraw_stages.order.compiled.kernels import compiled
from underdraw_stages.order.search.effort import Effort
from underdraw_stages.order.search.stroke_ends import StrokeEnds
from underdraw_stages.order.search.tour import shortest_tour
from underdraw_stages.order.search.travel_cost import TravelCost


def build() -> None:
    """Compile whatever is not kept from an earlier run."""
    first = np.array([[0.0, 0.0], [9.0, 1.0], [3.0, 8.0], [5.0, 5.0], [2.0, 3.0], [8.0, 7.0], [7.0, 2.0], [1.0, 6.0]])
    last = first.copy()
    last[:6] += [1.0, 2.0]
    ring = first[6] + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    strokes = StrokeEnds(first, last, np.array([0, 0, 0, 0, 0, 0, 0, 3, 3]), ring)
    park = StrokeEnds.point((0.0, 10.0))
    plan = shortest_tour(strokes, park, TravelCost(50.0, 300.0), compiled(), Effort())
    least_travel(strokes, park.first[0], plan, compiled())
